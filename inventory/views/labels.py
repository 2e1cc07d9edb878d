"""Labels for lots on paper, and where the code on one leads."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext

from inventory.models import Lot
from inventory.queries import lots_of, lots_to_label
from inventory.views.asked import number, numbers
from soapshop.core.access import SignedInRequest
from soapshop.core.addresses import workshop_address
from soapshop.core.pdf import pdf_answer


def find(request: SignedInRequest, pk: int) -> HttpResponse:
    """Where the code on a label leads: a short address that stays, however pages may move later."""
    lot = get_object_or_404(Lot, pk=pk)
    return redirect("inventory:lot", lot.pk)


def labels(request: SignedInRequest) -> HttpResponse:
    """Which lots get a label, and which address the codes will carry."""
    found = lots_to_label(numbers(request, "lot"), delivery=number(request.GET.get("delivery")))
    return render(request, "inventory/labels.html", {"lots": found})


def labels_pdf(request: SignedInRequest) -> HttpResponse:
    """Sheets of labels for the lots that are asked for."""
    found = lots_of(numbers(request, "lot"))
    if not found:
        messages.info(request, gettext("Tick the lots that need a label."))
        return redirect("inventory:labels")
    context = {"lots": found, "address": workshop_address(request)}
    return pdf_answer(
        request,
        "print/labels.html",
        context,
        name="labels",
        back=reverse("inventory:labels"),
    )
