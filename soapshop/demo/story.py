"""What has happened at the invented workshop so far, told through the services that the pages use."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import Batch, Event
from batches.services.events import log_event
from batches.services.plan import plan_batch
from batches.services.pour import pour
from batches.services.weighing import mix_lye
from recipes.formulation import Size
from recipes.models import Version
from soapshop.core.models import User
from soapshop.demo.certificates import file_certificates
from soapshop.demo.designs import KINGFISHER_WEIR, draw_up
from soapshop.demo.moulds import shelve_moulds
from soapshop.demo.past import PAST, pour_long_ago
from soapshop.demo.people import hire
from soapshop.demo.pictures import bar_picture
from soapshop.demo.recipes import write_down
from soapshop.demo.stock import fill_shelves

Out = Callable[[str], object]

# Recipes that are still to be poured, by days from now.
PLANNED = (("Wren Oatmeal", 1), (KINGFISHER_WEIR, 3))

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


def make_demo(out: Out) -> None:
    """Makes the workshop once and prints what today's pour did; later it only says that it is there."""
    if get_user_model().objects.exists():
        out("The demo workshop is there already.")
        return
    with transaction.atomic():
        owner, maker = hire()
        versions = _write_recipes(owner)
        for past in PAST:
            pour_long_ago(versions[past.recipe], past, maker)
        for recipe, days in PLANNED:
            plan_batch(
                version=versions[recipe],
                size=Size(),
                planned_for=timezone.localdate() + timedelta(days=days),
                key=uuid4(),
                by=maker,
            )
    _tell(_pour_today(versions["Heron Slate"], maker), out)


def _write_recipes(owner: User) -> dict[str, Version]:
    today = timezone.localdate()
    materials = fill_shelves(owner, today)
    file_certificates(materials, owner, today)
    moulds = shelve_moulds(owner)
    return write_down(materials, moulds, owner) | draw_up(materials, moulds, owner)


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
