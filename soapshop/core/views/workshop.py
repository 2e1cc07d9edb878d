"""The settings of the workshop, for its owners."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from soapshop.core import queries
from soapshop.core.access import SignedInRequest, owner_required
from soapshop.core.forms import SettingsForm
from soapshop.core.services.workshop import SETTINGS, renew_calendar, save_settings
from soapshop.core.views import posted


@owner_required
def settings(request: SignedInRequest) -> HttpResponse:
    """All settings on one page."""
    initial = {field: getattr(request.workshop, field) for field in SETTINGS}
    form = SettingsForm(posted(request), initial=initial)
    if form.is_valid():
        try:
            save_settings(by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, gettext("The settings are saved."))
            return redirect("core:settings")
    context = {"form": form, "history": queries.history_of(request.workshop)}
    return render(request, "core/settings.html", context, status=422 if form.errors else 200)


@require_POST
@owner_required
def calendar_renew(request: SignedInRequest) -> HttpResponse:
    """Give the calendar a new secret address."""
    renew_calendar(by=request.user)
    words = gettext("The calendar has a new secret link. Calendars with the old one stay empty.")
    messages.success(request, words)
    return redirect(f"{reverse('core:settings')}#calendar")
