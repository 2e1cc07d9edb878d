"""Materials, who sells them, the lots on the shelf, and the ledger of what came in and went out."""

from inventory.models.kinds import GRAMS, PERCENT, SAP_VALUE, Digits, Kind
from inventory.models.ledger import Movement
from inventory.models.lots import Delivery, Lot, LotQuerySet
from inventory.models.material import Material, MaterialQuerySet, Origin, Supplier

__all__ = [
    "GRAMS",
    "PERCENT",
    "SAP_VALUE",
    "Delivery",
    "Digits",
    "Kind",
    "Lot",
    "LotQuerySet",
    "Material",
    "MaterialQuerySet",
    "Movement",
    "Origin",
    "Supplier",
]
