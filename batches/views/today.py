"""Today."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from batches.queries.today import today_at_work
from soapshop.core.access import SignedInRequest


def today(request: SignedInRequest) -> HttpResponse:
    """What is due."""
    day = timezone.localdate()
    return render(request, "batches/today.html", {"day": day, "today": today_at_work(day, request.workshop)})
