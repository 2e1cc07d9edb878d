"""The calendar feed, behind its secret address."""

from __future__ import annotations

from secrets import compare_digest

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext

from batches.calendar import as_icalendar
from batches.queries.calendar import Entry, calendar_entries
from soapshop.core.access import SignedInRequest
from soapshop.core.addresses import workshop_address


@login_not_required
def calendar(request: SignedInRequest, secret: str) -> HttpResponse:
    """What is due, for calendars, which cannot sign in: the secret in the address stands for that."""
    workshop = request.workshop
    if not compare_digest(secret.encode(), workshop.calendar_secret.encode()):
        raise Http404(gettext("There is no such calendar."))
    address = workshop_address(request)

    def page_of(entry: Entry) -> str:
        return address.of(reverse(entry.page, args=[entry.pk]))

    now = timezone.now()
    entries = calendar_entries(timezone.localdate(now), workshop)
    feed = as_icalendar(entries, name=workshop.name, now=now, page_of=page_of)
    return HttpResponse(feed, content_type="text/calendar; charset=utf-8")
