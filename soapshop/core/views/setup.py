"""The first visit of a new workshop."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext

from soapshop.core.forms import SetupForm
from soapshop.core.services.setup import is_open, set_up
from soapshop.core.views import posted

BACKEND = "django.contrib.auth.backends.ModelBackend"


@login_not_required
def setup(request: HttpRequest) -> HttpResponse:
    """Make the first owner, with the code from the server's terminal. Gone once there is one."""
    if not is_open():
        raise Http404("The workshop is already set up.")
    form = SetupForm(posted(request))
    if form.is_valid():
        fields = ("code", "workshop_name", "username", "name")
        try:
            owner = set_up(**{name: form.cleaned_data[name] for name in fields}, password=form.new_password())
        except ValidationError as error:
            form.add_error(None, error)
        else:
            login(request, owner, backend=BACKEND)
            words = gettext("Welcome to %(workshop)s.")
            messages.success(request, words % {"workshop": request.POST["workshop_name"]})
            return redirect("core:settings")
    return render(request, "account/setup.html", {"form": form}, status=422 if form.errors else 200)
