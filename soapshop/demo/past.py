"""The pours of the last weeks: when, of what, and what was seen at the bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from batches.models import Batch, Event, Line
from batches.services.events import log_event
from batches.services.jugs import fill_as_planned
from batches.services.plan import plan_batch
from batches.services.pour import pour
from batches.services.shares import draw_from_lots
from batches.services.small_batch import pour_kept
from batches.services.weighing import mix_lye, weigh
from inventory.models import Kind, Lot
from recipes.formulation import Size
from recipes.models import Mould, Stage, Version
from soapshop.core.models import User
from soapshop.demo.cures import Cured, cure_since, in_mould
from soapshop.demo.designs import DAMSON_LEDGER, KINGFISHER_WEIR, LANTERN_ROW, THREE_SILLS

# Minutes before the pour.
LYE_MIXED, WEIGHED, SCENTED = 64, 40, 9

NOT_YET_CUT = 1  # days ago


@dataclass(frozen=True, slots=True)
class Past:
    """A pour of some days ago and its cure; `seen` by minutes before the pour, `density` in g/mL."""

    recipe: str
    days_ago: int
    cured: Cured = field(default_factory=Cured)
    seen: Mapping[Event.Kind, int] = field(default_factory=dict)
    density: str = ""


CALM = {Event.Kind.EMULSION: 14, Event.Kind.LIGHT_TRACE: 4}
FAST = {Event.Kind.EMULSION: 14, Event.Kind.ACCELERATION: 5, Event.Kind.THICK_TRACE: 2}
FASTER = {Event.Kind.EMULSION: 12, Event.Kind.LIGHT_TRACE: 8, Event.Kind.ACCELERATION: 3}

BROWNED = "The scented layer browns, the white one keeps its edge."

PAST = (
    Past("Plain Cloister", 80),
    Past("Heron Slate", 61, Cured(sold=7, pebbles=24), density="0.985"),
    Past("Rosy Kiln", 47, Cured(sold=3)),
    Past(THREE_SILLS, 43, Cured(sold=4, turns={"Peat": 31}, words=BROWNED), FAST, "0.972"),
    Past(KINGFISHER_WEIR, 37, Cured(sold=2, turns={"Deep": 1, "Flash": 2}), CALM, "0.991"),
    Past("Moss Gate", 33, Cured(sold=2)),
    Past("Wren Oatmeal", 30, Cured(turns={"": 27}), FASTER),
    Past(THREE_SILLS, 29, Cured(turns={"Peat": 28}, words=BROWNED), CALM, "0.980"),
    Past(
        DAMSON_LEDGER,
        27,
        Cured(turns={"Damson": -3, "Sage": -2}, words="The damson fades to grey-violet."),
        CALM,
        "0.995",
    ),
    Past("Dairyman's Block", 24),
    Past(
        LANTERN_ROW,
        19,
        Cured(
            turns={"Glow": 1},
            as_meant="The night is even and dark; all lamps came whole through the cutter.",
            otherwise="Draw the hanger at light trace, a minute sooner: the glow stayed in lumps.",
        ),
        CALM,
        "0.988",
    ),
    Past("Heron Slate", 15, density="0.978"),
    Past(KINGFISHER_WEIR, 9, Cured(turns={"Deep": 1}), CALM, "0.984"),
    Past("Moss Gate", 6),
    Past("Rosy Kiln", 1),
)

SPARE_BARS = 2  # of what was kept back, and how many minutes later it was poured
POURED_AGAIN = 35


def pour_long_ago(version: Version, past: Past, by: User) -> None:
    """Plan, weigh, pour and cure a batch as if it had been done then."""
    day = timezone.localdate() - timedelta(days=past.days_ago)
    batch = plan_batch(version=version, size=Size(), planned_for=day, key=uuid4(), by=by)
    poured_at = timezone.make_aware(datetime.combine(day, time(10, 20)))
    if past.seen or past.density:
        _stand_at_the_bench(batch, past, poured_at, by)
    mould = version.mould
    height = _height(batch, mould, past.density) if mould and past.density else None
    batch = pour(batch=batch, key=uuid4(), by=by, at=poured_at, as_planned=True, filled_height=height)
    if past.days_ago > NOT_YET_CUT:
        cure_since(batch, past.cured, by)
    for lot in Lot.objects.filter(jug__batch=batch):
        at = poured_at + timedelta(minutes=POURED_AGAIN)
        cure_since(pour_kept(lot=lot, bars=SPARE_BARS, key=uuid4(), by=by, at=at), Cured(), by)


def _stand_at_the_bench(batch: Batch, past: Past, poured_at: datetime, by: User) -> None:
    mix_lye(batch=batch, by=by, at=poured_at - timedelta(minutes=LYE_MIXED))
    for line in batch.lines.exclude(stage__in=[Stage.JUG, Stage.TOP]).select_related("material"):
        before = SCENTED if line.kind == Kind.FRAGRANCE else WEIGHED
        _weigh_as_planned(line, poured_at - timedelta(minutes=before), by)
    fill_as_planned(batch=batch, at=poured_at - timedelta(minutes=SCENTED), by=by, key=uuid4())
    for kind, minutes in past.seen.items():
        log_event(batch=batch, kind=kind, key=uuid4(), by=by, at=poured_at - timedelta(minutes=minutes))


def _weigh_as_planned(line: Line, at: datetime, by: User) -> None:
    drawn = draw_from_lots(line, line.planned, timezone.localdate(at))
    for number, (lot, grams) in enumerate(drawn, 1):
        more = number < len(drawn)
        weigh(line=line, lot=lot, quantity=grams, key=uuid4(), by=by, at=at, more_to_come=more)


def _height(batch: Batch, mould: Mould, density: str) -> Decimal:
    """How high it stands in its mould, in mm, for a batter so dense in g/mL."""
    millilitres = in_mould(batch) / Decimal(density)
    return (millilitres / Decimal(mould.vessel.volume_at(1.0))).quantize(Decimal("0.1"))
