"""A batter in five portions: scented, unscented, swirled in, kept back, and the rest."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from uuid import uuid4

from batches.models import Batch, Jug
from batches.queries.weighing import Bench as Board
from batches.queries.weighing import Step, to_weigh
from batches.queries.weighing import bench as board_of
from batches.services.weighing import mix_lye, weigh
from inventory.models import Material
from recipes.models import Destination, PortionBy, Version
from recipes.portions import Into, PortionDesign
from recipes.services import save_look
from shared.cross_section import Technique
from tests.batches.bench import Bench, bench
from tests.factories import LotFactory, MaterialFactory

FIVE = ("Dark", "White", "Green", "Kept", "Top")


def split_bench(**more: int) -> Bench:
    """The bench with two colours and the recipe in five portions: 2 % fragrance in all but the white."""
    return dressed(bench(**more))


def dressed(shop: Bench) -> Bench:
    """A bench of before, now with two colours and its recipe in five portions."""
    for name, colour in (("Coal", "#3a3f44"), ("Leaf", "#6f8f5a")):
        shop.materials[name] = MaterialFactory(name=name, kind="colour", colour=colour)
        shop.lots[name] = LotFactory(material=shop.materials[name], quantity=100, by=shop.maker)
    version = Version.objects.with_ingredients().get(pk=shop.version.pk)
    return replace(shop, version=save_look(version=version, portions=five(shop.materials), by=shop.maker))


def five(materials: dict[str, Material]) -> tuple[PortionDesign, ...]:
    return (
        PortionDesign("Dark", PortionBy.SHARE, Decimal(30), additions=(Into(materials["Coal"], Decimal(1)),)),
        PortionDesign("White", PortionBy.SHARE, Decimal(25), fragrance=Decimal(0)),
        PortionDesign(
            "Green",
            PortionBy.SHARE,
            Decimal(15),
            technique=Technique.DROP,
            additions=(Into(materials["Leaf"], Decimal("0.8")),),
        ),
        PortionDesign("Kept", PortionBy.SHARE, Decimal(10), destination=Destination.KEPT),
        PortionDesign("Top"),
    )


def planned(shop: Bench) -> Batch:
    return shop.plan(version=Version.objects.with_ingredients().get(pk=shop.version.pk))


def with_batter(shop: Bench) -> Batch:
    """A batch whose batter stands ready to be split."""
    batch = planned(shop)
    while (board := board_of(Batch.objects.get(pk=batch.pk))).step != Step.SPLIT:
        if board.step == Step.LYE:
            mix_lye(batch=batch, by=shop.maker)
            continue
        card = board.find(None)
        assert card
        item = to_weigh(board, card)
        assert item.lot
        weigh(line=card.line, lot=item.lot, quantity=item.amount, key=uuid4(), by=shop.maker)
    batch.refresh_from_db()
    return batch


def look(batch: Batch) -> Board:
    return board_of(Batch.objects.get(pk=batch.pk))


def jug(batch: Batch, name: str) -> Jug:
    return Jug.objects.get(batch=batch, name=name)


def to_take(batch: Batch) -> dict[str, Decimal | None]:
    """Grams of batter by jug: what it holds, or is to get."""
    split = look(batch).split
    assert split
    return {card.jug.name: card.grams for card in split.cards}
