"""The materials that a recipe may be made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q

from inventory.models import Kind, Material


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Materials by kind, each kind by name."""

    by_kind: Mapping[Kind, tuple[Material, ...]]

    def of(self, kind: Kind) -> tuple[Material, ...]:
        return self.by_kind.get(kind, ())


def catalogue(also: Iterable[int] = ()) -> Catalogue:
    """All materials in use, and those `also` named by key though they were put away. One query."""
    found: dict[Kind, list[Material]] = {}
    for material in Material.objects.filter(Q(archived=False) | Q(pk__in=list(also))):
        found.setdefault(Kind(material.kind), []).append(material)
    return Catalogue({kind: tuple(materials) for kind, materials in found.items()})
