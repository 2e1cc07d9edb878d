"""Batches that keep some of their batter back, for the tests of what becomes of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from uuid import uuid4

from batches.models import Batch
from batches.services.pour import pour
from inventory.models import Lot
from inventory.queries.made import base_parts
from recipes.design import Design, Part, design_of
from recipes.models import Destination, PortionBy, Version
from recipes.portions import Into, PortionDesign
from recipes.services import create_recipe
from tests.batches.bench import Bench
from tests.factories import LotFactory, MaterialFactory


def split_design(shop: Bench, *parts: Part, kept: int = 20) -> Design:
    """The four oils in two portions: light goes into the mould, so many per cent of dark are kept back."""
    if "Charcoal" not in shop.materials:
        shop.materials["Charcoal"] = MaterialFactory(name="Charcoal", colour_=True, colour="#3a3a3a")
        shop.lots["Charcoal"] = LotFactory(material=shop.materials["Charcoal"], quantity=500, by=shop.maker)
    whole = design_of(Version.objects.with_ingredients().get(pk=shop.version.pk))
    light = PortionDesign("Light", PortionBy.REST)
    dark = PortionDesign(
        "Dark",
        PortionBy.SHARE,
        Decimal(kept),
        colour="#444444",
        destination=Destination.KEPT,
        additions=(Into(shop.materials["Charcoal"], Decimal(1)),),
    )
    return replace(whole, parts=(*whole.parts, *parts), portions=(light, dark))


def split_batch(shop: Bench, *parts: Part, kept: int = 20) -> Batch:
    """A batch of that, poured as planned."""
    name = f"Two colours {Version.objects.count()}"
    design = split_design(shop, *parts, kept=kept)
    version = create_recipe(name=name, design=design, cure_days=28, by=shop.maker)
    return pour(batch=shop.plan(version=version), key=uuid4(), by=shop.maker, as_planned=True)


def kept_lot(batch: Batch) -> Lot:
    """What it kept back, as it stands on the shelf now."""
    return Lot.objects.select_related("material").get(jug__batch=batch)


def held(lots: Iterable[tuple[Lot, Decimal]]) -> dict[str, Decimal]:
    """Grams or pieces by lot code."""
    return {lot.code: grams for lot, grams in lots}


def within(lot: Lot) -> dict[str, Decimal]:
    """All that is in a lot that was made here, down to what was bought."""
    return held(base_parts(lot))


def weighed_in(batch: Batch) -> dict[str, Decimal]:
    """What was weighed for a batch, by lot code."""
    total: dict[str, Decimal] = {}
    for line in batch.lines.prefetch_related("weighings__lot"):
        for weighing in line.weighings.all():
            total[weighing.lot.code] = total.get(weighing.lot.code, Decimal(0)) + weighing.quantity
    return total
