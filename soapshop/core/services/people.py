"""Accounts: who may sign in, and as what."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext, gettext_noop
from django.utils.translation import gettext_lazy as _

from soapshop.core.access import require_owner
from soapshop.core.models import Role, User
from soapshop.core.services.history import record
from soapshop.core.services.workshop import locked_workshop

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

LAST_OWNER = _("This is the only owner who can sign in. Make someone else an owner first.")
ADDED = {
    Role.OWNER: gettext_noop("Added %(person)s as owner"),
    Role.MAKER: gettext_noop("Added %(person)s as maker"),
    Role.VIEWER: gettext_noop("Added %(person)s as viewer"),
}


@transaction.atomic
def add_person(*, username: str, name: str, role: str, password: str, by: User) -> User:
    """Add an account with its first password. Raises ValidationError beside the field that is wrong."""
    require_owner(by)
    locked_workshop()  # one at a time, so that a name found free is still free when it is taken
    person = new_account(username=username, name=name, role=role, password=password)
    record(by=by, subject=person, what=gettext(ADDED[Role(role)]) % {"person": person})
    return person


@transaction.atomic
def change_person(*, person: User, name: str, role: str, is_active: bool, by: User) -> User:
    """Change name, role, or whether they may sign in. The workshop always keeps an owner who can."""
    require_owner(by)
    # Locking every owner, in one order, lets only one of two owners who demote each other succeed.
    owners = set(
        User.objects.select_for_update()
        .filter(role=Role.OWNER, is_active=True)
        .order_by("pk")
        .values_list("pk", flat=True)
    )
    person = User.objects.select_for_update().get(pk=person.pk)
    if owners == {person.pk}:
        _keep_an_owner(role=role, is_active=is_active)
    before = _state(person)
    person.name, person.is_active = name, is_active
    _set_role(person, role)
    person.full_clean()
    person.save()
    if changed := {field: value for field, value in _state(person).items() if value != before[field]}:
        what = gettext("Changed the account of %(person)s") % {"person": person}
        record(by=by, subject=person, what=what, detail=changed)
    return person


@transaction.atomic
def set_password(*, person: User, password: str, by: User) -> None:
    """Give someone a new password: an owner to anyone, others to themselves. Signs them out elsewhere."""
    if person != by:
        require_owner(by)
    _check_password(password, person)
    person.set_password(password)
    person.save(update_fields=["password"])
    record(by=by, subject=person, what=gettext("Set a new password for %(person)s") % {"person": person})


def new_account(*, username: str, name: str, role: str, password: str) -> User:
    """Create an account in the caller's transaction, without asking who does it."""
    person = User(username=User.normalize_username(username), name=name)
    _set_role(person, role)
    if User.objects.filter(username__iexact=person.username).exists():
        raise ValidationError({"username": gettext("Someone here already signs in with this name.")})
    person.full_clean(exclude=["password"])
    _check_password(password, person)
    person.set_password(password)
    person.save()
    return person


def _set_role(person: User, role: str) -> None:
    """Owners may also use the rescue tool, which asks for Django's own two flags."""
    person.role = role
    person.is_staff = person.is_superuser = role == Role.OWNER


def _check_password(password: str, person: User) -> None:
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise ValidationError({"password": error.messages}) from error


def _keep_an_owner(*, role: str, is_active: bool) -> None:
    errors: dict[str, StrOrPromise] = {}
    if role != Role.OWNER:
        errors["role"] = LAST_OWNER
    if not is_active:
        errors["is_active"] = LAST_OWNER
    if errors:
        raise ValidationError(errors)


def _state(person: User) -> dict[str, Any]:
    return {"name": person.name, "role": person.role, "is_active": person.is_active}
