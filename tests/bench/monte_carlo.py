"""The safety range against a Monte Carlo of its own: ``python -m tests.bench.monte_carlo [recipes] [draws]``.

The draws follow the definition of the superfat and nothing else: every saponification value, purity and
weighing is drawn by itself, and the superfat of each draw is worked out in full. Nothing is linearised.
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shared.chemistry import M_KOH, AcidKind, AlkaliKind
from shared.fats import reference_fats
from shared.saponification import (
    Acid,
    Alkali,
    AlkaliChoice,
    Fat,
    Formula,
    Limits,
    LiquidMethod,
    SafetyRange,
    Sap,
    Verdict,
    assess,
    formulate,
)

Draws = NDArray[np.float64]
LIKELY_TOLERANCE = 0.1
"""Points of superfat."""
CHANCE_TOLERANCE = 0.3
"""Points of chance."""
TAIL = 0.025
CHUNK = 1 << 16
"""Draws worked on at a time, so that they stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class Pot:
    """What is in the pot and the step of the scale that weighed it."""

    fats: tuple[Fat, ...]
    alkalis: tuple[Alkali, ...]
    acids: tuple[Acid, ...]
    scale_step: float

    def assess(self) -> SafetyRange:
        return assess(self.fats, self.alkalis, self.acids, scale_step=self.scale_step)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Differences between the calculation and the draws, in points; ``chance`` is that of the draws.

    ``noise`` is the larger standard error of the two drawn ends of the likely range, from the ranks one
    standard error to either side.
    """

    pot: Pot
    noise: float
    likely_low: float
    likely_high: float
    chance_error: float
    chance: float
    verdict: Verdict

    @property
    def wrongly_safe(self) -> bool:
        return self.verdict is Verdict.SAFE and self.chance > Limits().watch_from

    @property
    def likely(self) -> float:
        return max(self.likely_low, self.likely_high)

    def describe(self) -> str:
        fats = ", ".join(f"{fat.grams:.0f}" for fat in self.pot.fats)
        return (
            f"  {self.likely:.3f} points, standard error of the draws {self.noise:.3f}, "
            f"scale step {self.pot.scale_step:g} g, fats {fats} g"
        )


def random_pot(rng: np.random.Generator, few_fats: bool) -> Pot:
    """An invented recipe of reference fats, one or two of them when ``few_fats``."""
    step = float(rng.choice([0.0, 0.1, 1.0, 1.0, 2.0, 5.0]))
    known = [fat for fat in reference_fats().values() if fat.triglyceride and fat.sap]
    number = int(rng.integers(1, 3)) if few_fats else int(rng.integers(3, 10))
    fats = []
    for index in rng.choice(len(known), number, replace=False):
        fat = known[index]
        assert fat.sap
        fats.append(Fat(fat.name, float(rng.uniform(20, 3000)), _certified(rng, fat.sap), str(index)))
        if rng.random() < 0.15:
            fats.append(Fat(fat.name, float(rng.uniform(20, 500)), fats[-1].sap, str(index)))
    acids = (Acid(AcidKind.CITRIC, float(rng.uniform(5, 40))),) if rng.random() < 0.2 else ()
    formula = Formula(tuple(fats), _alkalis(rng), float(rng.uniform(-2, 9)), LiquidMethod.RATIO, 2.2, acids)
    return Pot(formula.fats, formulate(formula, scale_step=step).alkalis, acids, step)


def _certified(rng: np.random.Generator, sap: Sap) -> Sap:
    """The reference range, or now and then a certificate or a value known for sure."""
    chance = rng.random()
    if chance < 0.3:
        return Sap.certificate(sap.nominal, float(rng.uniform(0.1, 3)), "certificate")
    if chance < 0.5:
        return Sap(sap.low, (sap.low + sap.high) / 2, sap.high)
    if chance < 0.55:
        return Sap(sap.nominal, sap.nominal, sap.nominal)
    return sap


def _alkalis(rng: np.random.Generator) -> tuple[AlkaliChoice, ...]:
    sodium = (97.0, 100.0) if rng.random() < 0.6 else (98.5, 99.5)
    chance = rng.random()
    if chance < 0.7:
        return (AlkaliChoice(AlkaliKind.NAOH, *sodium),)
    if chance < 0.85:
        return (AlkaliChoice(AlkaliKind.KOH, 85.0, 92.0),)
    return (AlkaliChoice(AlkaliKind.NAOH, *sodium, 60.0), AlkaliChoice(AlkaliKind.KOH, 89.0, 91.0, 40.0))


def draw_superfat(pot: Pot, draws: int, rng: np.random.Generator) -> Draws:
    """Superfat in % of so many pots that all read the same on the label and on the scale."""
    starts = range(0, draws, CHUNK)
    return np.concatenate([_draw_chunk(pot, min(CHUNK, draws - start), rng) for start in starts])


def _draw_chunk(pot: Pot, draws: int, rng: np.random.Generator) -> Draws:
    def between(low: float, high: float) -> Draws:
        return rng.uniform(low, high, draws)

    def weighed(grams: float) -> Draws:
        return between(grams - pot.scale_step / 2, grams + pot.scale_step / 2)

    values: dict[str, Draws] = {}
    takes = np.zeros(draws)
    for fat in pot.fats:
        lot = fat.lot or fat.name
        if lot not in values:
            values[lot] = _draw_sap(fat.sap, draws, rng)
        takes += weighed(fat.grams) * values[lot] / (1000 * M_KOH)
    free = np.zeros(draws)
    for alkali in pot.alkalis:
        purity = between(alkali.purity_low, alkali.purity_high) / 100
        free += weighed(alkali.grams) * purity / alkali.kind.molar_mass
    for acid in pot.acids:
        free -= weighed(acid.grams) * acid.kind.protons / acid.kind.molar_mass
    superfat: Draws = 100 * (1 - free / takes)
    return superfat


def _draw_sap(sap: Sap, draws: int, rng: np.random.Generator) -> Draws:
    if sap.low == sap.high:
        return np.full(draws, sap.nominal)
    if math.isclose(sap.low + sap.high, 2 * sap.nominal, abs_tol=1e-9):
        return rng.uniform(sap.low, sap.high, draws)
    return rng.triangular(sap.low, sap.nominal, sap.high, draws)


def compare(pot: Pot, draws: int, rng: np.random.Generator) -> Comparison:
    """The calculated safety range against the drawn one."""
    found = pot.assess()
    superfat = draw_superfat(pot, draws, rng)
    error = math.sqrt(TAIL * (1 - TAIL) / draws)
    ranks = [end + sign * error for end in (TAIL, 1 - TAIL) for sign in (-1, 0, 1)]
    below_low, low, above_low, below_high, high, above_high = np.quantile(superfat, ranks).tolist()
    chance = float(np.mean(superfat < 0))
    return Comparison(
        pot=pot,
        noise=max(above_low - below_low, above_high - below_high) / 2,
        likely_low=abs(found.likely_low - low),
        likely_high=abs(found.likely_high - high),
        chance_error=100 * abs(found.chance_lye_heavy - chance),
        chance=chance,
        verdict=found.verdict,
    )


def report(recipes: int, draws: int, seed: int) -> str:
    """The largest differences over many random recipes, a third of them with one or two fats."""
    rng = np.random.Generator(np.random.SFC64(seed))
    start = time.perf_counter()
    results = [compare(random_pot(rng, few_fats=number % 3 == 0), draws, rng) for number in range(recipes)]
    beyond = [result for result in results if result.likely > LIKELY_TOLERANCE]
    verdicts = Counter(result.verdict for result in results)
    near = sum(0.0002 < result.chance < 0.005 for result in results)
    return "\n".join(
        [
            f"{recipes} recipes of {draws} draws in {time.perf_counter() - start:.0f} s, seed {seed}",
            f"largest difference, likely low   {max(result.likely_low for result in results):.3f} points",
            f"largest difference, likely high  {max(result.likely_high for result in results):.3f} points",
            f"largest difference, chance       {max(result.chance_error for result in results):.3f} points",
            "verdicts: " + ", ".join(f"{verdicts[verdict]} {verdict}" for verdict in Verdict),
            f"likely range off by more than {LIKELY_TOLERANCE} points: {len(beyond)}",
            *(result.describe() for result in beyond),
            f"near the bound (drawn chance of 0.02 to 0.5 %): {near}",
            f"called safe though drawn above the bound: {sum(result.wrongly_safe for result in results)}",
        ]
    )


def main(recipes: int = 2000, draws: int = 1_000_000, seed: int = 20260512) -> None:
    sys.stdout.write(report(recipes, draws, seed) + "\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
