"""The bench: one thing to weigh at a time, then the lye, until all of the card is done."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from batches.forms.errors import add_error
from batches.forms.pour import AddForm, WeighForm
from batches.models import Batch, Line
from batches.queries import weighing as queries
from batches.queries.picture import picture_of
from batches.queries.remedy import remedy
from batches.queries.weighing import Bench, Step, ToWeigh
from batches.services import weighing as services
from batches.services.errors import AlreadyWeighed, NotOpen
from batches.views.asked import id_of, posted
from inventory.amounts import in_words
from soapshop.core.access import SignedInRequest, maker_required


@maker_required
def weigh(request: SignedInRequest, pk: int) -> HttpResponse:
    """The next line of the card, or the one asked for; its weight is accepted as shown or typed."""
    batch = get_object_or_404(Batch, pk=pk)
    if not batch.is_open:
        return redirect("batches:batch", pk)
    board = queries.bench(batch)
    asked = request.POST or request.GET
    card = board.find(id_of(asked, "line"))
    if card is None or (board.step == Step.LYE and "line" not in asked):
        return redirect(f"batches:{board.step}", pk)
    item = queries.to_weigh(board, card, id_of(asked, "lot"))
    form = WeighForm(posted(request), line=card.line, units=request.workshop.units)
    if form.is_valid() and _noted(request, form, item):
        return redirect("batches:weigh", pk)
    context = _context(board) | {"item": item, "form": form, "page": _page(request, form)}
    return render(request, "batches/weigh.html", context, status=422 if form.errors else 200)


@require_POST
@maker_required
def undo(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take back a weight, and come back to its line."""
    batch = get_object_or_404(Batch, pk=pk)
    weighing = id_of(request.POST, "weighing") or 0
    try:
        undone = services.undo_weighing(batch=batch, weighing=weighing, by=request.user)
    except NotOpen as error:
        messages.warning(request, error.message)
        return redirect("batches:batch", pk)
    if undone is None:
        return redirect("batches:weigh", pk)
    material = undone.line.material
    messages.success(request, f"Taken back: {material}, {in_words(undone.quantity, material)}.")
    line = f"?line={undone.line_id}" if undone.line.pk else ""
    return redirect(reverse("batches:weigh", args=[pk]) + line)


@require_POST
@maker_required
def leave(request: SignedInRequest, pk: int) -> HttpResponse:
    """Go on without a line of the card or the rest of it, or weigh it after all."""
    lines = Line.objects.select_related("material").filter(batch__pk=pk)
    line = get_object_or_404(lines, pk=id_of(request.POST, "line"))
    try:
        services.leave(line=line, done="open" not in request.POST, by=request.user)
    except ValidationError as error:
        messages.warning(request, " ".join(error.messages))
    address = reverse("batches:weigh", args=[pk])
    return redirect(f"{address}?line={line.pk}" if "open" in request.POST else address)


@maker_required
def add(request: SignedInRequest, pk: int) -> HttpResponse:
    """Weigh in something beyond the card, such as the fat that makes a pot safe again."""
    batch = get_object_or_404(Batch, pk=pk)
    if not batch.is_open:
        return redirect("batches:batch", pk)
    form = AddForm(posted(request), units=request.workshop.units)
    if form.is_valid():
        try:
            added = services.add_to_pot(batch=batch, by=request.user, **form.cleaned_data)
            material = added.lot.material
            messages.success(request, f"Added: {material}, {in_words(added.quantity, material)}.")
            return redirect("batches:weigh", pk)
        except ValidationError as error:
            add_error(form, error, beside="quantity")
    context = _context(queries.bench(batch)) | {"form": form}
    return render(request, "batches/add.html", context, status=422 if form.errors else 200)


@maker_required
def lye(request: SignedInRequest, pk: int) -> HttpResponse:
    """The cautions, the amounts, and how hot it may get; then the lye is mixed."""
    batch = get_object_or_404(Batch, pk=pk)
    if not batch.is_open:
        return redirect("batches:batch", pk)
    board = queries.bench(batch)
    if board.lye_waits_for and batch.lye_mixed_at is None:
        return redirect("batches:weigh", pk)
    if request.method == "POST":
        services.mix_lye(batch=batch, by=request.user)
        return redirect("batches:weigh", pk)
    return render(request, "batches/lye.html", _context(board))


def _noted(request: SignedInRequest, form: WeighForm, item: ToWeigh) -> bool:
    """Whether the weight is in the book; else the form says why not."""
    data = form.cleaned_data
    try:
        services.weigh(
            line=item.line,
            lot=data["lot"],
            quantity=data["quantity"],
            key=data["key"],
            by=request.user,
            more_to_come=data["more_to_come"] and data["quantity"] < item.card.missing,
        )
    except (AlreadyWeighed, NotOpen) as error:
        messages.info(request, error.message)
    except ValidationError as error:
        add_error(form, error, beside="quantity")
        return False
    return True


def _page(request: SignedInRequest, form: WeighForm) -> str:
    """What of the bench is shown: the line, the place to type another weight, or the lots to choose from."""
    if form.errors:
        return "lots" if "lot" in form.errors and "quantity" not in form.errors else "other"
    asked = request.GET.get("show", "")
    return asked if asked in {"other", "lots"} else "line"


def _context(board: Bench) -> dict[str, Any]:
    return {
        "board": board,
        "batch": board.batch,
        "recipe": board.recipe,
        "picture": picture_of(board.batch),
        "remedy": remedy(board),
    }
