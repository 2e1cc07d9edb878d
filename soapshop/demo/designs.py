"""Recipes whose batter is split: one for each way of pouring, all invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material
from recipes.design import Design, Mould, Part
from recipes.models import AmountBy, Destination, LiquidBy, PortionBy, SizeBy, Trace, Version
from recipes.models import Mould as KeptMould
from recipes.portions import Into, PortionDesign
from recipes.services import create_recipe
from shared.cross_section import Technique
from soapshop.core.models import User
from soapshop.demo.moulds import LOAF
from soapshop.demo.stock import LAMPS

FATS = {
    "Olive oil": "48",
    "Coconut oil": "24",
    "Rapeseed oil, low erucic (canola)": "13",
    "Cocoa butter": "10",
    "Castor oil": "5",
}
BASE = {**FATS, "Sodium hydroxide": "100", "Water, distilled": "100", "Paper band": "1"}

THREE_SILLS, KINGFISHER_WEIR, DAMSON_LEDGER, LANTERN_ROW = (
    "Three Sills",
    "Kingfisher Weir",
    "Damson Ledger",
    "Lantern Row",
)


@dataclass(frozen=True, slots=True)
class Jug:
    """A portion: size in the meaning of `size_by`, and what goes into it by name, in % of its fats."""

    name: str
    size_by: PortionBy
    size: str | None = None
    technique: Technique = Technique.LAYER
    into: tuple[tuple[str, str], ...] = ()
    spoons: tuple[tuple[str, str], ...] = ()
    fragrance: str | None = None
    colour: str = ""
    trace: Trace = Trace.ANY
    destination: Destination = Destination.MOULD


@dataclass(frozen=True, slots=True)
class Look:
    """A design by material name; `size` is grams, mm of height or nothing, as `size_by` says."""

    name: str
    parts: Mapping[str, str]
    jugs: tuple[Jug, ...]
    size_by: SizeBy
    bar_colour: str
    note: str
    size: str | None = None
    concentration: str = "33"
    bars: int = 10


LOOKS = (
    Look(
        THREE_SILLS,
        {**BASE, "Hedgerow Honey": "2.2"},
        (
            Jug("Peat", PortionBy.LAYER, "22", colour="#dcb888", trace=Trace.MEDIUM),
            Jug(
                "Limewash",
                PortionBy.LAYER,
                "18",
                into=(("White pigment", "1.2"),),
                fragrance="0",
                trace=Trace.MEDIUM,
            ),
            Jug("Brick", PortionBy.REST, into=(("Brick red pigment", "0.7"),), fragrance="0"),
        ),
        size_by=SizeBy.MOULD,
        size="62",
        bar_colour="#e6d9bb",
        note="Straight layers. Only the lowest is scented: it browns, the white one stays white.",
        concentration="36",
    ),
    Look(
        KINGFISHER_WEIR,
        {**BASE, "Fen Lavender": "2.4"},
        (
            Jug("Foam", PortionBy.SHARE, "50", into=(("White pigment", "0.8"),), trace=Trace.LIGHT),
            Jug("Deep", PortionBy.SHARE, "16", Technique.DROP, into=(("Blue pigment", "0.6"),)),
            Jug("Flash", PortionBy.SHARE, "14", Technique.DROP, spoons=(("Kingfisher mica", "1.5"),)),
            Jug("Crest", PortionBy.REST, technique=Technique.TOP, colour="#dfeceb", trace=Trace.THICK),
        ),
        size_by=SizeBy.MOULD,
        size="66",
        bar_colour="#efe9da",
        note="Two blues dropped into white from a hand's height, the top teased up with a spoon.",
    ),
    Look(
        DAMSON_LEDGER,
        {**BASE, "Wet Slate and Mint": "2.2"},
        (
            Jug("Cream", PortionBy.SHARE, "50", colour="#eadfc4"),
            Jug("Damson", PortionBy.SHARE, "22", Technique.POT, spoons=(("Damson mica", "2"),)),
            Jug("Sage", PortionBy.SHARE, "16", Technique.POT, into=(("Green clay", "1.8"),)),
            Jug("Spare", PortionBy.REST, destination=Destination.KEPT),
        ),
        size_by=SizeBy.BATTER,
        size="1500",
        bar_colour="#eadfc4",
        note="Swirled in the pot and poured in one go. Some plain batter is kept back for the next bowl.",
    ),
    Look(
        LANTERN_ROW,
        {**BASE, "Fen Lavender": "2", LAMPS: "3", "Sea salt, coarse": "1.5"},
        (
            Jug(
                "Night",
                PortionBy.SHARE,
                "52",
                into=(("Blue pigment", "0.7"), ("Charcoal", "0.3")),
                colour="#27375c",
            ),
            Jug("Glow", PortionBy.SHARE, "26", Technique.HANGER, spoons=(("Amber mica", "2"),)),
            Jug("Mist", PortionBy.REST, technique=Technique.HANGER, into=(("White pigment", "1"),)),
        ),
        size_by=SizeBy.FATS,
        size="950",
        bar_colour="#eadfc4",
        note="A hanger drawn through once each way; three lamps to a bar, set with the strip.",
        bars=8,
    ),
)


def draw_up(
    materials: Mapping[str, Material], moulds: Mapping[str, KeptMould], by: User
) -> dict[str, Version]:
    """The designs as first versions, by name."""
    return {
        look.name: create_recipe(
            name=look.name,
            design=_design(look, materials, moulds[LOAF]),
            cure_days=28,
            bar_colour=look.bar_colour,
            note=look.note,
            by=by,
        )
        for look in LOOKS
    }


def _design(look: Look, materials: Mapping[str, Material], loaf: KeptMould) -> Design:
    by_mould = look.size_by == SizeBy.MOULD
    size = Decimal(look.size) if look.size else None
    return Design(
        superfat=Decimal(5),
        liquid_by=LiquidBy.CONCENTRATION,
        liquid_value=Decimal(look.concentration),
        size_by=look.size_by,
        size_grams=None if by_mould else size,
        mould=Mould(None, None, size if by_mould else None, loaf),
        bars=look.bars,
        parts=tuple(Part(materials[name], Decimal(amount)) for name, amount in look.parts.items()),
        portions=tuple(_portion(jug, materials) for jug in look.jugs),
    )


def _portion(jug: Jug, materials: Mapping[str, Material]) -> PortionDesign:
    by_fats = [Into(materials[name], Decimal(amount)) for name, amount in jug.into]
    by_spoon = [Into(materials[name], Decimal(spoons), AmountBy.SPOONS) for name, spoons in jug.spoons]
    return PortionDesign(
        name=jug.name,
        size_by=jug.size_by,
        size=Decimal(jug.size) if jug.size else None,
        colour=jug.colour,
        fragrance=Decimal(jug.fragrance) if jug.fragrance else None,
        trace=jug.trace,
        technique=jug.technique,
        destination=jug.destination,
        additions=(*by_fats, *by_spoon),
    )
