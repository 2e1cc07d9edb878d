"""Portions of a batter as bars: how strong the fragrance is in the mean bar and in the strongest.

Weights are grams of the cured soap. A swirl may lie unevenly along a loaf, so the strongest bar that can be
cut is reckoned as if each band of the loaf were all of one portion in it. Where a bar is poured alone, as in
cavities, it may be all of one portion. Inference from what a limit means, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from shared.cross_section.design import Technique, bands_of
from shared.fragrance import Dose, assess


@dataclass(frozen=True, slots=True)
class Scented:
    """A portion that goes into the mould: cured grams of it, and the fragrances in it."""

    name: str
    grams: float
    doses: tuple[Dose, ...]
    technique: Technique = Technique.LAYER


@dataclass(frozen=True, slots=True)
class Bar:
    """Fragrances in so many grams of cured soap; ``names`` are the portions that it is reckoned from."""

    grams: float
    doses: tuple[Dose, ...]
    names: tuple[str, ...]


def mean_bar(portions: Sequence[Scented]) -> Bar:
    """All of the mould together."""
    return Bar(
        sum(portion.grams for portion in portions),
        tuple(dose for portion in portions for dose in portion.doses),
        tuple(portion.name for portion in portions),
    )


def strongest_bar(portions: Sequence[Scented], *, cut_across: bool) -> Bar:
    """Of the bars that can be, the one nearest to a limit or furthest beyond; without limits, the one with
    the most fragrance. ``cut_across`` says that each bar shows all bands.

    Raises FragranceError as `shared.fragrance.assess` does.
    """
    if not cut_across:
        return max((mean_bar([portion]) for portion in portions), key=_nearness)
    bands = ([_all_of(portion, band) for portion in band] for band in bands_of(portions))
    return max((mean_bar(chosen) for chosen in product(*bands)), key=_nearness)


def _all_of(portion: Scented, band: Sequence[Scented]) -> Scented:
    grams = sum(one.grams for one in band)
    times = grams / portion.grams
    doses = tuple(Dose(dose.certified, dose.grams * times) for dose in portion.doses)
    return Scented(portion.name, grams, doses)


def _nearness(bar: Bar) -> tuple[float, float]:
    """How near to a limit, then how much fragrance."""
    factor = assess(bar.doses, bar.grams).factor
    scent = sum(dose.grams for dose in bar.doses) / bar.grams
    return (-math.inf if factor is None else -factor, scent)
