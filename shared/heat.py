"""How much alkali dissolves, and the heat that it sets free.

Tables with their sources stand in ``shared/data/lye.csv``. Temperatures are °C, concentrations % m/m,
heats kJ, specific heats kJ/(kg K).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Final

from shared.chemistry import AlkaliKind
from shared.ingredients import Alkali
from shared.tables import interpolate, rows

REFERENCE_CELSIUS: Final = 20.0
"""A cool workshop: what must stay dissolved, and what water and alkali start from."""
BOILING_CELSIUS: Final = 100.0
"""Of water. Lye boils a little higher, so the warning errs to the safe side."""

_DILUTE: Final = 20.0
"""Mol of water per mol of NaOH at which most heat is set free; more water makes next to no difference."""

Points = tuple[tuple[float, float], ...]


@cache
def table(quantity: str, alkali: str) -> Points:
    """Points of one quantity in the table of facts, sorted."""
    return tuple(
        sorted(
            (float(row["at"]), float(row["value"]))
            for row in rows("lye.csv")
            if row["quantity"] == quantity and row["alkali"] == alkali
        )
    )


def water_density(celsius: float) -> float:
    """Density of water in g/mL between 20 and 30 °C (IAPWS-IF97; 30 °C recalled)."""
    return interpolate(table("water_density", ""), celsius)


def solubility(kind: AlkaliKind, celsius: float) -> float:
    """Most alkali that water holds, in % m/m of the solution.

    Straight lines between the published points (g per 100 g water), from 0 to 100 °C; outside, the value
    at the nearer end. NaOH at 10, 30, 80 and 100 °C is recalled.
    """
    points = [(at, 100 * grams / (100 + grams)) for at, grams in table("solubility", kind)]
    return interpolate(points, celsius)


@cache
def max_concentration(kind: AlkaliKind) -> float:
    """Most alkali that stays dissolved at 20 °C, in % m/m of the solution."""
    return solubility(kind, REFERENCE_CELSIUS)


def heat_of_solution(kind: AlkaliKind, water_per_mol: float) -> float:
    """Upper bound on the heat set free, in kJ per mol of alkali dissolved in so many mol of water, at 25 °C.

    NaOH: integral heats of Felder and Rousseau, Table B.11, for 3 mol of water and more. Against 1/water
    the curve is concave, so between two points it stays under the prolonged chords of their neighbours
    and under the largest value; in less water than the table's least, less heat is set free than there.
    Parker's later evaluation (1965) lies some 1.6 kJ/mol higher at infinite dilution.
    KOH: the heat at infinite dilution (Parker), more than at any working strength.
    """
    if kind is AlkaliKind.KOH:
        return -table("heat_at_infinite_dilution", kind)[0][1]
    by_water = reversed(table("integral_heat", kind))
    points = [(1 / water, -heat) for water, heat in by_water if water <= _DILUTE]
    return _concave_bound(points, 1 / water_per_mol)


def _concave_bound(points: Sequence[tuple[float, float]], x: float) -> float:
    """Upper bound at x on a concave curve through points sorted by x, falling after the first of them."""
    at = bisect_left(points, x, key=lambda point: point[0])
    if x >= points[-1][0]:
        return points[-1][1]
    bounds = [max(y for _, y in points)]
    bounds += [_chord(points[at - 2], points[at - 1], x)] if at >= 2 else []
    bounds += [_chord(points[at], points[at + 1], x)] if at + 1 < len(points) else []
    return min(bounds)


def _chord(start: tuple[float, float], end: tuple[float, float], x: float) -> float:
    return start[1] + (end[1] - start[1]) * (x - start[0]) / (end[0] - start[0])


def specific_heat(kind: AlkaliKind, concentration: float) -> float:
    """Specific heat of lye of so many % m/m at 25 °C, in kJ/(kg K).

    Straight lines between the points of Laliberte (2009) and pure water. Beyond the table only the part
    of the alkali counts that the water would hold at the table's end, which is a lower bound.
    """
    points = table("specific_heat", "") + table("specific_heat", kind)
    strongest = points[-1][0]
    counted = min((100 - concentration) / (100 - strongest), 1.0)
    return interpolate(points, concentration) * counted


def how_known(alkalis: Iterable[Alkali], water_per_mol: float, concentration: float) -> str:
    """Where the heat of such a lye is known from, in words."""
    parts = ["Heat balance at 25 °C, specific heats by Laliberte (2009)"]
    for kind in dict.fromkeys(alkali.kind for alkali in alkalis):
        if kind is AlkaliKind.KOH:
            parts.append("potassium hydroxide: heat at infinite dilution (Parker 1965), an upper bound")
        else:
            parts.append("sodium hydroxide: integral heats of solution (Felder and Rousseau, Table B.11)")
            if water_per_mol < table("integral_heat", kind)[0][0]:
                parts.append("stronger than that table, whose last value is an upper bound")
        if concentration > table("specific_heat", kind)[-1][0]:
            parts.append("specific heat of a lye this strong: a lower bound")
    return "; ".join(parts) + "."
