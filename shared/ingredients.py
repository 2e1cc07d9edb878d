"""What goes into the pot, and the checks that keep nonsense out of it.

Weights are grams, saponification values mg KOH per g of fat (ISO 3657), purities and shares per cent.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shared.chemistry import M_KOH, AcidKind, AlkaliKind
from shared.words import Phrase

MAX_GRAMS = 1e6
"""Heaviest weight taken for real: one tonne, far above any kitchen batch."""
MIN_GRAMS = 1e-3
"""All fats, or all alkali, of a pot weigh at least this much."""
LOWEST_SAP, HIGHEST_SAP = 1.0, 1000.0
"""mg KOH/g; waxes lie near 50, the triglyceride of the shortest fatty acid at 557."""


class FormulaError(ValueError):
    """A recipe or pot that cannot be computed; ``field`` says which part of it.

    ``field`` is one of "fats", "alkalis", "superfat", "liquid", "acids" and "scale".
    """

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Sap:
    """Saponification value in mg KOH/g: the range it may lie in and the value to dose from."""

    low: float
    nominal: float
    high: float
    source: str = ""

    @classmethod
    def certificate(cls, value: float, uncertainty: float, source: str) -> Sap:
        """A lot's measured value and the half-width of what the laboratory vouches for."""
        return cls(value - uncertainty, value, value + uncertainty, source)


class FatKind(StrEnum):
    """What an ester or acid a fat is: it decides what else than soap comes of it."""

    TRIGLYCERIDE = "triglyceride"
    WAX = "wax"
    FREE_ACID = "free_acid"

    @property
    def label(self) -> str:
        return {
            FatKind.TRIGLYCERIDE: Phrase("Fat or oil"),
            FatKind.WAX: Phrase("Wax or lanolin"),
            FatKind.FREE_ACID: Phrase("Free fatty acid, such as stearic acid"),
        }[self]


@dataclass(frozen=True, slots=True)
class Fat:
    """One weighing of a fat. Weighings of the same lot share one unknown saponification value.

    ``step`` is that of the scale it was weighed on, in grams, where it is another than for the rest.
    """

    name: str
    grams: float
    sap: Sap
    lot: str = ""
    kind: FatKind = FatKind.TRIGLYCERIDE
    step: float | None = None

    @property
    def mol(self) -> float:
        """Mol of alkali that this fat takes, at the nominal saponification value."""
        return self.grams * mol_per_gram(self.sap.nominal)


@dataclass(frozen=True, slots=True)
class Alkali:
    """One weighing of an alkali as it comes out of the tub, purity in % m/m.

    ``dissolved`` says that it is a ready-made lye solution: the purity is its strength, the rest water.
    ``step`` as in `Fat`.
    """

    kind: AlkaliKind
    grams: float
    purity_low: float
    purity_high: float
    dissolved: bool = False
    step: float | None = None

    @property
    def water(self) -> float:
        """Grams of water that a ready-made solution brings; none of a dry alkali."""
        return self.grams * (100 - self.purity) / 100 if self.dissolved else 0.0

    @property
    def purity(self) -> float:
        """Middle of the purity range, % m/m."""
        return (self.purity_low + self.purity_high) / 2

    @property
    def mol(self) -> float:
        """Mol of alkali at the middle of the purity range."""
        return self.mol_at(self.purity)

    def mol_at(self, purity: float, error: float = 0.0) -> float:
        """Mol of alkali at this purity in %, where the scale was wrong by so many grams."""
        return max(self.grams + error, 0.0) * purity / (100 * self.kind.molar_mass)


@dataclass(frozen=True, slots=True)
class AlkaliChoice:
    """An alkali that a recipe asks for; ``share`` is mol per cent of all its alkali.

    ``dissolved`` as in `Alkali`.
    """

    kind: AlkaliKind
    purity_low: float
    purity_high: float
    share: float = 100.0
    dissolved: bool = False


