"""Reference facts on fats, oils, waxes and fatty acids, and what follows from a fatty-acid composition.

The facts stand in ``shared/data`` with the source of each value beside it; its README says what each file is.
Saponification values are mg KOH/g, iodine values g I2 per 100 g, fatty acids % m/m of all fatty acids,
densities g/mL.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple

from shared.chemistry import M_GLYCEROL, M_IODINE, M_KOH, M_WATER, molar_mass
from shared.heat import water_density
from shared.ingredients import FatKind, Sap
from shared.tables import rows

UNKNOWN_RANGE: Final = 0.03
"""Half-width, as a share of the nominal value, assumed where no range is published."""

_ACTUAL_SHARE: Final = 0.5
"""Sources only limit unsaponifiable matter from above; halfway to the limit stands for what is in."""


class FattyAcid(NamedTuple):
    """A fatty acid: its trade name, molar mass in g/mol, and number of double bonds."""

    name: str
    molar_mass: float
    double_bonds: int


class Source(NamedTuple):
    """Where a fact comes from. ``provenance`` is "verified" (the number was seen there) or "memory"."""

    what: str
    source: str
    seen_at: str
    provenance: str


@dataclass(frozen=True, slots=True)
class FatReference:
    """What is published on one fat. Mappings are by shorthand such as "C18:1"; None means not found.

    ``density`` is in g/mL at ``density_celsius`` (None when the source gives no temperature),
    ``unsaponifiable_max`` in g/kg.
    """

    key: str
    name: str
    organism: str
    kind: FatKind
    inci_name: str
    inci_sodium_soap: str
    inci_potassium_soap: str
    sap: Sap | None
    nominal_from: str
    iodine_low: float | None
    iodine_high: float | None
    density: float | None
    density_celsius: float | None
    unsaponifiable_max: float | None
    profile: Mapping[str, tuple[float, float]]
    typical: Mapping[str, float]
    sources: tuple[Source, ...]
    note: str

    @classmethod
    def unknown(cls, name: str) -> FatReference:
        """A fat that the table does not hold, of which nothing is known yet."""
        return cls(
            key="",
            name=name,
            organism="mixed",
            kind=FatKind.TRIGLYCERIDE,
            inci_name="",
            inci_sodium_soap="",
            inci_potassium_soap="",
            sap=None,
            nominal_from="",
            iodine_low=None,
            iodine_high=None,
            density=None,
            density_celsius=None,
            unsaponifiable_max=None,
            profile={},
            typical={},
            sources=(),
            note="",
        )

    @property
    def triglyceride(self) -> bool:
        """Whether it gives glycerin; a wax or a free acid does not."""
        return self.kind is FatKind.TRIGLYCERIDE

    @property
    def reacts_cold(self) -> bool:
        """Waxes and lanolin hardly react in cold process: common practice, no source."""
        return self.kind is not FatKind.WAX


@cache
def fatty_acids() -> Mapping[str, FattyAcid]:
    """All fatty acids by shorthand. C18:1-OH is ricinoleic acid, C18:3n6 gamma-linolenic acid."""
    return MappingProxyType(
        {
            row["acid"]: FattyAcid(row["name"], molar_mass(row["formula"]), int(row["double_bonds"]))
            for row in rows("fatty_acids.csv")
        }
    )


def sap_from_composition(acids: Mapping[str, float], *, unsaponifiable_g_per_kg: float = 0.0) -> float:
    """Saponification value of triglycerides of these fatty acids (mass shares, any total).

    Stoichiometry on the idea of AOCS Cd 3a-94: mean acid m, mean triglyceride T = 3 m + glycerol - 3 water,
    value 3000 M_KOH / T, less the share of unsaponifiable matter. Raises ValueError for an empty
    composition or a negative share, KeyError for an unknown acid.
    """
    pure = 3000 * M_KOH / _mean_triglyceride(acids)[0]
    return pure * (1 - unsaponifiable_g_per_kg / 1000)


def iodine_from_composition(acids: Mapping[str, float]) -> float:
    """Iodine value of triglycerides of these fatty acids, one I2 per double bond. Errors as above."""
    mass, double_bonds = _mean_triglyceride(acids)
    return 300 * double_bonds * M_IODINE / mass


def _mean_triglyceride(acids: Mapping[str, float]) -> tuple[float, float]:
    """Mean molar mass of the triglyceride, and mean number of double bonds of one acid."""
    total = sum(acids.values())
    if not total > 0 or min(acids.values()) < 0:
        raise ValueError("A composition needs shares of fatty acids above zero.")
    mol = {acid: share / fatty_acids()[acid].molar_mass for acid, share in acids.items()}
    all_mol = sum(mol.values())
    double_bonds = sum(amount * fatty_acids()[acid].double_bonds for acid, amount in mol.items()) / all_mol
    return 3 * total / all_mol + M_GLYCEROL - 3 * M_WATER, double_bonds


@cache
def reference_fats() -> Mapping[str, FatReference]:
    """All reference fats by key, in the order of the table."""
    profiles: dict[str, dict[str, tuple[float, float]]] = {}
    typical: dict[str, dict[str, float]] = {}
    sources: dict[str, dict[Source, None]] = {}
    for row in rows("fat_profiles.csv"):
        ends = float(row["low_percent"]), float(row["high_percent"])
        profiles.setdefault(row["fat"], {})[row["acid"]] = ends
        sources.setdefault(row["fat"], {})[_source("range of fatty acids", row)] = None
    for row in rows("fat_typical.csv"):
        typical.setdefault(row["fat"], {})[row["acid"]] = float(row["percent"])
        sources.setdefault(row["fat"], {})[_source("typical fatty acids", row)] = None
    return MappingProxyType(
        {
            row["key"]: _reference(
                row,
                MappingProxyType(profiles.get(row["key"], {})),
                MappingProxyType(typical.get(row["key"], {})),
                tuple(sources.get(row["key"], {})),
            )
            for row in rows("fats.csv")
        }
    )


def _source(what: str, row: Mapping[str, str]) -> Source:
    return Source(what, row["source"], row["seen_at"], row["provenance"])


def _reference(
    row: Mapping[str, str],
    profile: Mapping[str, tuple[float, float]],
    typical: Mapping[str, float],
    acid_sources: tuple[Source, ...],
) -> FatReference:
    sap, nominal_from = _sap(row, profile, typical)
    return FatReference(
        key=row["key"],
        name=row["name"],
        organism=row["organism"],
        kind=FatKind(row["kind"]),
        inci_name=row["inci_name"],
        inci_sodium_soap=row["inci_sodium_soap"],
        inci_potassium_soap=row["inci_potassium_soap"],
        sap=sap,
        nominal_from=nominal_from,
        iodine_low=_number(row["iodine_low"]),
        iodine_high=_number(row["iodine_high"]),
        density=_density(row),
        density_celsius=_number(row["density_celsius"]) if row["relative_density_low"] else None,
        unsaponifiable_max=_number(row["unsaponifiable_max_g_per_kg"]),
        profile=profile,
        typical=typical,
        sources=(
            _source("saponification value, iodine value, density, unsaponifiable matter", row),
            *acid_sources,
            Source("INCI and soap names", "International nomenclature", "", row["inci_provenance"]),
        ),
        note=row["note"],
    )


def _number(text: str) -> float | None:
    return float(text) if text else None


def _density(row: Mapping[str, str]) -> float | None:
    """Relative density at mid-range times the density of the water it is relative to."""
    if not row["relative_density_low"]:
        return None
    relative = (float(row["relative_density_low"]) + float(row["relative_density_high"])) / 2
    return round(relative * water_density(float(row["water_celsius"])), 4)


def _sap(
    row: Mapping[str, str], profile: Mapping[str, tuple[float, float]], typical: Mapping[str, float]
) -> tuple[Sap, str]:
    """Range and nominal value, and in plain words how the nominal value came about."""
    low, high = _number(row["sap_low"]), _number(row["sap_high"])
    if low is None or high is None:
        nominal, words = _from_typical(row, typical)
        margin = UNKNOWN_RANGE * nominal
        words += f"; no range is published, so {100 * UNKNOWN_RANGE:.0f} % either way is assumed"
        return Sap(round(nominal - margin, 1), nominal, round(nominal + margin, 1), row["source"]), words
    if low == high:
        return Sap(low, low, high, row["source"]), "the one published value"
    if not typical:
        return _middle(low, high, row["source"], profile)
    nominal, words = _from_typical(row, typical)
    held = min(max(nominal, low), high)
    if held != nominal:
        words += f"; held inside the published range at {held:g}"
    return Sap(low, held, high, row["source"]), words


def _from_typical(row: Mapping[str, str], typical: Mapping[str, float]) -> tuple[float, str]:
    limit = _number(row["unsaponifiable_max_g_per_kg"])
    share = _ACTUAL_SHARE * (limit or 0.0)
    nominal = round(sap_from_composition(typical, unsaponifiable_g_per_kg=share), 1)
    words = f"{nominal:g} from the typical fatty acids"
    if limit:
        words += f" less {share:g} g/kg unsaponifiable matter (half the published limit)"
    return nominal, words


def _middle(
    low: float, high: float, source: str, profile: Mapping[str, tuple[float, float]]
) -> tuple[Sap, str]:
    """Middle of the published range, opened downwards where its own fatty acids cannot take up that much."""
    words = "the middle of the published range"
    if profile:
        computed = round(sap_from_composition({acid: sum(ends) / 2 for acid, ends in profile.items()}), 1)
        if computed < low:
            low, words = computed, f"{words}, opened down to the {computed:g} its fatty acids give"
    return Sap(low, round((low + high) / 2, 2), high, source), words
