"""The materials that a recipe may be made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.db.models import Q, QuerySet

from inventory.models import Kind, Lot, Material
from recipes.models import Mould


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Materials by kind, each kind by name, the keys of those on the shelf, and the moulds to choose from."""

    by_kind: Mapping[Kind, tuple[Material, ...]]
    held: frozenset[int] = frozenset()
    moulds: QuerySet[Mould] = field(default_factory=Mould.objects.none)

    def of(self, kind: Kind) -> tuple[Material, ...]:
        return self.by_kind.get(kind, ())


def catalogue(also: Iterable[int] = (), *, mould: int | None = None) -> Catalogue:
    """All materials in use, and those `also` named by key though they were put away, as the `mould` may be.

    Two queries, and one for the moulds where they are offered.
    """
    found: dict[Kind, list[Material]] = {}
    for material in Material.objects.filter(Q(archived=False) | Q(pk__in=list(also))):
        found.setdefault(Kind(material.kind), []).append(material)
    held = Lot.objects.in_stock().order_by().values_list("material", flat=True).distinct()
    moulds = Mould.objects.filter(Q(archived=False) | Q(pk=mould))
    return Catalogue({kind: tuple(each) for kind, each in found.items()}, frozenset(held), moulds)
