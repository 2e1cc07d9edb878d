"""Splitting the batter at the bench: a card for each jug, solved anew with every one that is filled."""

from __future__ import annotations

from decimal import Decimal

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from batches.explain_split import explain_jug
from batches.forms.errors import add_error
from batches.forms.fields import UNIT_OF
from batches.forms.split import FillForm, MoreForm, TakeOutForm
from batches.models import Batch, Jug
from batches.queries import weighing as queries
from batches.queries.jugs import lots_for
from batches.queries.weighing import Bench, Step
from batches.services import jugs as services
from batches.services.errors import AlreadyWeighed, NotOpen
from batches.splitting import JugCard, Splitting, splitting
from batches.views.asked import id_of, posted
from batches.views.bench import bench_context
from inventory.queries import misbehaved
from soapshop.core.access import SignedInRequest, maker_required
from soapshop.core.fields import WeightField


@maker_required
def split(request: SignedInRequest, pk: int) -> HttpResponse:
    """The next jug, or the one asked for; what went in is accepted as shown or typed."""
    batch = get_object_or_404(Batch, pk=pk)
    if not batch.is_open:
        return redirect("batches:batch", pk)
    board = queries.bench(batch)
    asked = request.POST or request.GET
    if board.split is None or (board.step in (Step.WEIGH, Step.LYE) and not board.split.taken):
        return redirect("batches:weigh", pk)
    card = board.split.find(id_of(asked, "jug"))
    if card is None:
        return redirect(f"batches:{board.step}", pk)
    if request.method == "POST" and str(card.jug.pk) != request.POST.get("jug"):
        raise Http404(gettext("There is no such jug."))
    return _card(request, board, board.split, card)


@require_POST
@maker_required
def empty(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take back that a jug was filled or left out, and come back to it."""
    jug = _jug(request, pk)
    planned = jug.planned is not None
    try:
        services.empty_jug(jug=jug, by=request.user)
    except ValidationError as error:
        messages.warning(request, " ".join(error.messages))
    return redirect(_address(pk, jug.pk if planned else None))


@require_POST
@maker_required
def leave_out(request: SignedInRequest, pk: int) -> HttpResponse:
    """Go on without a jug; the others share what remains."""
    jug = _jug(request, pk)
    try:
        services.leave_out(jug=jug, by=request.user)
    except ValidationError as error:
        messages.warning(request, " ".join(error.messages))
    return redirect(_address(pk))


@maker_required
def take_out(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take batter out for a portion that nobody had planned."""
    batch = get_object_or_404(Batch, pk=pk)
    if not batch.is_open:
        return redirect("batches:batch", pk)
    board = queries.bench(batch)
    if board.split is None or batch.lye_mixed_at is None:
        return redirect("batches:weigh", pk)
    plain = {"colour": board.recipe.bar_colour}
    form = TakeOutForm(posted(request), units=request.workshop.units, initial=plain)
    if form.is_valid():
        try:
            services.add_jug(batch=batch, by=request.user, **form.cleaned_data)
            return redirect(_address(pk))
        except ValidationError as error:
            add_error(form, error, beside="grams")
    context = bench_context(request, board, "take_out") | {"form": form}
    return render(request, "batches/take_out.html", context, status=422 if form.errors else 200)


@maker_required
def more(request: SignedInRequest, pk: int) -> HttpResponse:
    """Add plain batter to a jug that is filled."""
    jug = get_object_or_404(
        Jug.objects.select_related("batch"), pk=id_of(request.POST or request.GET, "jug"), batch__pk=pk
    )
    if not jug.batch.is_open:
        return redirect("batches:batch", pk)
    if jug.grams is None:
        return redirect(_address(pk, jug.pk))
    form = MoreForm(posted(request), units=request.workshop.units)
    if form.is_valid():
        try:
            services.top_up(jug=jug, by=request.user, **form.cleaned_data)
            return redirect(_address(pk))
        except ValidationError as error:
            add_error(form, error, beside="grams")
    context = bench_context(request, queries.bench(jug.batch), "more") | {"form": form, "jug": jug}
    return render(request, "batches/more.html", context, status=422 if form.errors else 200)


def _card(request: SignedInRequest, board: Bench, split: Splitting, card: JugCard) -> HttpResponse:
    """The card of a jug. Of one that is open other grams may be tried before they are noted."""
    work_out = "work_out" in request.POST
    grams = _grams(request)
    tried = _tried(board, card, grams)
    bound = request.method == "POST" and not (work_out and (grams or request.htmx))
    form = _fill_form(request, tried, bound=bound)
    if not work_out and form.is_valid() and _filled(request, form, card):
        return redirect(_address(board.batch.pk))
    context = bench_context(request, board, "split") | {
        "card": tried,
        "behaviours": misbehaved([stir.line.material_id for stir in card.stir]),
        "form": form,
        "how": explain_jug(tried, board.recipe.split, split, request.workshop),
        "page": "other" if bound or work_out else request.GET.get("show", "jug"),
    }
    if request.htmx and work_out:
        return render(request, "batches/split.html#stirs", context)
    return render(request, "batches/split.html", context, status=422 if form.errors else 200)


def _fill_form(request: SignedInRequest, card: JugCard, *, bound: bool) -> FillForm:
    """The card's amounts as they were typed, or else as worked out, with the lots that were chosen."""
    chosen = {name: value for name, value in request.POST.items() if name.startswith("lot-")}
    return FillForm(
        request.POST if bound else None,
        card=card,
        lots=lots_for([stir.line for stir in card.stir]),
        units=request.workshop.units,
        initial=chosen,
    )


def _tried(board: Bench, card: JugCard, grams: Decimal | None) -> JugCard:
    """The card as it would be with so much batter."""
    if grams is None or not card.jug.is_open:
        return card
    lines = [each.line for each in board.lines]
    found = splitting(board.recipe, lines, board.batch.jugs.all(), {card.jug.pk: grams})
    return (found.find(card.jug.pk) if found else None) or card


def _grams(request: SignedInRequest) -> Decimal | None:
    """The batter that was typed; None where it is no weight."""
    field = WeightField(required=False, default_unit=UNIT_OF[request.workshop.units])
    try:
        grams: Decimal | None = field.clean(request.POST.get("grams", ""))
    except ValidationError:
        return None
    return grams


def _filled(request: SignedInRequest, form: FillForm, card: JugCard) -> bool:
    """Whether the jug is in the book, or another phone was faster; else the form says why not."""
    data = form.cleaned_data
    try:
        services.fill_jug(
            jug=card.jug,
            grams=data["grams"],
            key=data["key"],
            by=request.user,
            stirred_in=form.stirred_in,
            lots=form.lots,
        )
    except (AlreadyWeighed, NotOpen) as error:
        messages.info(request, error.message)
    except ValidationError as error:
        add_error(form, error, beside="grams")
        return False
    return True


def _jug(request: SignedInRequest, pk: int) -> Jug:
    return get_object_or_404(Jug.objects.select_related("batch"), pk=id_of(request.POST, "jug"), batch__pk=pk)


def _address(pk: int, jug: int | None = None) -> str:
    return reverse("batches:split", args=[pk]) + (f"?jug={jug}" if jug else "")
