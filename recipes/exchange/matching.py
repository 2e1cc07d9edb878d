"""Which material of the workshop a file means: by its key in the catalogue, its name, or its INCI name.

An alkali may be called anything: where the workshop has only one of its kind, that is meant.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from typing import Any

from inventory.models import Kind, Material

LONGEST_NAME = 80

# Every other scent is "Parfum", and a box has no such name.
_WITHOUT_INCI = {Kind.FRAGRANCE, Kind.PACKAGING}


class Shelf:
    """The workshop's materials, those put away last."""

    def __init__(self, materials: Iterable[Material]) -> None:
        found = list(materials)
        used = [one for one in found if one.inci_name and not one.archived and one.kind not in _WITHOUT_INCI]
        often = Counter(_by_inci(one) for one in used)
        self._keys = {one.reference: one for one in found if one.reference}
        self._names = {one.name.lower(): one for one in found}
        self._inci = {_by_inci(one): one for one in used if often[_by_inci(one)] == 1}
        alkalis = [one for one in found if one.alkali and not one.archived]
        each = Counter((one.alkali, one.dissolved) for one in alkalis)
        self._alkalis = [one for one in alkalis if each[one.alkali, one.dissolved] == 1]

    def match(self, said: Mapping[str, Any]) -> Material | None:
        """The material that a file means; None where the workshop has none, or cannot tell which."""
        inci = (said["kind"], said.get("inci_name", "").lower())
        found = (
            self._keys.get(said.get("catalogue_key", "")),
            self._names.get(said["name"].strip().lower()),
            self._inci.get(inci),
            *self._alkalis,
        )
        return next((one for one in found if one and _is_such(one, said)), None)

    def free_name(self, name: str) -> str:
        """The name itself, or with a number behind it where another material has it."""
        return next(each for each in numbered(name) if each.lower() not in self._names)


def numbered(name: str) -> Iterator[str]:
    """The name, then the name with 2, 3 and so on behind it, never longer than a name may be."""
    yield name
    for number in count(2):
        behind = f" ({number})"
        yield name[: LONGEST_NAME - len(behind)] + behind


def _by_inci(material: Material) -> tuple[str, str]:
    return material.kind, material.inci_name.lower()


def _is_such(material: Material, said: Mapping[str, Any]) -> bool:
    """Whether it is the same kind of thing: potash is not taken for soda, nor a solution for the dry lye."""
    theirs = (said["kind"], said.get("alkali", ""), said.get("solution", False))
    return theirs == (material.kind, material.alkali, material.dissolved)
