"""How long a soap cures as a rule in this workshop, by what it is made of. A recipe may have its own days."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes.design import Design, Part
from shared.chemistry import AlkaliKind
from soapshop.core.models import Workshop

# Soap very high in olive oil is given months (common practice, no source). Where 'very high' begins is said
# nowhere; this bound, in per cent of the fats, is ours.
MUCH_OLIVE = Decimal(70)
HALF = Decimal(50)

OLIVE = "olive"
OLIVE_TREE = "olea europaea"


@dataclass(frozen=True, slots=True)
class UsualCure:
    """Days from the cut, and the kind of soap they are for in words; none for most soap.

    What decided it in per cent: `potash` of the alkali, `olive` of the fats.
    """

    days: int
    potash: Decimal
    olive: Decimal
    kind: str = ""


def usual_cure(design: Design, workshop: Workshop) -> UsualCure:
    """The days that the workshop gives to soap of this kind; potash soap is that whatever its fats."""
    potash = _share(design.of(Kind.ALKALI), _is_potash)
    olive = _share(design.of(Kind.FAT), _is_olive)
    if potash > HALF:
        return UsualCure(workshop.cure_days_potash, potash, olive, gettext("potash soap"))
    if olive >= MUCH_OLIVE:
        return UsualCure(workshop.cure_days_olive, potash, olive, gettext("soap very high in olive oil"))
    return UsualCure(workshop.cure_days, potash, olive)


def _share(parts: Iterable[Part], wanted: Callable[[Material], bool]) -> Decimal:
    """Per cent of the parts' amounts that is of the wanted materials."""
    amounts = [(part.amount, wanted(part.material)) for part in parts]
    total = sum((amount for amount, _ in amounts), Decimal(0))
    return 100 * sum((amount for amount, is_wanted in amounts if is_wanted), Decimal(0)) / total


def _is_potash(material: Material) -> bool:
    return material.alkali == AlkaliKind.KOH


def _is_olive(material: Material) -> bool:
    """By the catalogue, by its botanical name, or by the name that the maker gave it."""
    named = OLIVE in material.name.lower() or OLIVE_TREE in material.inci_name.lower()
    return material.reference == OLIVE or named
