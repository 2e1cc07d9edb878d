"""Reads that feed the pages of stock, and what recipes and batches ask of the shelf."""

from inventory.queries.behaviour import misbehaved
from inventory.queries.certificates import certificates_of, current_certificates
from inventory.queries.doubts import SapDoubt, SapFromAcids, sap_doubt, sap_from_acids
from inventory.queries.ledger import deliveries, ledger
from inventory.queries.lots import (
    LotPage,
    expiring,
    last_prices,
    lot_page,
    lots_of,
    lots_to_label,
    lots_to_use,
)
from inventory.queries.made import MadeOf, base_parts, made_of, parts_of, share, shares, went_into
from inventory.queries.materials import MaterialPage, material_page, suppliers
from inventory.queries.stockroom import Show, Stockroom, low_stock, stockroom

__all__ = [
    "LotPage",
    "MadeOf",
    "MaterialPage",
    "SapDoubt",
    "SapFromAcids",
    "Show",
    "Stockroom",
    "base_parts",
    "certificates_of",
    "current_certificates",
    "deliveries",
    "expiring",
    "last_prices",
    "ledger",
    "lot_page",
    "lots_of",
    "lots_to_label",
    "lots_to_use",
    "low_stock",
    "made_of",
    "material_page",
    "misbehaved",
    "parts_of",
    "sap_doubt",
    "sap_from_acids",
    "share",
    "shares",
    "stockroom",
    "suppliers",
    "went_into",
]
