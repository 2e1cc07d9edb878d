"""The moulds of the invented workshop. Inner sides in mm."""

from __future__ import annotations

from decimal import Decimal

from recipes.models import Mould, Shape
from recipes.services.moulds import MouldFields, create_mould
from soapshop.core.models import User

LOAF, SLAB, TUBE, CAVITIES = "Beech loaf", "Larder slab", "Drainpipe", "Ten ovals"

MOULDS: tuple[MouldFields, ...] = (
    {
        "name": LOAF,
        "shape": Shape.LOAF,
        "length": Decimal(252),
        "width": Decimal(82),
        "depth": Decimal(90),
        "liner": Decimal(1),
        "bars": 10,
        "trim": Decimal(2),
        "kerf": Decimal(1),
        "note": "Lined with baking paper.",
    },
    {
        "name": SLAB,
        "shape": Shape.SLAB,
        "length": Decimal(340),
        "width": Decimal(240),
        "depth": Decimal(45),
        "bars": 6,
        "rows": 3,
        "trim": Decimal(3),
        "kerf": Decimal(1),
    },
    {
        "name": TUBE,
        "shape": Shape.TUBE,
        "diameter": Decimal(74),
        "depth": Decimal(300),
        "bars": 11,
        "trim": Decimal(4),
        "note": "Stands upright in a bucket of sand.",
    },
    {
        "name": CAVITIES,
        "shape": Shape.CAVITIES,
        "cavities": 10,
        "millilitres": Decimal(95),
        "depth": Decimal(32),
    },
)


def shelve_moulds(by: User) -> dict[str, Mould]:
    """The moulds by name."""
    return {fields["name"]: create_mould(by=by, **fields) for fields in MOULDS}
