"""How hot a lye is likely to get, and how hot at the very most, however it starts out.

`shared.heat` bounds the temperature from above for water and dry alkali; here ice, warm or cold liquid, a
ready-made lye solution and the heat that an open jug loses are counted in. Temperatures are °C, weights
grams, heats J (kJ per mol in the tables), heat capacities J/K.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from shared.chemistry import M_WATER, AlkaliKind
from shared.heat import (
    BOILING_CELSIUS,
    REFERENCE_CELSIUS,
    heat_of_solution,
    how_known,
    specific_heat,
    table,
)
from shared.ingredients import MAX_GRAMS, Alkali, FormulaError, check_alkalis
from shared.tables import interpolate
from shared.words import Phrase

_TABLED_AT: Final = 25.0
"""°C of the heats of solution and specific heats in the tables."""
LOST_SHARE: Final = 0.15
"""Share of the heat that an open jug loses to itself and the air while the lye is stirred for some minutes.
Common practice, no source."""
_COLDEST, _HOTTEST = -30.0, 100.0


@dataclass(frozen=True, slots=True)
class LyeStart:
    """How the liquid of a lye starts out, beside dry alkali at workshop temperature.

    ``frozen`` is the share in % of the liquid's water that is ice; the rest of the liquid is at ``celsius``,
    and the ice at the colder of ``celsius`` and 0 °C. ``lost`` is the share of the heat that is lost.
    """

    celsius: float = REFERENCE_CELSIUS
    frozen: float = 0.0
    lost: float = LOST_SHARE


DEFAULT_START: Final = LyeStart()


@dataclass(frozen=True, slots=True)
class LyeEstimate:
    """How hot a lye is likely to get, how hot at the very most, and where it boils.

    ``boils`` compares the most with the boiling point of this lye, not of water; ``near_boiling`` says that
    the most comes above 100 °C all the same, so that drops of water in it flash to steam.
    """

    celsius: float
    most_celsius: float
    boiling_celsius: float
    boils: bool
    near_boiling: bool
    assumption: str
    source: str


def boiling_celsius(kind: AlkaliKind, concentration: float) -> float:
    """Boiling point at 1 atm of lye of so many % m/m; from 50 % up that of 50 %. Recalled, rounded down."""
    return interpolate(table("boiling_point", kind), concentration)


def integral_heat(kind: AlkaliKind, water_per_mol: float) -> float:
    """Heat set free, in kJ per mol of alkali dissolved in so many mol of water, at 25 °C; as good as known.

    NaOH: straight lines against 1/water between the integral heats of Felder and Rousseau, Table B.11; in
    less water than the table's least, in proportion to the water. KOH: at infinite dilution (Parker), which
    is too much by some kJ, since no integral heats were found.
    """
    if kind is AlkaliKind.KOH:
        return heat_of_solution(kind, water_per_mol)
    points = [(1 / water, -heat) for water, heat in reversed(table("integral_heat", kind))]
    strongest, most = points[-1]
    if water_per_mol * strongest < 1:
        return most * water_per_mol * strongest
    return interpolate(points, 1 / water_per_mol)


def heat_of_dilution(alkali: Alkali, water_per_mol: float) -> float:
    """Heat in kJ per mol that a ready-made lye solution sets free when thinned to so many mol of water.

    NaOH: the difference of two integral heats. KOH: that of its crystalline monohydrate (Parker, 14.64
    kJ/mol), about what is left once the first mol of water is bound; an estimate.
    """
    if alkali.kind is AlkaliKind.KOH:
        return -table("heat_of_monohydrate", alkali.kind)[0][1]
    now = alkali.water / M_WATER / alkali.mol
    return max(integral_heat(alkali.kind, water_per_mol) - integral_heat(alkali.kind, now), 0.0)


def lye_estimate(
    alkalis: Sequence[Alkali],
    water_grams: float,
    start: LyeStart = DEFAULT_START,
    *,
    other_grams: float = 0.0,
) -> LyeEstimate:
    """How hot the lye is likely to get, with how it starts out and what heat is lost counted in.

    ``water_grams`` is the water that goes in, without that of a ready-made lye solution; ``other_grams`` is
    what else the liquid holds, which is warmed like water. A balance over a cycle: everything is brought to
    25 °C, there it dissolves, and the heat that is not lost warms the lye or melts the ice.
    ``most_celsius`` is the same without loss, without the other matter, and with each alkali as pure as it
    may be; ``celsius`` is never above the boiling point. Raises FormulaError without alkali, without water,
    and for a start that makes no sense.
    """
    check_alkalis(alkalis)
    weighed = [alkali for alkali in alkalis if alkali.grams > 0]
    if not (0 <= water_grams <= MAX_GRAMS and 0 <= other_grams <= MAX_GRAMS):
        raise FormulaError("liquid", Phrase("Lye needs liquid: give its weight in grams."))
    if not water_grams + sum(alkali.water for alkali in weighed) > 0:
        raise FormulaError("liquid", Phrase("Lye needs liquid: give its weight in grams."))
    if not (_COLDEST <= start.celsius <= _HOTTEST and 0 <= start.frozen <= 100 and 0 <= start.lost < 1):
        raise FormulaError(
            "liquid", Phrase("The liquid must start between %(low)s and %(high)s °C.", low=-30, high=100)
        )
    jug = _Jug(tuple(weighed), water_grams, other_grams, start)
    most = replace(jug, other=0.0).celsius(lost=0.0, purest=True)
    boiling = min(boiling_celsius(alkali.kind, jug.concentration) for alkali in weighed)
    return LyeEstimate(
        celsius=min(jug.celsius(lost=start.lost, purest=False), boiling),
        most_celsius=most,
        boiling_celsius=boiling,
        boils=most >= boiling,
        near_boiling=most >= BOILING_CELSIUS,
        assumption=_assumption(start),
        source=jug.source,
    )


@dataclass(frozen=True, slots=True)
class _Jug:
    """What comes together in the jug: alkalis, grams of water and of other matter, and how they start."""

    alkalis: tuple[Alkali, ...]
    water: float
    other: float
    start: LyeStart

    @property
    def all_water(self) -> float:
        return self.water + sum(alkali.water for alkali in self.alkalis)

    @property
    def solid(self) -> float:
        """Grams of alkali as weighed, without the water of solutions."""
        return sum(alkali.grams - alkali.water for alkali in self.alkalis)

    @property
    def concentration(self) -> float:
        return 100 * self.solid / (self.solid + self.all_water)

    @property
    def heat_capacity(self) -> float:
        """J/K of the lye at 25 °C, each alkali's by its weight."""
        weighted = sum(
            (alkali.grams - alkali.water) * specific_heat(alkali.kind, self.concentration)
            for alkali in self.alkalis
        )
        lye = (self.solid + self.all_water) * weighted / self.solid
        return lye + self.other * specific_heat_of_water()

    @property
    def ice(self) -> float:
        return self.water * self.start.frozen / 100

    def freed(self, *, purest: bool) -> float:
        """J set free by dissolving and thinning at 25 °C."""
        mol = [alkali.mol_at(alkali.purity_high) if purest else alkali.mol for alkali in self.alkalis]
        water_per_mol = self.all_water / M_WATER / sum(mol)
        heat = 0.0
        for alkali, amount in zip(self.alkalis, mol, strict=True):
            if alkali.dissolved:
                heat += amount * heat_of_dilution(alkali, water_per_mol)
            elif purest:
                heat += amount * heat_of_solution(alkali.kind, water_per_mol)
            else:
                heat += amount * integral_heat(alkali.kind, water_per_mol)
        return 1000 * heat

    def stored(self) -> float:
        """J in what is put in, against all of it liquid at 25 °C; negative when it is colder."""
        start, water = self.start.celsius, specific_heat_of_water()
        heat = (self.water - self.ice + self.other) * water * (max(start, 0.0) - _TABLED_AT)
        heat += self.ice * (specific_heat_of_ice() * min(start, 0.0) - melting_heat() - water * _TABLED_AT)
        for alkali in self.alkalis:
            if alkali.dissolved:
                own = specific_heat(alkali.kind, alkali.purity)
            else:
                own = table("specific_heat_dry", alkali.kind)[0][1]
            heat += alkali.grams * own * (REFERENCE_CELSIUS - _TABLED_AT)
        return heat

    def celsius(self, *, lost: float, purest: bool) -> float:
        """Temperature at the end. Where the heat does not melt all the ice, 0 °C."""
        kept = (1 - lost) * self.freed(purest=purest)
        end = _TABLED_AT + (self.stored() + kept) / self.heat_capacity
        return max(end, 0.0) if self.ice else end

    @property
    def source(self) -> str:
        water_per_mol = self.all_water / M_WATER / sum(alkali.mol for alkali in self.alkalis)
        return how_known(self.alkalis, water_per_mol, self.concentration)


def _assumption(start: LyeStart) -> Phrase:
    figures = {
        "celsius": f"{start.celsius:.0f}",
        "frozen": f"{start.frozen:.0f}",
        "lost": f"{100 * start.lost:.0f}",
    }
    if start.frozen:
        return Phrase(
            "%(frozen)s %% of the water is ice, the rest at %(celsius)s °C, and %(lost)s %% of the heat is "
            "lost to the jug and the air (common practice, no source).",
            **figures,
        )
    return Phrase(
        "The liquid starts at %(celsius)s °C, and %(lost)s %% of the heat is lost to the jug and the air "
        "(common practice, no source).",
        **figures,
    )


def specific_heat_of_water() -> float:
    """kJ/(kg K) at 25 °C (IAPWS-IF97)."""
    return table("specific_heat", "")[0][1]


def specific_heat_of_ice() -> float:
    """kJ/(kg K), mean from -15 to 0 °C (IAPWS-06)."""
    return table("ice_specific_heat", "")[0][1]


def melting_heat() -> float:
    """kJ to melt a kilogram of ice at 0 °C (IAPWS-06 and IAPWS-IF97)."""
    return table("ice_melting", "")[0][1]
