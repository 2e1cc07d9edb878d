"""Reads that feed the pages of stock, and what recipes and batches ask of the shelf."""

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
from inventory.queries.materials import MaterialPage, material_page, suppliers
from inventory.queries.stockroom import Show, Stockroom, low_stock, stockroom

__all__ = [
    "LotPage",
    "MaterialPage",
    "SapDoubt",
    "SapFromAcids",
    "Show",
    "Stockroom",
    "deliveries",
    "expiring",
    "last_prices",
    "ledger",
    "lot_page",
    "lots_of",
    "lots_to_label",
    "lots_to_use",
    "low_stock",
    "material_page",
    "sap_doubt",
    "sap_from_acids",
    "stockroom",
    "suppliers",
]
