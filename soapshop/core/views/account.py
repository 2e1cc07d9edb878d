"""Signing in and out, and one's own account."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext

from soapshop.core.access import SignedInRequest
from soapshop.core.forms import OwnPasswordForm, SignInForm
from soapshop.core.services import people
from soapshop.core.services.setup import is_open
from soapshop.core.views import posted


class _SignIn(LoginView):
    template_name = "account/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form: SignInForm) -> HttpResponse:  # type: ignore[override]
        return self.render_to_response(self.get_context_data(form=form), status=422)


@login_not_required
def sign_in(request: HttpRequest) -> HttpResponseBase:
    """The sign-in page; while nobody has an account it leads to the first visit instead."""
    if is_open():
        return redirect("core:setup")
    return _SignIn.as_view()(request)


@login_not_required
def sign_out(request: HttpRequest) -> HttpResponseBase:
    """Sign out by POST; a mere link to here, as from an old page, changes nothing."""
    if request.method != "POST":
        return redirect("core:sign_in")
    return LogoutView.as_view()(request)


def account(request: SignedInRequest) -> HttpResponse:
    """Who is signed in, and a new password for them."""
    form = OwnPasswordForm(posted(request), user=request.user)
    if form.is_valid():
        try:
            people.set_password(person=request.user, password=form.new_password(), by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            update_session_auth_hash(request, request.user)
            words = gettext("Your new password is set. Other devices have been signed out.")
            messages.success(request, words)
            return redirect("core:account")
    return render(request, "account/account.html", {"form": form}, status=422 if form.errors else 200)
