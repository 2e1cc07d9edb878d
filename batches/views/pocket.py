"""The bench in the pocket: the page that a phone keeps of a batch, to go on with it without network."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from batches.frozen import FrozenRecipe
from batches.models import Batch
from batches.queries.picture import picture_of
from soapshop.core.access import SignedInRequest, maker_required


@maker_required
def pocket(request: SignedInRequest, pk: int) -> HttpResponse:
    """A shell of the bench. What stands in it the phone puts in, from what it has kept of the batch."""
    batch = get_object_or_404(Batch, pk=pk)
    context = {
        "batch": batch,
        "recipe": FrozenRecipe.from_json(batch.frozen),
        "picture": picture_of(batch),
    }
    return render(request, "batches/pocket.html", context)
