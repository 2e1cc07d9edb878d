"""The bench: one thing to weigh at a time, then the lye, until all of the card is done."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from batches.forms.errors import add_error
from batches.forms.pour import AddForm, ReadingForm, ScaleForm, WeighForm
from batches.models import Batch, Line
from batches.queries import weighing as queries
from batches.queries.weighing import Bench, Step, ToWeigh
from batches.services import weighing as services
from batches.services.errors import AlreadyWeighed, NotOpen, VesselChanged
from batches.views.asked import id_of, posted
from batches.views.bench import bench_context
from batches.views.scale import remember, told_before, zero_of
from inventory.amounts import in_words
from inventory.models import Kind
from inventory.queries import misbehaved
from recipes.models import Stage
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
    if card.line.stage == Stage.JUG:
        return redirect("batches:split", pk)
    item = queries.to_weigh(board, card, id_of(asked, "lot"), zero_of(request, card.line))
    form = _form(request, item)
    if form.is_valid() and (address := _noted(request, form, item)):
        return redirect(address)
    return _show(request, board, item, {"form": form, "page": _page(request, form)})


@require_POST
@maker_required
def scale(request: SignedInRequest, pk: int) -> HttpResponse:
    """How the maker weighs from now on with this phone, and what the scale shows."""
    batch = get_object_or_404(Batch, pk=pk)
    if not batch.is_open:
        return redirect("batches:batch", pk)
    board = queries.bench(batch)
    card = board.find(id_of(request.POST, "line"))
    if card is None:
        return redirect("batches:weigh", pk)
    form = ScaleForm(request.POST, units=request.workshop.units)
    if form.is_valid():
        answer = redirect(_address(card.line))
        remember(answer, card.line, below=board.below(card.line.kind), **form.cleaned_data)
        return answer
    item = queries.to_weigh(board, card, zero=zero_of(request, card.line))
    return _show(request, board, item, {"form": form, "scale_form": form, "page": "scale"})


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
    words = gettext("Taken back: %(material)s, %(amount)s.")
    amount = in_words(undone.quantity, material)
    messages.success(request, words % {"material": material, "amount": amount})
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
    return redirect(_address(line) if "open" in request.POST else reverse("batches:weigh", args=[pk]))


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
            words = gettext("Added: %(material)s, %(amount)s.")
            amount = in_words(added.quantity, material)
            messages.success(request, words % {"material": material, "amount": amount})
            return redirect("batches:weigh", pk)
        except ValidationError as error:
            add_error(form, error, beside="quantity")
    context = bench_context(request, queries.bench(batch), "add") | {"form": form}
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
    return render(request, "batches/lye.html", bench_context(request, board, "lye"))


def _form(request: SignedInRequest, item: ToWeigh) -> WeighForm:
    """What the scale shows in all where that was sent or is what the maker reads, else this line alone."""
    data = posted(request)
    in_all = item.on_top is not None if data is None else "reading" in data
    form = ReadingForm if in_all else WeighForm
    return form(data, line=item.line, units=request.workshop.units)


def _noted(request: SignedInRequest, form: WeighForm, item: ToWeigh) -> str:
    """Where to go on, with the weight in the book or another phone faster; else the form says why not."""
    data = form.cleaned_data
    next_line = reverse("batches:weigh", args=[item.line.batch_id])
    try:
        services.weigh(
            line=item.line,
            lot=data["lot"],
            quantity=data["quantity"],
            key=data["key"],
            by=request.user,
            more_to_come=data["more_to_come"] and data["quantity"] < item.card.missing,
            on_top_of=data["below"],
        )
    except (AlreadyWeighed, NotOpen) as error:
        messages.info(request, error.message)
    except VesselChanged as error:
        if "reading" not in form.fields:
            messages.warning(request, error.message)
            return _address(item.line)
        form.add_error("reading", error)
        return ""
    except ValidationError as error:
        add_error(form, error, beside=form.typed.name)
        return ""
    return next_line


def _page(request: SignedInRequest, form: WeighForm) -> str:
    """What is shown: the line, the place to type another weight, the lots, the scale or the card."""
    if form.errors:
        return "lots" if "lot" in form.errors and form.typed.name not in form.errors else "other"
    asked = request.GET.get("show", "")
    return asked if asked in {"other", "lots", "scale", "card"} else "line"


def _show(request: SignedInRequest, board: Bench, item: ToWeigh, shown: dict[str, Any]) -> HttpResponse:
    at_line = shown["page"] in {"line", "card"} or item.line.done
    context = bench_context(request, board, "weigh" if at_line else shown["page"], item) | shown
    context["at_line"] = at_line
    if item.line.kind == Kind.FRAGRANCE:
        context["behaviours"] = misbehaved([item.line.material_id])
    if shown["page"] == "scale" and "scale_form" not in shown:
        context["scale_form"] = ScaleForm(initial=told_before(request, item), units=request.workshop.units)
    return render(request, "batches/weigh.html", context, status=422 if shown["form"].errors else 200)


def _address(line: Line) -> str:
    return f"{reverse('batches:weigh', args=[line.batch_id])}?line={line.pk}"
