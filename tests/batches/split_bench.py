"""A workshop whose batter is split: five portions, one kept back, with embeds and a topping on top."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

from batches.models import Batch
from batches.services.weighing import mix_lye, weigh
from batches.splitting import Splitting
from inventory.models import Material
from recipes.design import Design, Part
from recipes.models import Destination, LiquidBy, PortionBy, SizeBy, Stage
from recipes.portions import Into, PortionDesign
from recipes.services import create_recipe
from shared.cross_section import Technique
from tests.batches.bench import SHARES, Bench, bench
from tests.factories import LotFactory, MaterialFactory

NAMES = ["Base", "Charcoal", "Rose", "Cream", "For embeds"]


def split_bench() -> Bench:
    """The bench with a recipe of 1 kg of fats in five portions; two of them with a colour."""
    shop = bench()
    made = {
        "Black": MaterialFactory(name="Black", colour_=True),
        "Pink": MaterialFactory(name="Pink", colour_=True),
        "Bees": MaterialFactory(name="Bees", embed=True),
        "Petals": MaterialFactory(name="Petals", topping=True),
    }
    materials = {**shop.materials, **made}
    lots = {name: LotFactory(material=each, quantity=500, by=shop.maker) for name, each in made.items()}
    amounts = {**SHARES, "Lye": 100, "Water": 100, "Scent": 2, "Bees": 1, "Petals": 1}
    design = Design(
        superfat=Decimal(5),
        liquid_by=LiquidBy.CONCENTRATION,
        liquid_value=Decimal(33),
        size_by=SizeBy.FATS,
        size_grams=Decimal(1000),
        mould=None,
        bars=10,
        parts=tuple(Part(materials[name], Decimal(amount)) for name, amount in amounts.items()),
        portions=_portions(materials["Black"], materials["Pink"]),
    )
    version = create_recipe(name="Five jugs", design=design, cure_days=28, by=shop.maker)
    return Bench(shop.maker, version, materials, {**shop.lots, **lots})


def _portions(black: Material, pink: Material) -> tuple[PortionDesign, ...]:
    none = Decimal(0)
    return (
        PortionDesign("Base"),
        PortionDesign(
            "Charcoal",
            PortionBy.SHARE,
            Decimal(20),
            additions=(Into(black, Decimal(2)),),
            technique=Technique.DROP,
        ),
        PortionDesign("Rose", PortionBy.SHARE, Decimal(15), additions=(Into(pink, Decimal(1)),)),
        PortionDesign("Cream", PortionBy.SHARE, Decimal(10), fragrance=none),
        PortionDesign(
            "For embeds",
            PortionBy.GRAMS,
            Decimal(100),
            fragrance=none,
            destination=Destination.KEPT,
        ),
    )


def weigh_bucket(shop: Bench, batch: Batch) -> None:
    """All that goes into the whole batter as planned, the lye in its place."""
    for line in batch.lines.exclude(stage__in=[Stage.JUG, Stage.TOP]).select_related("material"):
        lot = shop.lots[line.material.name]
        weigh(line=line, lot=lot, quantity=line.planned, key=uuid4(), by=shop.maker)
    mix_lye(batch=batch, by=shop.maker)


def told_of(split: Splitting) -> dict[str, tuple[Decimal | None, dict[str, Decimal]]]:
    """Of each jug the batter that it holds, and what was weighed into it."""
    return {
        card.jug.name: (card.jug.grams, {stir.line.material.name: stir.weighed for stir in card.stir})
        for card in split.cards
    }
