"""One lot: its page, what is written on it, what the scale shows, what is thrown away."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext

from inventory import queries
from inventory.amounts import in_words
from inventory.forms import CorrectForm, DiscardForm, LotForm
from inventory.models import Lot
from inventory.services import ledger
from inventory.services.lots import update_lot
from soapshop.core.access import SignedInRequest, maker_required
from soapshop.core.queries import history_of


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("material", "delivery__supplier"), pk=pk)


def lot(request: SignedInRequest, pk: int) -> HttpResponse:
    """What is in a lot, what its certificate says, what went in and out."""
    page = queries.lot_page(
        _lot(pk),
        today=timezone.localdate(),
        warn_days=request.workshop.expiry_warning_days,
        page=request.GET.get("page"),
    )
    context = {"lot": page.lot, "page": page, "history": history_of(page.lot)}
    return render(request, "inventory/lot.html", context)


@maker_required
def lot_edit(request: SignedInRequest, pk: int) -> HttpResponse:
    """Change what is written on a lot."""
    found = _lot(pk)
    form = LotForm(request.POST or None, lot=found)
    if request.method == "POST" and form.is_valid():
        try:
            update_lot(lot=found, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, gettext("Saved %(name)s.") % {"name": found.code})
            return redirect("inventory:lot", pk)
    context = {"form": form, "lot": found}
    return render(request, "inventory/lot_form.html", context, status=422 if form.errors else 200)


@maker_required
def correct(request: SignedInRequest, pk: int) -> HttpResponse:
    """Set a lot to what the scale shows."""
    found = _lot(pk)
    form = CorrectForm(request.POST or None, lot=found)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        key = f"correct {data['key']}"
        movement = ledger.correct(
            lot=found, counted=data["counted"], reason=data["reason"], key=key, by=request.user
        )
        words = (
            gettext("%(lot)s now holds %(amount)s.")
            if movement
            else gettext("%(lot)s agrees with the scale; nothing to correct.")
        )
        messages.success(
            request, words % {"lot": found.code, "amount": in_words(data["counted"], found.material)}
        )
        return redirect("inventory:lot", pk)
    context = {"form": form, "lot": found}
    return render(request, "inventory/correct.html", context, status=422 if form.errors else 200)


@maker_required
def discard(request: SignedInRequest, pk: int) -> HttpResponse:
    """Write off what was spilled or spoiled."""
    found = _lot(pk)
    form = DiscardForm(request.POST or None, lot=found)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            key = f"discard {data['key']}"
            ledger.discard(
                lot=found, quantity=data["quantity"], reason=data["reason"], key=key, by=request.user
            )
        except ledger.NotEnough as error:
            form.add_error("quantity", error)
        else:
            gone = in_words(data["quantity"], found.material)
            words = gettext("%(amount)s of %(lot)s written off. It can be taken back below.")
            messages.success(request, words % {"amount": gone, "lot": found.code})
            return redirect("inventory:lot", pk)
    context = {"form": form, "lot": found}
    return render(request, "inventory/discard.html", context, status=422 if form.errors else 200)
