"""What is there, what is low, what goes off."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from inventory import queries
from inventory.models import Kind
from inventory.queries import Show
from inventory.views.asked import choice, words
from soapshop.core.access import SignedInRequest


def stockroom(request: SignedInRequest) -> HttpResponse:
    """The stock by kind, as filtered."""
    show = Show(choice(request, "show", Show) or Show.SHELF)
    kind, search = choice(request, "kind", Kind), words(request, "q")
    stock = queries.stockroom(
        today=timezone.localdate(),
        warn_days=request.workshop.expiry_warning_days,
        show=show,
        kind=kind,
        search=search,
        page=request.GET.get("page"),
    )
    context = {
        "stock": stock,
        "show": show.value,
        "kind": kind,
        "kinds": list(Kind),
        "q": search,
    }
    swap = request.htmx and not request.htmx.boosted
    return render(request, f"inventory/stockroom.html{'#stock' if swap else ''}", context)
