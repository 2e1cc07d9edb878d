"""How much alkali dissolves, and how hot the lye can get.

Tables with their sources stand in ``shared/data/lye.csv``. Temperatures are °C, concentrations % m/m,
heats kJ, specific heats kJ/(kg K).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from shared.chemistry import M_WATER, AlkaliKind
from shared.ingredients import MAX_GRAMS, Alkali, FormulaError, check_alkalis
from shared.tables import interpolate, rows
from shared.words import Phrase

REFERENCE_CELSIUS: Final = 20.0
"""A cool workshop: what must stay dissolved, and what water and alkali start from."""
BOILING_CELSIUS: Final = 100.0
"""Of water. Lye boils a little higher, so the warning errs to the safe side."""

_DILUTE: Final = 20.0
"""Mol of water per mol of NaOH at which most heat is set free; more water makes next to no difference."""

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class LyeHeat:
    """The hottest the lye can get without any loss of heat, whether it can boil, and how that is known.

    Above 100 °C the figure only says how much heat is set free: the lye boils and spits before it gets there.
    """

    peak_celsius: float
    boils: bool
    source: str


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


def lye_peak_celsius(
    alkalis: Sequence[Alkali], water_grams: float, start_celsius: float = REFERENCE_CELSIUS
) -> LyeHeat:
    """Hottest that dissolving the alkalis (as weighed, in grams) in the water can make the lye.

    Adiabatic: all heat stays in the lye, its specific heat that of 25 °C, each alkali as pure as it may be.
    Raises FormulaError without alkali or water.
    """
    check_alkalis(alkalis)
    if not 0 < water_grams <= MAX_GRAMS:
        raise FormulaError("liquid", Phrase("Lye needs liquid: give its weight in grams."))
    weighed = [alkali for alkali in alkalis if alkali.grams > 0]
    alkali_grams = sum(alkali.grams for alkali in weighed)
    concentration = 100 * alkali_grams / (alkali_grams + water_grams)
    water_per_mol = water_grams / M_WATER / sum(alkali.mol_at(alkali.purity_high) for alkali in weighed)
    heat = sum(
        alkali.mol_at(alkali.purity_high) * heat_of_solution(alkali.kind, water_per_mol) for alkali in weighed
    )
    weighted = sum(alkali.grams * specific_heat(alkali.kind, concentration) for alkali in weighed)
    peak = start_celsius + 1000 * heat / ((alkali_grams + water_grams) * weighted / alkali_grams)
    return LyeHeat(peak, peak >= BOILING_CELSIUS, how_known(weighed, water_per_mol, concentration))


def how_known(
    alkalis: Iterable[Alkali],
    water_per_mol: float,
    concentration: float,
    first: str = "No heat is lost and the specific heat (Laliberte 2009) is that at 25 °C",
) -> str:
    """How the figure is known, in words."""
    parts = [first]
    for kind in dict.fromkeys(alkali.kind for alkali in alkalis):
        if kind is AlkaliKind.KOH:
            parts.append("potassium hydroxide: heat at infinite dilution (Parker 1965), an upper bound")
        else:
            parts.append("sodium hydroxide: integral heats of solution (Felder and Rousseau, Table B.11)")
            if water_per_mol < table("integral_heat", kind)[0][0]:
                parts.append("stronger than that table, whose last value is an upper bound")
        if concentration > table("specific_heat", kind)[-1][0]:
            parts.append(f"specific heat of {kind.label.lower()} lye this strong: a lower bound")
    return "; ".join(parts) + "."
