"""Atomic weights, molar masses, and the alkalis and acids of a soap kitchen.

The only place in the project where an atomic weight stands; every molar mass follows from a formula.
All molar masses are in g/mol.
"""

import re
from enum import StrEnum
from typing import Final

ATOMIC_WEIGHT: Final = {
    # IUPAC atomic masses averaged over IUPAC's representative isotopic compositions,
    # as tabulated by the Python library molmass 2026.1.8 (seen there).
    "H": 1.007941,
    "C": 12.01074,
    "O": 15.999405,
    "Na": 22.98976928,
    "K": 39.0983,
    "I": 126.90447,
}

_GROUP = re.compile(r"([A-Z][a-z]?)(\d*)")


def molar_mass(formula: str) -> float:
    """Molar mass in g/mol of a plain formula such as ``C3H8O3`` (no brackets, no hydrate dot).

    Raises ValueError for anything else, and KeyError for an element that is not in the table.
    """
    if not re.fullmatch(rf"(?:{_GROUP.pattern})+", formula):
        raise ValueError(f"Not a plain chemical formula: {formula!r}")
    return sum(ATOMIC_WEIGHT[symbol] * int(count or 1) for symbol, count in _GROUP.findall(formula))


M_NAOH: Final = molar_mass("NaOH")
M_KOH: Final = molar_mass("KOH")
M_WATER: Final = molar_mass("H2O")
M_GLYCEROL: Final = molar_mass("C3H8O3")
M_IODINE: Final = molar_mass("I2")


class AlkaliKind(StrEnum):
    """The two alkalis that make soap: sodium hydroxide for bars, potassium hydroxide for soft soap."""

    NAOH = "naoh"
    KOH = "koh"

    @property
    def formula(self) -> str:
        return "NaOH" if self is AlkaliKind.NAOH else "KOH"

    @property
    def metal(self) -> str:
        """Symbol of the metal."""
        return "Na" if self is AlkaliKind.NAOH else "K"

    @property
    def metal_name(self) -> str:
        return "sodium" if self is AlkaliKind.NAOH else "potassium"

    @property
    def label(self) -> str:
        return f"{self.metal_name.capitalize()} hydroxide"

    @property
    def molar_mass(self) -> float:
        return M_NAOH if self is AlkaliKind.NAOH else M_KOH


class AcidKind(StrEnum):
    """Acids that a recipe may hold besides the fats; each takes alkali before any fat does."""

    CITRIC = "citric"
    CITRIC_MONOHYDRATE = "citric_monohydrate"
    LACTIC = "lactic"
    ACETIC = "acetic"

    @property
    def label(self) -> str:
        return _ACIDS[self][0]

    @property
    def molar_mass(self) -> float:
        """As weighed: the monohydrate with its water."""
        return molar_mass(_ACIDS[self][1])

    @property
    def protons(self) -> int:
        """Mol of alkali that one mol of the acid takes."""
        return _ACIDS[self][3]

    def salt_molar_mass(self, alkali: AlkaliKind) -> float:
        """Molar mass of the anhydrous salt: each acidic hydrogen gives way to the metal."""
        exchange = ATOMIC_WEIGHT[alkali.metal] - ATOMIC_WEIGHT["H"]
        return molar_mass(_ACIDS[self][2]) + self.protons * exchange

    def salt_label(self, alkali: AlkaliKind) -> str:
        """For example "Trisodium citrate"."""
        prefix = "tri" if self.protons == 3 else ""
        return f"{prefix}{alkali.metal_name} {_ACIDS[self][4]}".capitalize()


_ACIDS: Final = {
    # label, formula as weighed, formula without water of crystallisation, acidic hydrogens, name of the salt
    AcidKind.CITRIC: ("Citric acid, anhydrous", "C6H8O7", "C6H8O7", 3, "citrate"),
    AcidKind.CITRIC_MONOHYDRATE: ("Citric acid monohydrate", "C6H10O8", "C6H8O7", 3, "citrate"),
    AcidKind.LACTIC: ("Lactic acid", "C3H6O3", "C3H6O3", 1, "lactate"),
    AcidKind.ACETIC: ("Acetic acid", "C2H4O2", "C2H4O2", 1, "acetate"),
}
