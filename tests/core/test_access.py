from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse

from soapshop.core.access import maker_required, owner_required, require_maker, require_owner
from soapshop.core.models import Role
from tests.factories import UserFactory

ROLES = [Role.OWNER, Role.MAKER, Role.VIEWER]


def refused(check, *args) -> bool:
    try:
        check(*args)
    except PermissionDenied:
        return True
    return False


@pytest.mark.parametrize(
    ("check", "allowed"), [(require_maker, {Role.OWNER, Role.MAKER}), (require_owner, {Role.OWNER})]
)
def test_each_role_may_do_what_is_its_part(check, allowed):
    assert {role for role in ROLES if not refused(check, UserFactory.build(role=role))} == allowed


@pytest.mark.parametrize("check", [require_maker, require_owner])
def test_an_owner_who_was_switched_off_may_do_nothing(check):
    assert refused(check, UserFactory.build(role=Role.OWNER, is_active=False))


@pytest.mark.parametrize(
    ("decorator", "allowed"), [(maker_required, {Role.OWNER, Role.MAKER}), (owner_required, {Role.OWNER})]
)
def test_a_view_is_reached_by_the_same_roles(rf, decorator, allowed):
    @decorator
    def page(request, pk):
        """Shows one thing."""
        return HttpResponse(f"page {pk}")

    def visit(role):
        request = rf.get("/")
        request.user = UserFactory.build(role=role)
        return page(request, pk=3)

    assert {role for role in ROLES if not refused(visit, role)} == allowed
    assert visit(Role.OWNER).content == b"page 3"
    assert page.__name__ == "page"
