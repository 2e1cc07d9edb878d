"""Batters to split, for the tests of portions."""

from decimal import Decimal

import pytest

from shared.portions import Plan, Portion, PortionError, Split, resolve, solve
from shared.scaling import Scale
from shared.words import Phrase

GRAM = Scale(Decimal(1))
TENTH = Scale(Decimal("0.1"))
TWO_SCALES = Scale(Decimal(5), Decimal("0.1"), Decimal(50))
PLAIN = Portion("Plain", rest=True)


def plan(
    *portions: Portion,
    batter: float | None = None,
    fats: float = 65,
    scale: Scale = GRAM,
    area: float | None = None,
    density: float | None = None,
) -> Plan:
    return Plan(portions, fats, scale, batter, area, density)


def weights(split: Split) -> dict[str, Decimal]:
    return {jug.portion.name: jug.grams for jug in split.jugs}


def refused(bad: Plan, done: dict[str, float | Decimal] | None = None) -> PortionError:
    with pytest.raises(PortionError) as caught:
        solve(bad) if done is None else resolve(bad, done)
    assert isinstance(caught.value.args[0], Phrase)
    return caught.value
