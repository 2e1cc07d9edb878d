"""The story of a fragrance, told by the batches that it went into."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from batches.queries.fragrance import poured_with
from inventory.models import Kind, Material
from soapshop.core.access import SignedInRequest


def fragrance(request: SignedInRequest, pk: int) -> HttpResponse:
    """How it behaved at the bench and in the cure, batch by batch."""
    kind = Material.objects.filter(kind=Kind.FRAGRANCE).select_related("behaviour")
    material = get_object_or_404(kind, pk=pk)
    return render(request, "batches/fragrance.html", {"material": material, "poured": poured_with(material)})
