"""Today."""

from __future__ import annotations

from uuid import uuid4

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from batches.queries.today import today_at_work
from soapshop.core.access import SignedInRequest


def today(request: SignedInRequest) -> HttpResponse:
    """What is due."""
    day = timezone.localdate()
    # One key for all that is turned from this page: the service makes of it one for each batch.
    context = {"day": day, "today": today_at_work(day, request.workshop), "key": uuid4()}
    return render(request, "batches/today.html", context)