@dataclass(frozen=True, slots=True)
class Acid:
    """One weighing of an acid, or of a solution that holds ``percent`` of it (m/m). ``step`` as in `Fat`."""

    kind: AcidKind
    grams: float
    percent: float = 100.0
    step: float | None = None

    @property
    def mol(self) -> float:
        """Mol of alkali that this acid takes."""
        return self.mol_at()

    def mol_at(self, error: float = 0.0) -> float:
        """The same, where the scale was wrong by so many grams."""
        pure = max(self.grams + error, 0.0) * self.percent / 100
        return pure * self.kind.protons / self.kind.molar_mass

    def takes(self, alkali: AlkaliKind) -> float:
        """Grams of the pure alkali that this acid takes: 10 g of citric acid 6.25 g of sodium hydroxide."""
        return self.mol * alkali.molar_mass


def mol_per_gram(sap: float) -> float:
    """Mol of alkali that one gram of fat takes, from its saponification value in mg KOH/g."""
    return sap / (1000 * M_KOH)


def nominal_mol(fats: Iterable[Fat]) -> float:
    """Mol of alkali that the fats take at their nominal saponification values."""
    return sum(fat.grams * mol_per_gram(fat.sap.nominal) for fat in fats)


def check_fats(fats: Sequence[Fat]) -> None:
    """Raise FormulaError unless there is fat to saponify and every weight and value makes sense."""
    for fat in fats:
        _check_grams("fats", fat.name, fat.grams)
        check_sap(fat.name, fat.sap)
    if sum(fat.grams for fat in fats) < MIN_GRAMS:
        raise FormulaError("fats", Phrase("Add at least one fat and its weight."))


def check_sap(name: str, sap: Sap) -> None:
    """Raise FormulaError unless 1 <= low <= nominal <= high <= 1000."""
    if not LOWEST_SAP <= sap.low <= sap.nominal <= sap.high <= HIGHEST_SAP:
        raise FormulaError(
            "fats",
            Phrase(
                "%(name)s: the saponification value must lie between %(low)s and %(high)s mg KOH/g, "
                "with the nominal value inside its range.",
                name=name,
                low=f"{LOWEST_SAP:g}",
                high=f"{HIGHEST_SAP:g}",
            ),
        )


def check_alkalis(alkalis: Sequence[Alkali]) -> None:
    """Raise FormulaError unless there is alkali and every weight and purity makes sense."""
    for alkali in alkalis:
        _check_grams("alkalis", alkali.kind.label, alkali.grams)
        check_purity(alkali)
    if sum(alkali.grams for alkali in alkalis) < MIN_GRAMS:
        raise FormulaError("alkalis", Phrase("Add the lye: without it there is no soap."))


def check_purity(alkali: Alkali | AlkaliChoice) -> None:
    """Raise FormulaError unless 1 <= purity_low <= purity_high <= 100."""
    if not 1 <= alkali.purity_low <= alkali.purity_high <= 100:
        raise FormulaError(
            "alkalis",
            Phrase(
                "%(alkali)s: the purity must lie between 1 and 100 %%, the lower figure first.",
                alkali=Phrase(alkali.kind.label),
            ),
        )


def check_acids(acids: Sequence[Acid]) -> None:
    """Raise FormulaError unless every weight and share makes sense."""
    for acid in acids:
        _check_grams("acids", acid.kind.label, acid.grams)
        if not 0 < acid.percent <= 100:
            words = Phrase(
                "%(acid)s: its share must lie above 0 and up to 100 %%.", acid=Phrase(acid.kind.label)
            )
            raise FormulaError("acids", words)


def check_superfat(superfat: float) -> None:
    """Raise FormulaError unless the superfat lies between -5 and 30 %."""
    if not -5 <= superfat <= 30:
        raise FormulaError("superfat", Phrase("Superfat must lie between -5 and 30 %."))


def check_scale_step(step: float) -> None:
    """Raise FormulaError unless the step of the scale is a weight from nothing to a kilogram."""
    if not 0 <= step <= 1000:
        raise FormulaError("scale", Phrase("The step of the scale must lie between 0 and 1000 g."))


def _check_grams(field: str, name: str, grams: float) -> None:
    if not 0 <= grams <= MAX_GRAMS:
        raise FormulaError(field, Phrase("%(name)s: the weight must lie between 0 g and 1 tonne.", name=name))
