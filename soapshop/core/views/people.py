"""The accounts of the workshop, for its owners."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext

from soapshop.core import queries
from soapshop.core.access import SignedInRequest, owner_required
from soapshop.core.forms import NewPasswordForm, NewPersonForm, PersonForm
from soapshop.core.models import User
from soapshop.core.services import people as accounts
from soapshop.core.views import posted


@owner_required
def people(request: SignedInRequest) -> HttpResponse:
    """Everyone with an account."""
    return render(request, "core/people.html", {"people": queries.people()})


@owner_required
def person_add(request: SignedInRequest) -> HttpResponse:
    """Add an account with its first password."""
    form = NewPersonForm(posted(request))
    if form.is_valid():
        fields = {name: form.cleaned_data[name] for name in ("username", "name", "role")}
        try:
            person = accounts.add_person(**fields, password=form.new_password(), by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            words = gettext("%(person)s can sign in now. Tell them the first password yourself.")
            messages.success(request, words % {"person": person})
            return redirect("core:people")
    return render(request, "core/person_add.html", {"form": form}, status=422 if form.errors else 200)


@owner_required
def person_edit(request: SignedInRequest, pk: int) -> HttpResponse:
    """Change someone's name or role, or switch their account off."""
    person = get_object_or_404(User, pk=pk)
    initial = {"name": person.name, "role": person.role, "is_active": person.is_active}
    form = PersonForm(posted(request), initial=initial)
    if form.is_valid():
        try:
            changed = accounts.change_person(person=person, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, gettext("Saved %(person)s.") % {"person": changed})
            still_owner = changed != request.user or changed.is_owner
            return redirect("core:people" if still_owner else settings.LOGIN_REDIRECT_URL)
    return _person_page(request, person, form, NewPasswordForm(prefix="new"))


@owner_required
def person_password(request: SignedInRequest, pk: int) -> HttpResponse:
    """Give someone a new password; its form stands on their page."""
    person = get_object_or_404(User, pk=pk)
    form = NewPasswordForm(posted(request), prefix="new")
    if form.is_valid():
        try:
            accounts.set_password(person=person, password=form.new_password(), by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            words = gettext("%(person)s has a new password and has been signed out everywhere.")
            messages.success(request, words % {"person": person})
            return redirect("core:people")
    initial = {"name": person.name, "role": person.role, "is_active": person.is_active}
    return _person_page(request, person, PersonForm(initial=initial), form)


def _person_page(
    request: SignedInRequest, person: User, form: PersonForm, password_form: NewPasswordForm
) -> HttpResponse:
    context = {
        "person": person,
        "form": form,
        "password_form": password_form,
        "history": queries.history_of(person),
    }
    failed = form.errors or password_form.errors
    return render(request, "core/person_edit.html", context, status=422 if failed else 200)
