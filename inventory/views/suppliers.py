"""Who sells what the workshop uses."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from inventory import queries
from inventory.forms import SupplierForm
from inventory.models import Supplier
from inventory.services.suppliers import create_supplier, update_supplier
from inventory.views.asked import words
from soapshop.core.access import SignedInRequest, maker_required


def suppliers(request: SignedInRequest) -> HttpResponse:
    """All suppliers by name."""
    search = words(request, "q")
    page = queries.suppliers(search=search, page=request.GET.get("page"))
    swap = request.htmx and not request.htmx.boosted
    return render(
        request, f"inventory/suppliers.html{'#results' if swap else ''}", {"page": page, "q": search}
    )


@maker_required
def supplier_add(request: SignedInRequest) -> HttpResponse:
    """Add a supplier."""
    form = SupplierForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            new = create_supplier(by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, gettext("%(name)s is in your list.") % {"name": new.name})
            return redirect("inventory:suppliers")
    return render(request, "inventory/supplier_form.html", {"form": form}, status=422 if form.errors else 200)


@maker_required
def supplier_edit(request: SignedInRequest, pk: int) -> HttpResponse:
    """Change a supplier."""
    supplier = get_object_or_404(Supplier, pk=pk)
    initial = {name: getattr(supplier, name) for name in SupplierForm.base_fields}
    form = SupplierForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            changed = update_supplier(supplier=supplier, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, gettext("Saved %(name)s.") % {"name": changed.name})
            return redirect("inventory:suppliers")
    context = {"form": form, "supplier": Supplier.objects.get(pk=pk)}
    return render(request, "inventory/supplier_form.html", context, status=422 if form.errors else 200)


@require_POST
@maker_required
def supplier_archive(request: SignedInRequest, pk: int) -> HttpResponse:
    """Put a supplier away, or bring one back that was."""
    supplier = get_object_or_404(Supplier, pk=pk)
    update_supplier(supplier=supplier, by=request.user, archived=not supplier.archived)
    words = (
        gettext("%(name)s is put away. Their deliveries stay in the books.")
        if supplier.archived
        else gettext("%(name)s is back in your list.")
    )
    messages.success(request, words % {"name": supplier.name})
    return redirect("inventory:suppliers")
