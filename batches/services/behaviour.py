"""What the batches tell of a fragrance: counted anew with every pour and every word from the bench."""

from __future__ import annotations

from batches.models import Batch
from batches.queries.fragrance import behaviour_of
from inventory.models import Kind, Material
from inventory.services.behaviour import tell_behaviour


def tell_fragrances(*, batch: Batch) -> None:
    """Tell how each fragrance of a batch has behaved so far. Belongs into the transaction of what changed."""
    for material in Material.objects.filter(kind=Kind.FRAGRANCE, pk__in=batch.lines.values("material")):
        tell_behaviour(material=material, **behaviour_of(material))
