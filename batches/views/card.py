"""The batch card on paper: what to weigh, with room to write beside it; or, once poured, what went in."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext

from batches.models import Batch
from batches.queries.record import batch_of, batch_record
from soapshop.core.access import SignedInRequest
from soapshop.core.pdf import pdf_answer


def card(request: SignedInRequest, pk: int) -> HttpResponse:
    """The card of a batch as a PDF."""
    try:
        batch = batch_of(pk)
    except Batch.DoesNotExist as error:
        raise Http404(gettext("There is no such batch.")) from error
    record = batch_record(batch, timezone.localdate())
    context = {"batch": batch, "record": record, "recipe": record.recipe}
    return pdf_answer(
        request,
        "print/card.html",
        context,
        name=f"card-{batch.pk}",
        back=reverse("batches:batch", args=[batch.pk]),
    )
