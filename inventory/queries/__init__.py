"""Reads that feed the pages of stock, and what recipes and batches ask of the shelf."""

from inventory.queries.ledger import deliveries, ledger
from inventory.queries.lots import LotPage, expiring, last_prices, lot_page, lots_to_use
from inventory.queries.materials import MaterialPage, material_page, suppliers
from inventory.queries.stockroom import Show, Stockroom, low_stock, stockroom

__all__ = [
    "LotPage",
    "MaterialPage",
    "Show",
    "Stockroom",
    "deliveries",
    "expiring",
    "last_prices",
    "ledger",
    "lot_page",
    "lots_to_use",
    "low_stock",
    "material_page",
    "stockroom",
    "suppliers",
]
