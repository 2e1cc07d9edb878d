"""Fragrance allergens that the European Union wants named on a label, and the names it wants for them.

Regulation (EC) No 1223/2009, Annex III, as changed by Regulation (EU) 2023/1545. The table is
``shared/data/allergens.csv``.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from shared.tables import rows

_CAS = re.compile(r"([0-9]{2,7})-([0-9]{2})-([0-9])")


@dataclass(frozen=True, slots=True)
class AllergenReference:
    """One entry of the annex: its number, the name on the label, the CAS numbers that come under it.

    ``also`` are other names under which certificates list it or a part of it, such as geranial for citral.
    """

    entry: int
    name: str
    cas: tuple[str, ...]
    also: tuple[str, ...]


@cache
def fragrance_allergens() -> Mapping[str, AllergenReference]:
    """All entries by the name on the label, in the order of the table."""
    return MappingProxyType({row["name"]: _reference(row) for row in rows("allergens.csv")})


def _reference(row: Mapping[str, str]) -> AllergenReference:
    return AllergenReference(
        entry=int(row["entry"]),
        name=row["name"],
        cas=tuple(row["cas"].split(";")),
        also=tuple(filter(None, row["also"].split(";"))),
    )


def label_name(name: str, cas: str = "") -> str:
    """The name on the label of a substance that a certificate lists; empty for what is none of the entries.

    Its name decides, and where that is not known, its CAS number if that stands under one entry alone.
    """
    return _by_name().get(name.strip().casefold(), "") or _by_cas().get(cas.strip(), "")


def fits_as_cas(text: str) -> bool:
    """Whether it is written as a CAS number with its check digit.

    From the right, the digits before the check digit count once, twice and so on; the last digit of their sum
    is the check digit. CAS Registry, check digit verification of CAS registry numbers (recalled).
    """
    found = _CAS.fullmatch(text)
    if not found:
        return False
    digits = (found[1] + found[2])[::-1]
    total = sum(place * int(digit) for place, digit in enumerate(digits, start=1))
    return total % 10 == int(found[3])


@cache
def _by_name() -> dict[str, str]:
    return {
        spelling.casefold(): allergen.name
        for allergen in fragrance_allergens().values()
        for spelling in (allergen.name, *allergen.also)
    }


@cache
def _by_cas() -> dict[str, str]:
    """Without the numbers that stand under two entries, as some of citrus oils do."""
    times = Counter(cas for allergen in fragrance_allergens().values() for cas in allergen.cas)
    return {
        cas: allergen.name
        for allergen in fragrance_allergens().values()
        for cas in allergen.cas
        if times[cas] == 1
    }
