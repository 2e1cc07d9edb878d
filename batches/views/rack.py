"""The rack."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from batches.queries.rack import rack as query
from soapshop.core.access import SignedInRequest


def rack(request: SignedInRequest) -> HttpResponse:
    """What is to be cut and what cures, by the day it will be ready."""
    today = timezone.localdate()
    return render(request, "batches/rack.html", {"rack": query(today=today, page=request.GET.get("page"))})
