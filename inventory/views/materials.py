"""One material: its page, adding, changing, putting away."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from inventory import queries
from inventory.forms import LikeForm, MaterialForm
from inventory.models import Kind, Material
from inventory.services import materials
from inventory.views.asked import choice
from soapshop.core.access import SignedInRequest, maker_required
from soapshop.core.queries import history_of

# Batter kept back is made by a pour.
BY_HAND = [kind for kind in Kind if kind != Kind.BATTER]


def material(request: SignedInRequest, pk: int) -> HttpResponse:
    """What is known of a material and how much of it is there."""
    found = get_object_or_404(Material.objects.select_related("supplier", "behaviour"), pk=pk)
    page = queries.material_page(
        found, today=timezone.localdate(), warn_days=request.workshop.expiry_warning_days
    )
    certificates = queries.certificates_of(found) if found.kind == Kind.FRAGRANCE else []
    context = {"page": page, "material": found, "certificates": certificates}
    return render(request, "inventory/material.html", context)


@maker_required
def material_add(request: SignedInRequest) -> HttpResponse:
    """Add a material of the kind that the address names; without one, ask for the kind first."""
    kind = choice(request, "kind", BY_HAND)
    if not kind:
        kinds = [(each.value, each.label) for each in BY_HAND]
        return render(request, "inventory/material_kind.html", {"kinds": kinds})
    like = LikeForm(request.GET, kind=Kind(kind))
    form = MaterialForm(
        request.POST or None, kind=Kind(kind), like=like.chosen, solution="solution" in request.GET
    )
    if request.method == "POST" and form.is_valid():
        try:
            new = materials.create_material(kind=Kind(kind), by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            words = gettext("%(name)s is in the stockroom.") % {"name": new.name}
            messages.success(request, words + form.range_was_proposed)
            return redirect("inventory:material", new.pk)
    context = {"form": form, "like": like, "kind": kind, "kind_label": Kind(kind).label}
    return render(request, "inventory/material_form.html", context, status=422 if form.errors else 200)


@maker_required
def material_edit(request: SignedInRequest, pk: int) -> HttpResponse:
    """Change what is known of a material."""
    found = get_object_or_404(Material, pk=pk)
    like = LikeForm(request.GET, kind=Kind(found.kind))
    form = MaterialForm(request.POST or None, kind=Kind(found.kind), material=found, like=like.chosen)
    if request.method == "POST" and form.is_valid():
        try:
            changed = materials.update_material(material=found, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            words = gettext("Saved %(name)s.") % {"name": changed.name}
            messages.success(request, words + form.range_was_proposed)
            return redirect("inventory:material", pk)
    context = {
        "form": form,
        "like": like,
        "kind": found.kind,
        "material": Material.objects.get(pk=pk),
        "history": history_of(found),
    }
    return render(request, "inventory/material_form.html", context, status=422 if form.errors else 200)


@require_POST
@maker_required
def material_archive(request: SignedInRequest, pk: int) -> HttpResponse:
    """Put a material away, or bring one back that was."""
    found = get_object_or_404(Material, pk=pk)
    try:
        if found.archived:
            materials.bring_back_material(material=found, by=request.user)
            messages.success(request, gettext("%(name)s is back.") % {"name": found.name})
        else:
            materials.archive_material(material=found, by=request.user)
            words = gettext("%(name)s is put away. It stays in the books and can be brought back here.")
            messages.success(request, words % {"name": found.name})
    except ValidationError as error:
        messages.error(request, error.messages[0])
    return redirect("inventory:material", pk)
