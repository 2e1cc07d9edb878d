"""What the invented supplier certifies of its invented fragrances. Every figure here is made up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

from inventory.models import Material
from inventory.services.certificates import ListedSubstance, add_certificate
from soapshop.core.models import User

DAYS_OLD = 150
INVENTED = "Invented, as is all of this workshop: these figures are of no real fragrance."


@dataclass(frozen=True, slots=True)
class Certified:
    """Limit in % of the bar, vanillin and shares in % of the fragrance, flash point in °C."""

    fragrance: str
    limit: str
    vanillin: str
    flash_point: str
    allergens: tuple[ListedSubstance, ...]


def _allergen(name: str, cas: str, share: str, limit: str | None = None) -> ListedSubstance:
    return ListedSubstance(
        name, Decimal(share), limit=Decimal(limit) if limit else None, allergen=True, cas=cas
    )


CERTIFICATES = (
    Certified(
        "Hedgerow Honey",
        limit="6.4",
        vanillin="9",
        flash_point="94",
        allergens=(
            _allergen("Benzyl Benzoate", "120-51-4", "11.5"),
            _allergen("Coumarin", "91-64-5", "1.8", limit="0.72"),
            _allergen("Eugenol", "97-53-0", "0.6", limit="1.4"),
        ),
    ),
    Certified(
        "Fen Lavender",
        limit="11.8",
        vanillin="0",
        flash_point="71",
        allergens=(
            _allergen("Linalool", "78-70-6", "31"),
            _allergen("Geraniol", "106-24-1", "0.9", limit="2.1"),
            _allergen("Limonene", "138-86-3", "0.4"),
        ),
    ),
    Certified(
        "Wet Slate and Mint",
        limit="4.9",
        vanillin="0",
        flash_point="66",
        allergens=(_allergen("Limonene", "138-86-3", "2.6"), _allergen("Linalool", "78-70-6", "1.2")),
    ),
)


def file_certificates(materials: Mapping[str, Material], by: User, today: date) -> None:
    """A certificate for each fragrance, older than every pour."""
    for certified in CERTIFICATES:
        add_certificate(
            material=materials[certified.fragrance],
            dated=today - timedelta(days=DAYS_OLD),
            standard="IFRA 51st Amendment",
            limit=Decimal(certified.limit),
            vanillin=Decimal(certified.vanillin),
            flash_point=Decimal(certified.flash_point),
            note=INVENTED,
            substances=certified.allergens,
            key=uuid4(),
            by=by,
        )
