"""What all pages of the bench have in common, and how they follow what another phone does."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext

from batches.explain import explain_bench
from batches.models import Batch
from batches.queries import weighing as queries
from batches.queries.events import log_of
from batches.queries.picture import picture_of
from batches.queries.remedy import remedy
from batches.queries.weighing import Bench, Step, ToWeigh
from batches.views.asked import id_of
from batches.views.scale import zero_of
from soapshop.core.access import SignedInRequest, maker_required


def bench_context(
    request: SignedInRequest, board: Bench, on: str, item: ToWeigh | None = None
) -> dict[str, Any]:
    """What every page of the bench shows. `on` is the page, `item` the line that it shows."""
    return {
        "board": board,
        "batch": board.batch,
        "recipe": board.recipe,
        "picture": picture_of(board.batch),
        "remedy": remedy(board),
        "how": explain_bench(board, request.workshop) if on in {"weigh", "confirm"} else (),
        "log": log_of(board.batch),
        "last": board.last_by(request.user),
        "other": board.last_by_others(request.user),
        "on": on,
        "item": item,
        "watch": urlencode({"on": on, "seen": queries.stamp_of(board.batch.pk), **_basis(board, on, item)}),
    }


@maker_required
def bench_state(request: SignedInRequest, pk: int) -> HttpResponse:
    """What changed on the bench since a page last saw it: nothing (204), or the parts around its form."""
    stamp = queries.stamp_of(pk)
    if stamp is None:
        raise Http404(gettext("There is no such batch."))
    if request.GET.get("seen") == stamp:
        return HttpResponse(status=204)
    board = queries.bench(Batch.objects.get(pk=pk))
    on, item = request.GET.get("on", ""), _shown(request, board)
    basis = _basis(board, on, item)
    shown = {name: request.GET[name] for name in basis if name in request.GET}
    context = bench_context(request, board, on, item) | {
        "stale": any(shown[name] != basis[name] for name in shown),
        "watch": urlencode({"on": on, "seen": stamp, **shown}),
        "oob": True,
    }
    return render(request, "batches/bench_state.html", context)


def _basis(board: Bench, on: str, item: ToWeigh | None) -> dict[str, str]:
    """What a page goes by: once it is otherwise, the page has to be looked at anew."""
    if item:
        reads = "" if item.line.done else str(item.reads)
        return {"line": str(item.line.pk), "lot": str(item.lot.pk) if item.lot else "", "reads": reads}
    goes_by = {"lye": str(board.step == Step.LYE), "confirm": board.mark, "split": board.mark}
    return {"as_of": goes_by[on]} if on in goes_by else {}


def _shown(request: SignedInRequest, board: Bench) -> ToWeigh | None:
    """The line that the page shows, as it would be shown now."""
    line = id_of(request.GET, "line")
    card = board.find(line) if line else None
    if card is None:
        return None
    return queries.to_weigh(board, card, id_of(request.GET, "lot"), zero_of(request, card.line))
