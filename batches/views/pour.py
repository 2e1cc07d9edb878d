"""The end of the bench: the pour is looked over, written down, and undone where it was a mistake."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext

from batches.forms.errors import add_error
from batches.forms.pour import ConfirmForm, ReasonForm
from batches.models import Batch, State
from batches.queries.pour import pouring
from batches.queries.record import batch_of, batch_record
from batches.queries.weighing import Step, bench
from batches.services.errors import NotOpen, NotSafe
from batches.services.pour import pour, undo_pour
from batches.views.asked import posted
from batches.views.bench import bench_context
from shared.saponification import FormulaError
from soapshop.core.access import SignedInRequest, maker_required
from soapshop.core.words import in_words


@maker_required
def confirm(request: SignedInRequest, pk: int) -> HttpResponse:
    """Planned against weighed, or what is taken as planned; then the batch goes to the rack."""
    batch = get_object_or_404(Batch.objects.select_related("version__recipe", "version__mould"), pk=pk)
    if not batch.is_open:
        return redirect("batches:batch", pk)
    as_planned = "as_planned" in (request.POST or request.GET)
    board = bench(batch)
    if board.step != Step.CONFIRM and not as_planned:
        return redirect("batches:weigh", pk)
    booked = pouring(board, as_planned=as_planned, day=timezone.localdate())
    ask_why = booked.stopped and request.user.is_owner
    in_mould = batch.version.mould_id is not None
    form = ConfirmForm(posted(request), request.FILES or None, ask_why=ask_why, in_mould=in_mould)
    if form.is_valid() and _poured(request, form, batch, as_planned=as_planned):
        return redirect("batches:batch", pk)
    context = {"board": board, "pouring": booked, "as_planned": as_planned, "form": form}
    return _last_look(request, context)


@maker_required
def undo(request: SignedInRequest, pk: int) -> HttpResponse:
    """Put back what a pour took, as long as it has not been cut."""
    try:
        batch = batch_of(pk)
    except Batch.DoesNotExist as error:
        raise Http404(gettext("There is no such batch.")) from error
    if batch.state != State.POURED:
        return redirect("batches:batch", pk)
    form = ReasonForm(posted(request))
    if form.is_valid():
        try:
            undo_pour(batch=batch, reason=form.cleaned_data["reason"], by=request.user)
            words = gettext("The pour of %(batch)s is undone; everything is back in its lots.")
            messages.success(request, words % {"batch": batch.code})
            return redirect("batches:batch", pk)
        except ValidationError as error:
            add_error(form, error)
    record = batch_record(batch, timezone.localdate())
    context = {"batch": batch, "record": record, "picture": record.picture, "form": form}
    return render(request, "batches/undo.html", context, status=422 if form.errors else 200)


def _last_look(request: SignedInRequest, context: dict[str, Any]) -> HttpResponse:
    context |= bench_context(request, context["board"], "confirm")
    return render(request, "batches/confirm.html", context, status=422 if context["form"].errors else 200)


def _poured(request: SignedInRequest, form: ConfirmForm, batch: Batch, *, as_planned: bool) -> bool:
    """Whether the pour is in the books; else the form says why not."""
    try:
        pour(batch=batch, by=request.user, as_planned=as_planned, **form.cleaned_data)
        words = gettext("%(batch)s is poured. It waits on the rack to be cut.")
        messages.success(request, words % {"batch": batch.code})
    except NotOpen as error:
        messages.info(request, error.message)
    except NotSafe as error:
        add_error(form, error, beside="stop_reason" if "stop_reason" in form.fields else None)
    except ValidationError as error:
        add_error(form, error)
    except FormulaError as error:
        form.add_error(None, in_words(error.args[0]))
    return not form.errors
