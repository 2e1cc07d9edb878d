"""The record of a batch, and all batches."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext

from batches.explain import explain_batch, explain_cure, explain_planned
from batches.explain_colour import explain_colour
from batches.forms.cure import NoteForm
from batches.models import Batch
from batches.queries import record as queries
from batches.queries.deeds import kept_aside
from batches.queries.events import log_of
from batches.queries.outcome import outcome_of
from batches.views.asked import search_words
from soapshop.core.access import SignedInRequest


def batch(request: SignedInRequest, pk: int) -> HttpResponse:
    """All that is known of a batch."""
    try:
        found = queries.batch_of(pk)
    except Batch.DoesNotExist as error:
        raise Http404(gettext("There is no such batch.")) from error
    record = queries.batch_record(found, timezone.localdate())
    context = {
        "batch": found,
        "record": record,
        "recipe": record.recipe,
        "cure": record.cure,
        "how": explain_batch(record, request.workshop),
        "how_planned": explain_planned(record.recipe, request.workshop),
        "how_cured": explain_cure(record.cure, request.workshop) if record.cure else (),
        "how_coloured": explain_colour(record.cure.colour) if record.cure else (),
        "log": log_of(found),
        "aside": kept_aside(found),
        "outcome": outcome_of(found) if record.cure else None,
        "note_form": NoteForm(),
    }
    return render(request, "batches/batch.html", context)


def batch_list(request: SignedInRequest) -> HttpResponse:
    """Every batch there ever was, found by its number, its recipe or a lot that went in."""
    words = search_words(request.GET)
    page = queries.batch_rows(today=timezone.localdate(), search=words, page=request.GET.get("page"))
    template = "batches/list.html#results" if request.htmx else "batches/list.html"
    return render(request, template, {"page": page, "q": words})
