"""Who may do what. Signing in itself is asked for everywhere by Django's LoginRequiredMiddleware."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, cast

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.utils.translation import gettext
from django_htmx.middleware import HtmxDetails

from soapshop.core.models import User, Workshop

P = ParamSpec("P")
View = Callable[Concatenate["SignedInRequest", P], HttpResponseBase]


class SignedInRequest(HttpRequest):
    """The request as views get it: behind the sign-in, and with what our middleware added."""

    user: User
    workshop: Workshop
    htmx: HtmxDetails


def require_maker(by: User) -> None:
    """For services. Raises PermissionDenied for those who may only look."""
    if not (by.is_active and by.is_maker):
        raise PermissionDenied(gettext("Only a maker or an owner may do this."))


def require_owner(by: User) -> None:
    """For services. Raises PermissionDenied for all but owners."""
    if not (by.is_active and by.is_owner):
        raise PermissionDenied(gettext("Only an owner may do this."))


def maker_required(view: View[P]) -> View[P]:
    """For views: others get the page that says they may not."""
    return _checked(view, require_maker)


def owner_required(view: View[P]) -> View[P]:
    """For views: others get the page that says they may not."""
    return _checked(view, require_owner)


def _checked(view: View[P], check: Callable[[User], None]) -> View[P]:
    @wraps(view)
    def checked(request: SignedInRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        check(request.user)
        return view(request, *args, **kwargs)

    return cast("View[P]", checked)
