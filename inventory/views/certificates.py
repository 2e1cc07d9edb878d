"""Certificates of a fragrance: adding one, correcting it, removing it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from inventory.forms.certificates import CertificateForms
from inventory.models import Certificate, Kind, Material
from inventory.services.certificates import (
    SubstanceError,
    add_certificate,
    correct_certificate,
    remove_certificate,
)
from shared.allergens import fragrance_allergens
from soapshop.core.access import SignedInRequest, maker_required


@maker_required
def certificate_add(request: SignedInRequest, pk: int) -> HttpResponse:
    """Write down a certificate of a fragrance."""
    material = get_object_or_404(Material, pk=pk, kind=Kind.FRAGRANCE)
    return _page(request, material, _asked(request))


@maker_required
def certificate_edit(request: SignedInRequest, pk: int) -> HttpResponse:
    """Put right what was written down of a certificate."""
    certificate = get_object_or_404(Certificate.objects.select_related("material", "document"), pk=pk)
    return _page(request, certificate.material, _asked(request, certificate))


@require_POST
@maker_required
def certificate_remove(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take out a certificate that was written down by mistake."""
    certificate = get_object_or_404(Certificate.objects.select_related("material", "document"), pk=pk)
    remove_certificate(certificate=certificate, by=request.user)
    messages.success(request, gettext("The certificate is removed. The history keeps what it said."))
    return redirect("inventory:material", certificate.material_id)


def _asked(request: SignedInRequest, certificate: Certificate | None = None) -> CertificateForms:
    if request.method == "POST":
        return CertificateForms(request.POST, request.FILES, certificate)
    return CertificateForms(certificate=certificate)


def _page(request: SignedInRequest, material: Material, forms: CertificateForms) -> HttpResponse:
    """The same page adds lines, takes one out, and keeps it all."""
    redrawn = bool({"another", "without"} & set(request.POST))
    if redrawn:
        forms.redraw(another="another" in request.POST, without=request.POST.get("without", ""))
    elif request.method == "POST" and forms.is_valid() and _kept(request, material, forms):
        messages.success(request, gettext("The certificate is kept."))
        return redirect("inventory:material", material.pk)
    swap = request.htmx and not request.htmx.boosted
    context: dict[str, Any] = {
        "forms": forms,
        "material": material,
        "certificate": forms.certificate,
        "allergens": fragrance_allergens().values(),
        "file_lost": bool(request.FILES),
    }
    template = f"inventory/certificate_form.html{'#lines' if swap and redrawn else ''}"
    return render(request, template, context, status=422 if forms.has_errors else 200)


def _kept(request: SignedInRequest, material: Material, forms: CertificateForms) -> bool:
    """Write it down; what the service finds wrong goes beside its field."""
    try:
        if forms.certificate:
            correct_certificate(certificate=forms.certificate, by=request.user, **forms.said)
        else:
            key = forms.head.cleaned_data["key"]
            add_certificate(material=material, key=key, by=request.user, **forms.said)
    except SubstanceError as error:
        forms.filled[error.index].add_error(None, error)
    except ValidationError as error:
        forms.head.add_error(None, error)
    else:
        return True
    return False
