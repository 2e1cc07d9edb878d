"""The materials that a recipe may be made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q

from inventory.models import Kind, Lot, Material


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Materials by kind, each kind by name, and the keys of those on the shelf."""

    by_kind: Mapping[Kind, tuple[Material, ...]]
    held: frozenset[int] = frozenset()

    def of(self, kind: Kind) -> tuple[Material, ...]:
        return self.by_kind.get(kind, ())


def catalogue(also: Iterable[int] = ()) -> Catalogue:
    """All materials in use, and those `also` named by key though they were put away. Two queries."""
    found: dict[Kind, list[Material]] = {}
    for material in Material.objects.filter(Q(archived=False) | Q(pk__in=list(also))):
        found.setdefault(Kind(material.kind), []).append(material)
    held = Lot.objects.in_stock().order_by().values_list("material", flat=True).distinct()
    return Catalogue({kind: tuple(materials) for kind, materials in found.items()}, frozenset(held))
