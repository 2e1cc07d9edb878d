"""What stands on the shelves of the invented workshop, and who brought it. All figures are made up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

from inventory.models import Kind, Material, Supplier
from inventory.services.materials import create_material, update_material
from inventory.services.receiving import ReceivedLine, receive
from inventory.services.suppliers import create_supplier
from soapshop.core.models import User

OILS, LYE, SCENT = "Hollin Vale Oils", "Brackenford Lye and Lab", "Petrichor Lane Scents"

SUPPLIERS = {
    OILS: "Invented. Drums and pails of fats, Tuesdays.",
    LYE: "Invented. Alkalis with a certificate for every lot.",
    SCENT: "Invented. Fragrances, clays and boxes.",
}


@dataclass(frozen=True, slots=True)
class Own:
    """A material of the workshop's own, beside the reference fats."""

    kind: Kind
    name: str
    inci_name: str
    colour: str = ""
    density: str | None = None
    piece_grams: str | None = None
    piece_length: str | None = None


LAMPS = "Amber lamps, melt-and-pour"

OWN_MATERIALS = (
    Own(Kind.FRAGRANCE, "Wet Slate and Mint", "Parfum"),
    Own(Kind.FRAGRANCE, "Hedgerow Honey", "Parfum"),
    Own(Kind.FRAGRANCE, "Fen Lavender", "Parfum"),
    Own(Kind.COLOUR, "Charcoal", "CI 77268:1", "#4a5058", density="0.3"),
    Own(Kind.COLOUR, "Green clay", "Illite", "#8fa07c", density="0.6"),
    Own(Kind.COLOUR, "Rose clay", "Kaolin, CI 77491", "#c98f80", density="0.6"),
    Own(Kind.COLOUR, "White pigment", "CI 77891", "#f4f0e6", density="0.8"),
    Own(Kind.COLOUR, "Blue pigment", "CI 77007", "#2c5aa0", density="0.7"),
    Own(Kind.COLOUR, "Brick red pigment", "CI 77491", "#a5472f", density="0.9"),
    Own(Kind.COLOUR, "Kingfisher mica", "Mica, CI 77891", "#1f8a93", density="0.35"),
    Own(Kind.COLOUR, "Amber mica", "Mica, CI 77491", "#d0892b", density="0.35"),
    Own(Kind.COLOUR, "Damson mica", "Mica, CI 77742", "#6d3f74", density="0.35"),
    Own(Kind.ADDITIVE, "Oat flour, fine", "Avena Sativa Kernel Flour"),
    Own(
        Kind.EMBED,
        LAMPS,
        "Glycerin, Aqua, Sodium Stearate, Sodium Laurate",
        "#f2c14e",
        piece_grams="1.6",
        piece_length="3.5",
    ),
    Own(Kind.TOPPING, "Sea salt, coarse", "Maris Sal", "#fbfaf5"),
    Own(Kind.TOPPING, "Poppy seed", "Papaver Somniferum Seed", "#3b3f4a"),
    Own(Kind.PACKAGING, "Paper band", ""),
)


LYE_SOLUTION = "Sodium hydroxide solution, 50 %"


@dataclass(frozen=True, slots=True)
class Container:
    """One container as it came: days ago, grams (or pieces), price, days it still keeps."""

    supplier: str
    material: str
    days_ago: int
    grams: int
    cost: str
    keeps: int | None
    place: str
    sap: str | None = None
    purity: str | None = None


