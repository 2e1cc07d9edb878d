"""Rack tags on paper, and where the code on one leads."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext

from batches.models import Batch
from batches.queries.tags import MOST_TAGS, tags_of, tags_to_choose
from batches.views.asked import ids_of
from soapshop.core.access import SignedInRequest
from soapshop.core.addresses import workshop_address
from soapshop.core.pdf import pdf_answer


def find(request: SignedInRequest, pk: int) -> HttpResponse:
    """Where the code on a tag leads: a short address that stays, however pages may move later."""
    batch = get_object_or_404(Batch, pk=pk)
    return redirect("batches:batch", batch.pk)


def tags(request: SignedInRequest) -> HttpResponse:
    """Which batches get a tag, and which address the codes will carry."""
    asked = ids_of(request.GET, "batch")
    found = tags_to_choose(timezone.localdate(), asked)
    context = {"tags": found, "asked": asked, "most": MOST_TAGS}
    return render(request, "batches/tags.html", context)


def tags_pdf(request: SignedInRequest) -> HttpResponse:
    """Sheets of tags for the batches that are asked for."""
    found = tags_of(ids_of(request.GET, "batch"))
    if not found:
        messages.info(request, gettext("Tick the batches that need a tag."))
        return redirect("batches:tags")
    context = {"tags": found, "address": workshop_address(request)}
    return pdf_answer(
        request,
        "print/tags.html",
        context,
        name="tags",
        back=reverse("batches:tags"),
    )
