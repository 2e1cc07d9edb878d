"""Deliveries: receiving one, and what one brought."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext

from inventory import queries
from inventory.forms.deliveries import DeliveryForms
from inventory.models import Delivery
from inventory.services.receiving import LineError
from inventory.services.receiving import receive as put_on_the_shelf
from inventory.views.asked import number
from soapshop.core.access import SignedInRequest, maker_required


@maker_required
def receive(request: SignedInRequest) -> HttpResponse:
    """Receive a delivery; the same page adds a line, takes one out, or follows the kind of a material."""
    if request.method != "POST":
        asked = {name: number(request.GET.get(name)) for name in ("material", "supplier")}
        return _page(request, DeliveryForms(initial={name: value for name, value in asked.items() if value}))
    forms = DeliveryForms(request.POST)
    if {"another", "without", "redraw"} & set(request.POST):
        forms.redraw(another="another" in request.POST, without=request.POST.get("without", ""))
        return _page(request, forms)
    delivery = _receive(request, forms) if forms.is_valid() else None
    if delivery is None:
        return _page(request, forms, status=422)
    messages.success(request, gettext("On the shelf."))
    return redirect("inventory:delivery", delivery.pk)


def _receive(request: SignedInRequest, forms: DeliveryForms) -> Delivery | None:
    """Book it; what the service finds wrong goes beside its field."""
    try:
        return put_on_the_shelf(
            **forms.head.cleaned_data, lines=[form.line() for form in forms.filled], by=request.user
        )
    except LineError as error:
        forms.filled[error.index].add_error(None, error)
    except ValidationError as error:
        forms.head.add_error(None, error)
    return None


def _page(request: SignedInRequest, forms: DeliveryForms, status: int = 200) -> HttpResponse:
    swap = request.htmx and not request.htmx.boosted
    return render(
        request, f"inventory/receive.html{'#lines' if swap else ''}", {"forms": forms}, status=status
    )


def delivery(request: SignedInRequest, pk: int) -> HttpResponse:
    """What a supplier brought on one day."""
    found = get_object_or_404(Delivery.objects.select_related("supplier", "by"), pk=pk)
    lots = list(found.lots.select_related("material").order_by("pk"))
    context = {"delivery": found, "lots": lots, "total": sum(lot.cost for lot in lots)}
    return render(request, "inventory/delivery.html", context)


def deliveries(request: SignedInRequest) -> HttpResponse:
    """All deliveries, the newest first."""
    return render(request, "inventory/deliveries.html", {"page": queries.deliveries(request.GET.get("page"))})