CONTAINERS = (
    Container(OILS, "Olive oil", 96, 15000, "118.50", 210, "shelf A1", sap="190.4"),
    Container(OILS, "Olive oil", 12, 10000, "83.00", 420, "shelf A1"),
    Container(OILS, "Coconut oil", 96, 12000, "58.80", 300, "shelf A2", sap="256.1"),
    Container(OILS, "Coconut oil", 12, 5000, "26.40", 520, "shelf A2"),
    Container(OILS, "Shea butter, unrefined", 74, 4000, "46.00", 38, "shelf B1"),
    Container(OILS, "Rapeseed oil, low erucic (canola)", 60, 8000, "30.40", 240, "shelf A3"),
    Container(OILS, "Cocoa butter", 60, 2500, "41.25", 410, "shelf B1"),
    Container(OILS, "Castor oil", 96, 3000, "27.60", 330, "shelf B2"),
    Container(OILS, "Beef tallow", 33, 6000, "33.00", 160, "cold box"),
    Container(LYE, "Sodium hydroxide", 96, 10000, "39.00", 620, "lye cupboard", purity="98.8"),
    Container(LYE, "Water, distilled", 33, 20000, "9.80", None, "floor"),
    Container(LYE, LYE_SOLUTION, 33, 5000, "14.50", 310, "lye cupboard", purity="50.2"),
    Container(LYE, "Vinegar, distilled", 33, 5000, "6.20", 700, "floor"),
    Container(OILS, "Goat milk", 33, 3000, "11.70", 120, "freezer"),
    Container(SCENT, "Wet Slate and Mint", 74, 1000, "52.00", 300, "scent drawer"),
    Container(SCENT, "Hedgerow Honey", 74, 500, "31.00", 55, "scent drawer"),
    Container(SCENT, "Fen Lavender", 33, 500, "44.50", 560, "scent drawer"),
    Container(SCENT, "Charcoal", 74, 500, "14.00", None, "colour box"),
    Container(SCENT, "Green clay", 74, 1000, "9.50", None, "colour box"),
    Container(SCENT, "Rose clay", 74, 1000, "11.00", None, "colour box"),
    Container(SCENT, "White pigment", 74, 250, "7.40", None, "colour box"),
    Container(SCENT, "Blue pigment", 74, 100, "6.10", None, "colour box"),
    Container(SCENT, "Brick red pigment", 74, 100, "5.80", None, "colour box"),
    Container(SCENT, "Kingfisher mica", 74, 100, "9.60", None, "colour box"),
    Container(SCENT, "Amber mica", 74, 100, "9.60", None, "colour box"),
    Container(SCENT, "Damson mica", 74, 100, "9.90", None, "colour box"),
    Container(SCENT, LAMPS, 74, 160, "28.80", 700, "embed tins"),
    Container(SCENT, "Sea salt, coarse", 74, 500, "2.40", None, "shelf C1"),
    Container(SCENT, "Poppy seed", 74, 250, "3.10", 240, "shelf C1"),
    Container(SCENT, "Oat flour, fine", 33, 1000, "4.20", 85, "shelf C1"),
    Container(SCENT, "Paper band", 33, 500, "36.00", None, "shelf C2"),
)

REORDER = {
    "Olive oil": 8000,
    "Coconut oil": 5000,
    "Shea butter, unrefined": 1500,
    "Castor oil": 800,
    "Cocoa butter": 1500,
    "Sodium hydroxide": 2500,
    "Wet Slate and Mint": 400,
    "Hedgerow Honey": 400,
}


def fill_shelves(by: User, today: date) -> dict[str, Material]:
    """Suppliers, own materials and deliveries; returns the materials by name."""
    suppliers = {name: create_supplier(name=name, note=note, by=by) for name, note in SUPPLIERS.items()}
    for own in OWN_MATERIALS:
        create_material(
            kind=own.kind,
            name=own.name,
            inci_name=own.inci_name,
            colour=own.colour,
            density=_decimal(own.density),
            piece_grams=_decimal(own.piece_grams),
            piece_length=_decimal(own.piece_length),
            by=by,
        )
    create_material(
        kind=Kind.ALKALI,
        name=LYE_SOLUTION,
        inci_name="Sodium Hydroxide",
        alkali="naoh",
        dissolved=True,
        purity_low=Decimal(49),
        purity_high=Decimal(51),
        by=by,
    )
    materials = {material.name: material for material in Material.objects.all()}
    for name, grams in REORDER.items():
        update_material(material=materials[name], reorder_level=Decimal(grams), by=by)
    _deliver(suppliers, materials, by, today)
    return materials


def _deliver(
    suppliers: Mapping[str, Supplier], materials: Mapping[str, Material], by: User, today: date
) -> None:
    deliveries = sorted({(c.days_ago, c.supplier) for c in CONTAINERS}, reverse=True)
    for days_ago, supplier in deliveries:
        came = [c for c in CONTAINERS if (c.days_ago, c.supplier) == (days_ago, supplier)]
        receive(
            supplier=suppliers[supplier],
            received_on=today - timedelta(days=days_ago),
            lines=[_line(container, materials, today) for container in came],
            key=uuid4(),
            by=by,
        )


def _line(container: Container, materials: Mapping[str, Material], today: date) -> ReceivedLine:
    return ReceivedLine(
        material=materials[container.material],
        quantity=Decimal(container.grams),
        cost=Decimal(container.cost),
        place=container.place,
        best_before=today + timedelta(days=container.keeps) if container.keeps else None,
        sap=_decimal(container.sap),
        sap_uncertainty=Decimal("1.0") if container.sap else None,
        purity=_decimal(container.purity),
        purity_uncertainty=Decimal("0.5") if container.purity else None,
    )


def _decimal(figure: str | None) -> Decimal | None:
    return None if figure is None else Decimal(figure)
