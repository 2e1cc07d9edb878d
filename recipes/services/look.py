"""Writing down how a version is split into portions."""

from __future__ import annotations

from recipes.design import Design
from recipes.models import Addition, Portion, Version
from recipes.portions import PortionDesign


def write_portions(version: Version, design: Design) -> None:
    """Store the portions of a version, in place of those it has. Raises ValidationError by field.

    Belongs into the transaction that stores the version.
    """
    version.portions.all().delete()
    for position, portion in enumerate(design.portions):
        _write(version, portion, position)


def _write(version: Version, portion: PortionDesign, position: int) -> None:
    row = Portion(
        version=version,
        position=position,
        name=portion.name,
        size_by=portion.size_by,
        size=portion.size,
        colour=portion.colour,
        fragrance=portion.fragrance,
        trace=portion.trace,
        technique=portion.technique,
        destination=portion.destination,
        other_mould=portion.other_mould,
    )
    row.clean_fields(exclude=["version", "other_mould"])
    row.save()
    additions = [
        Addition(
            portion=row, material=into.material, amount=into.amount, amount_by=into.amount_by, position=order
        )
        for order, into in enumerate(portion.additions)
    ]
    for addition in additions:
        addition.clean_fields(exclude=["portion", "material"])
    Addition.objects.bulk_create(additions)
