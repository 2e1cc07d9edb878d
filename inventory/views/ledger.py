"""The ledger, and taking a movement back."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext

from inventory import queries
from inventory.forms import ReverseForm
from inventory.models import Material, Movement
from inventory.services import ledger as books
from inventory.views.asked import choice, number
from soapshop.core.access import SignedInRequest, maker_required


def ledger(request: SignedInRequest) -> HttpResponse:
    """Everything that came in and went out, the newest first."""
    material = Material.objects.filter(pk=number(request.GET.get("material")) or 0).first()
    kind = choice(request, "kind", Movement.Kind)
    context = {
        "page": queries.ledger(material=material, kind=kind, page=request.GET.get("page")),
        "material": material,
        "materials": Material.objects.filter(lots__isnull=False).distinct().order_by("name"),
        "kind": kind,
        "kinds": Movement.Kind.choices,
    }
    return render(request, "inventory/ledger.html", context)


@maker_required
def reverse(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take a movement back, with a reason."""
    movement = get_object_or_404(Movement.objects.select_related("lot__material", "by", "reversed_by"), pk=pk)
    form = ReverseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            books.reverse(
                movement=movement, reason=data["reason"], key=f"reverse {data['key']}", by=request.user
            )
        except ValidationError as error:
            form.add_error(None, error)
        else:
            words = gettext("Taken back. The stock of %(lot)s is as if it had not been.")
            messages.success(request, words % {"lot": movement.lot.code})
            return redirect("inventory:lot", movement.lot_id)
    context = {"form": form, "movement": movement, "lot": movement.lot, "refused": books.why_not(movement)}
    return render(request, "inventory/reverse.html", context, status=422 if form.errors else 200)
