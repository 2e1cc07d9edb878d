"""All that a phone needs to carry a planned batch through to its pour without the network.

Weights are text in grams, so that no digit is lost; times are ISO 8601 with their offset, chances from 0
to 1, superfat and purities per cent.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, Event, Weighing
from batches.queries.chemistry import chemistry
from batches.queries.pack_split import fine_scale, pack_split
from batches.queries.weighing import Bench, CardLine, bench
from inventory.models import Lot
from shared.chemistry import AlkaliKind
from shared.saponification import Sap
from soapshop.core.models import User, Workshop

Json = dict[str, Any]


def pack(batch: Batch, *, by: User, workshop: Workshop) -> Json:
    """The batch as the book has it now, ready for JSON, for one person. Four queries, one more where it is
    split."""
    board = bench(batch)
    names = {card.jug.pk: card.jug.name for card in board.split.cards} if board.split else {}
    return {
        "made_at": _time(timezone.now()),
        "person": {"id": by.pk, "name": str(by), "owner": by.is_owner},
        "batch": _batch(batch, board),
        "units": workshop.units,
        "scale_step": str(board.recipe.scale_step),
        "fine_scale": fine_scale(board.recipe.scale),
        "superfat": float(board.recipe.superfat),
        "limits": {
            "watch_from": board.recipe.limits.watch_from,
            "stop_from": board.recipe.limits.stop_from,
        },
        "chemistry": chemistry(),
        "lye": {
            "peak": board.recipe.lye_peak,
            "boils": board.recipe.lye_boils,
            "concentration": board.recipe.lye_concentration,
        },
        "lines": _lines(board),
        "weighings": [_weighing(each, names) for card in board.lines for each in card.weighings],
        "split": pack_split(board),
        "events": [_event(each) for each in batch.events.select_related("by", "photo")],
        "event_kinds": [
            {"kind": kind.value, "label": str(kind.label), "temperature": kind in Event.TEMPERATURES}
            for kind in Event.Kind
        ],
    }


def _batch(batch: Batch, board: Bench) -> Json:
    return {
        "id": batch.pk,
        "code": batch.code,
        "recipe": board.recipe.recipe,
        "version": board.recipe.version,
        "state": batch.state,
        "bars": batch.bars_planned,
        "planned_for": batch.planned_for.isoformat(),
        "lye_mixed_at": _time(batch.lye_mixed_at),
        "poured_at": _time(batch.poured_at),
        "urls": {
            "batch": reverse("batches:batch", args=[batch.pk]),
            "weigh": reverse("batches:weigh", args=[batch.pk]),
            "pack": reverse("batches:pack", args=[batch.pk]),
            "deeds": reverse("batches:deeds", args=[batch.pk]),
            "hello": reverse("batches:hello"),
        },
    }


def _lines(board: Bench) -> list[Json]:
    """The card. A lot that this batch has taken from stays with its line, though it may hold nothing now."""
    taken, today = board.taken_from(), timezone.localdate()
    materials = [card.line.material_id for card in board.lines]
    known = Lot.objects.filter(Q(on_hand__gt=0) | Q(pk__in=list(taken)), material__in=materials)
    lots: defaultdict[int, list[Json]] = defaultdict(list)
    for lot in known.select_related("material").to_use_first():
        lots[lot.material_id].append(_lot(lot, taken[lot.pk], today))
    return [_line(board, card, lots[card.line.material_id]) for card in board.lines]


def _line(board: Bench, card: CardLine, lots: list[Json]) -> Json:
    line, known = card.line, board.recipe.line_for(card.line)
    return {
        "id": line.pk,
        "material": known.name,
        "kind": known.kind,
        "planned": str(line.planned),
        "done": line.done,
        "extra": line.extra,
        "before_the_lye": line.before_the_lye,
        "may_be_left_out": card.may_be_left_out,
        "sap": _sap(known.sap),
        "alkali": AlkaliKind(known.alkali).formula if known.alkali else "",
        "purity": known.purity,
        "dissolved": known.dissolved,
        "acid": known.acid,
        "acid_percent": known.acid_percent,
        "stage": line.stage,
        "when": line.get_stage_display().lower() if line.stage else "",
        "counted": line.material.counted,
        "lots": lots,
    }


def _lot(lot: Lot, taken: Decimal, today: date) -> Json:
    """`sap` and `purity` are those of the lot's own certificate."""
    return {
        "id": lot.pk,
        "code": lot.code,
        "place": lot.place,
        "best_before": lot.best_before.isoformat() if lot.best_before else None,
        "expired": lot.expired_on(today),
        "free": str(max(lot.on_hand - taken, Decimal(0))),
        "sap": _sap(lot.saponification_value) if lot.sap is not None else None,
        "purity": lot.purity_range if lot.purity is not None else None,
        "certified": lot.sap is not None or lot.purity is not None,
    }


def _weighing(weighing: Weighing, jugs: Mapping[int, str]) -> Json:
    return {
        "id": weighing.pk,
        "key": str(weighing.key),
        "line": weighing.line_id,
        "lot": weighing.lot_id,
        "lot_code": weighing.lot.code,
        "quantity": str(weighing.quantity),
        "jug": jugs[weighing.jug_id] if weighing.jug_id else None,
        "on_top": weighing.on_top,
        "at": _time(weighing.at),
        "by": weighing.by_id,
        "by_name": str(weighing.by),
    }


def _event(event: Event) -> Json:
    return {
        "key": str(event.key),
        "kind": event.kind,
        "label": event.get_kind_display(),
        "words": event.words,
        "celsius": None if event.celsius is None else str(event.celsius),
        "at": _time(event.at),
        "by": event.by_id,
        "by_name": str(event.by),
        "photo": reverse("core:photo", args=[event.photo.pk, "full"]) if event.photo else None,
    }


def _sap(sap: Sap | None) -> Json | None:
    return {"low": sap.low, "nominal": sap.nominal, "high": sap.high} if sap else None


def _time(at: datetime | None) -> str | None:
    return timezone.localtime(at).isoformat() if at else None
