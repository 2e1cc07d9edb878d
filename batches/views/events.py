"""What happens at the bench, logged in one tap: words, temperatures, notes and photos."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from batches.forms.errors import add_error
from batches.forms.events import EventForm
from batches.models import Batch, Event, State
from batches.queries.weighing import bench
from batches.services.errors import NotOpen
from batches.services.events import log_event, undo_event
from batches.views.asked import posted
from batches.views.bench import bench_context
from soapshop.core.access import SignedInRequest, maker_required

WORDS = [kind for kind in Event.Kind if kind not in (*Event.TEMPERATURES, Event.Kind.NOTE)]


@maker_required
def events(request: SignedInRequest, pk: int) -> HttpResponse:
    """Words to tap, temperatures, a note; and what was logged so far."""
    batch = get_object_or_404(Batch, pk=pk)
    if batch.state in (State.DROPPED, State.UNDONE):
        return redirect("batches:batch", pk)
    form = EventForm(posted(request), request.FILES or None, units=request.workshop.units)
    if form.is_valid() and _logged(request, form, batch):
        if not request.htmx:
            return redirect("batches:events", pk)
        form = EventForm(units=request.workshop.units)
    return _show(request, batch, form)


@require_POST
@maker_required
def undo(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take back what was logged."""
    batch = get_object_or_404(Batch, pk=pk)
    try:
        undo_event(batch=batch, key=UUID(request.POST.get("event", "")), by=request.user)
    except NotOpen as error:
        messages.warning(request, error.message)
    except ValueError:
        messages.warning(request, gettext("Nothing was taken back."))
    return redirect("batches:events", pk)


def _logged(request: SignedInRequest, form: EventForm, batch: Batch) -> bool:
    """Whether it is in the book; else the form says why not."""
    try:
        log_event(batch=batch, by=request.user, **form.cleaned_data)
    except ValidationError as error:
        add_error(form, error)
    return not form.errors


def _show(request: SignedInRequest, batch: Batch, form: EventForm) -> HttpResponse:
    context = bench_context(request, bench(batch), "events") | {
        "form": form,
        "words": [(kind, uuid4()) for kind in WORDS],
        "degrees": Event.TEMPERATURES,
        "key": uuid4(),
        "note_key": uuid4(),
        "part": request.htmx.target,
    }
    template = "batches/events.html#answer" if request.htmx else "batches/events.html"
    return render(request, template, context, status=422 if form.errors else 200)
