"""What has happened at the invented workshop so far, told through the services that the pages use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from uuid import uuid4

from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import BarMovement, Batch, Cure, Event
from batches.services import bars, cure
from batches.services.events import log_event
from batches.services.plan import plan_batch
from batches.services.pour import pour
from batches.services.weighing import mix_lye
from recipes.formulation import Size
from recipes.models import Version
from soapshop.core.models import User
from soapshop.demo.people import hire
from soapshop.demo.pictures import bar_picture
from soapshop.demo.recipes import write_down
from soapshop.demo.stock import fill_shelves

Out = Callable[[str], object]


@dataclass(frozen=True, slots=True)
class Past:
    """A pour of some days ago, and how many of its bars are sold by now."""

    recipe: str
    days_ago: int
    sold: int = 0


PAST = (
    Past("Plain Cloister", 80),
    Past("Heron Slate", 61, sold=7),
    Past("Rosy Kiln", 47, sold=3),
    Past("Moss Gate", 33, sold=2),
    Past("Wren Oatmeal", 30),
    Past("Dairyman's Block", 24),
    Past("Heron Slate", 15),
    Past("Moss Gate", 6),
    Past("Rosy Kiln", 1),
)
NOT_YET_CUT = 1  # days ago
WEEK = 7

# What was seen in the cure, by days after the pour. The photo of the fourth week is still to be taken.
SEEN = ((7, "A shade darker, edges firm."), (14, "Hardly changes any more."))

# What happened at the bench today, by minutes before the pour: invented.
LYE_STANDS = 74
BENCH = (
    (Event.Kind.ROOM_TEMPERATURE, 80, Decimal(19), ""),
    (Event.Kind.LYE_TEMPERATURE, 19, Decimal(40), ""),
    (Event.Kind.FATS_TEMPERATURE, 18, Decimal(39), ""),
    (Event.Kind.EMULSION, 11, None, ""),
    (Event.Kind.LIGHT_TRACE, 7, None, ""),
    (Event.Kind.NOTE, 5, None, "Scent in, no thickening. Colour even."),
)

# Loss of weight in the cure, as a share of the weight at the cut, by days: invented, of the usual shape.
DRYING = ((1, "0"), (7, "0.045"), (14, "0.071"), (21, "0.088"), (28, "0.098"), (42, "0.106"))


def make_demo(out: Out) -> None:
    """Makes the workshop once and prints what today's pour did; later it only says that it is there."""
    if get_user_model().objects.exists():
        out("The demo workshop is there already.")
        return
    with transaction.atomic():
        owner, maker = hire()
        versions = write_down(fill_shelves(owner, timezone.localdate()), owner)
        for past in PAST:
            _pour_long_ago(versions[past.recipe], past, maker)
        plan_batch(
            version=versions["Wren Oatmeal"],
            size=Size(),
            planned_for=timezone.localdate() + timedelta(days=1),
            key=uuid4(),
            by=maker,
        )
    _tell(_pour_today(versions["Heron Slate"], maker), out)


def _pour_today(version: Version, by: User) -> Batch:
    batch = plan_batch(
        version=version, size=Size(bars=12), planned_for=timezone.localdate(), key=uuid4(), by=by
    )
    _stand_at_the_bench(batch, by)
    colour = FrozenRecipe.from_json(batch.frozen).bar_colour
    return pour(
        batch=batch,
        key=uuid4(),
        by=by,
        as_planned=True,
        words="Light trace after four minutes, poured at 38 °C. Smooth.",
        photo=bar_picture(colour, days=0),
    )


def _stand_at_the_bench(batch: Batch, by: User) -> None:
    now = timezone.now()
    mix_lye(batch=batch, by=by, at=now - timedelta(minutes=LYE_STANDS))
    for kind, minutes, celsius, words in BENCH:
        log_event(
            batch=batch,
            kind=kind,
            key=uuid4(),
            by=by,
            at=now - timedelta(minutes=minutes),
            celsius=celsius,
            words=words,
        )


def _pour_long_ago(version: Version, past: Past, by: User) -> None:
    day = timezone.localdate() - timedelta(days=past.days_ago)
    batch = plan_batch(version=version, size=Size(), planned_for=day, key=uuid4(), by=by)
    poured_at = timezone.make_aware(datetime.combine(day, time(10, 20)))
    batch = pour(batch=batch, key=uuid4(), by=by, at=poured_at, as_planned=True)
    if past.days_ago > NOT_YET_CUT:
        _cure(batch.cure, batch.bars_planned, past, by)


def _cure(record: Cure, cut_into: int, past: Past, by: User) -> None:
    cut_on = record.started_on + timedelta(days=1)
    cure.cut(
        cure=record,
        on=cut_on,
        bars=cut_into,
        trimmings=Decimal(46),
        key=uuid4(),
        by=by,
        place="rack, top shelf",
    )
    _note(record, "Cut clean. Ends kept for the sink.", cut_on, by)
    for days, words in SEEN:
        if days < past.days_ago:
            _note(record, words, record.started_on + timedelta(days=days), by)
    _weigh_in(record, past, by)
    _turn(record, past)
    if past.sold:
        bars.take_bars(
            cure=record,
            count=past.sold,
            kind=BarMovement.Kind.SOLD,
            key=uuid4(),
            by=by,
            reason="Saturday market",
        )


def _turn(record: Cure, past: Past) -> None:
    """Each week since the cut, but not today: the service notes what is turned now."""
    weeks = (past.days_ago - 2) // WEEK
    if weeks > 0:
        turned_on = record.started_on + timedelta(days=1 + WEEK * weeks)
        Cure.objects.filter(pk=record.pk).update(turned_on=turned_on)


def _note(record: Cure, words: str, day: date, by: User) -> None:
    frozen = FrozenRecipe.from_json(record.batch.frozen)
    days = (day - record.started_on).days
    cure.add_note(
        cure=record,
        words=words,
        photo=bar_picture(frozen.bar_colour, days=days),
        key=uuid4(),
        by=by,
        at=timezone.make_aware(datetime.combine(day, time(9, 5))),
    )


def _weigh_in(record: Cure, past: Past, by: User) -> None:
    frozen = FrozenRecipe.from_json(record.batch.frozen)
    fresh = 3 * frozen.batter / frozen.bars
    for day, lost in DRYING:
        if day <= past.days_ago:
            cure.weigh_in(
                cure=record,
                on=record.started_on + timedelta(days=day),
                grams=(fresh * (1 - Decimal(lost))).quantize(Decimal(1)),
                bars=3,
                key=uuid4(),
                by=by,
            )


def _tell(batch: Batch, out: Out) -> None:
    frozen = FrozenRecipe.from_json(batch.frozen)
    out(f"\nPoured batch {batch.code}, {frozen.recipe} version {frozen.version}, {frozen.bars} bars:")
    for line in frozen.lines:
        for use in line.used:
            out(f"  {use.quantity:>9} g  {line.name:<36} from lot {use.lot}")
    out(
        f"  Superfat {batch.superfat:.1f} %, likely {batch.superfat_likely_low:.1f} to "
        f"{batch.superfat_likely_high:.1f} %: {batch.verdict}."
    )
    out(f"  Stock has fallen by these weights. Cure until {batch.cure.ready_on:%a %d %b %Y}.")
