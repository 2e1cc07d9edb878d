"""Liquids and additives that are more than water: what they are made of, and what of it takes alkali.

All contents are g per 100 g. What is published stands in ``shared/data/liquids.csv`` with its source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

from shared.chemistry import AcidKind
from shared.fats import Source, reference_fats
from shared.ingredients import LOWEST_SAP, MAX_GRAMS, Acid, Fat, FormulaError, Sap
from shared.tables import rows
from shared.words import Phrase

_ROUNDING: Final = 0.05
"""g per 100 g by which published contents may add up to more than everything."""
_SCORCHES_FROM: Final = 2.0
"""g per 100 g of sugar, or of protein and the like, from which hot lye browns a liquid: common practice."""


@dataclass(frozen=True, slots=True)
class Liquid:
    """What a liquid, or an additive, is made of in g per 100 g.

    ``sap`` is that of its fat, ``fat_reference`` the fat's key in the table of fats where it has one.
    ``acid_least`` is the least acid that it may hold: more of it would only leave more fat unsaponified.
    Protein, fibre, minerals and salts other than common salt are what is left: ``other``.
    """

    name: str
    water: float
    fat: float = 0.0
    fat_low: float = 0.0
    fat_high: float = 0.0
    sap: Sap | None = None
    fat_reference: str = ""
    sugar: float = 0.0
    salt: float = 0.0
    alcohol: float = 0.0
    acid: AcidKind | None = None
    acid_least: float = 0.0
    source: str = ""

    @property
    def other(self) -> float:
        known = self.water + self.fat + self.sugar + self.salt + self.alcohol + self.acid_least
        return max(100 - known, 0.0)

    @property
    def scorches(self) -> bool:
        """Whether hot lye browns it: sugar or protein. Common practice, no source."""
        return self.sugar >= _SCORCHES_FROM or self.other >= _SCORCHES_FROM

    @property
    def effective_sap(self) -> Sap | None:
        """Saponification value of the liquid as a whole, in mg KOH per g of liquid; None where it takes none.

        As wide as the content of fat and the fat's own value allow. A liquid whose fat may come to less
        than 1 mg KOH/g counts as free of fat, which leaves a little more fat unsaponified than is shown.
        """
        if self.sap is None or self.fat_low * self.sap.low / 100 < LOWEST_SAP:
            return None
        return Sap(
            self.fat_low * self.sap.low / 100,
            self.fat * self.sap.nominal / 100,
            self.fat_high * self.sap.high / 100,
            self.sap.source,
        )

    def fat_in(self, grams: float, lot: str = "") -> Fat | None:
        """So many grams of the liquid as a fat of low saponification value, for the safety range."""
        sap = self.effective_sap
        return Fat(self.name, grams, sap, lot) if sap and grams > 0 else None

    def acid_in(self, grams: float) -> Acid | None:
        """So many grams of the liquid as an acid solution, counted at the least it may hold."""
        if self.acid is None or not self.acid_least > 0 or not grams > 0:
            return None
        return Acid(self.acid, grams, self.acid_least)

    def mol_per_gram(self, superfat: float) -> float:
        """Mol of alkali that a gram calls for: its fat less the superfat in %, and its acid."""
        fat, acid = self.fat_in(1.0), self.acid_in(1.0)
        return (fat.mol * (1 - superfat / 100) if fat else 0.0) + (acid.mol if acid else 0.0)


WATER: Final = Liquid("Water", 100.0, source="Definition")


@dataclass(frozen=True, slots=True)
class LiquidReference:
    """A liquid or additive of the table. ``usual`` is the usual share in % of the fats, common practice."""

    key: str
    liquid: Liquid
    additive: bool
    inci_name: str
    usual: tuple[float, float] | None
    sources: tuple[Source, ...]
    note: str


@cache
def reference_liquids() -> Mapping[str, LiquidReference]:
    """All liquids and additives of the table by key, in its order."""
    return MappingProxyType({row["key"]: _reference(row) for row in rows("liquids.csv")})


def _reference(row: Mapping[str, str]) -> LiquidReference:
    fat = reference_fats()[row["fat_reference"]] if row["fat_reference"] else None
    liquid = Liquid(
        name=row["name"],
        water=float(row["water"]),
        fat=float(row["fat"]),
        fat_low=float(row["fat_low"] or 0),
        fat_high=float(row["fat_high"] or 0),
        sap=fat.sap if fat else None,
        fat_reference=row["fat_reference"],
        sugar=float(row["sugar"]),
        salt=float(row["salt"]),
        alcohol=float(row["alcohol"]),
        acid=AcidKind(row["acid"]) if row["acid"] else None,
        acid_least=float(row["acid_least"] or 0),
        source=row["source"],
    )
    sources = [Source("composition", row["source"], row["seen_at"], row["provenance"])]
    if row["acid"]:
        sources.append(Source("acid", row["acid_source"], "", row["acid_provenance"]))
    sources.append(Source("INCI name", "International nomenclature", "", row["inci_provenance"]))
    usual = (float(row["usual_low"]), float(row["usual_high"])) if row["usual_low"] else None
    return LiquidReference(
        key=row["key"],
        liquid=liquid,
        additive=row["use"] == "additive",
        inci_name=row["inci_name"],
        usual=usual,
        sources=tuple(sources),
        note=row["note"],
    )


def mixture(name: str, parts: Iterable[tuple[Liquid, float]]) -> Liquid:
    """A liquid mixed of others, each with its grams: brine, sugar solution, honey water.

    Its fat takes the widest range that those of its parts span. Raises FormulaError for an empty mixture,
    a weight that makes no sense, and two different acids.
    """
    weighed = [(liquid, grams) for liquid, grams in parts if grams != 0]
    total = sum(grams for _, grams in weighed)
    if not all(0 < grams <= MAX_GRAMS for _, grams in weighed) or not total > 0:
        raise FormulaError("liquid", Phrase("%(name)s: give the weight of what it is mixed of.", name=name))
    acids = {liquid.acid for liquid, _ in weighed if liquid.acid}
    if len(acids) > 1:
        raise FormulaError(
            "liquid", Phrase("%(name)s: two acids in one liquid cannot be told apart.", name=name)
        )
    fatty = [(liquid, grams) for liquid, grams in weighed if liquid.sap]
    keys = {liquid.fat_reference for liquid, _ in fatty}

    def mean(content: str) -> float:
        return float(sum(getattr(liquid, content) * grams for liquid, grams in weighed)) / total

    return Liquid(
        name=name,
        fat_reference=keys.pop() if len(keys) == 1 else "",
        sap=_widest(fatty),
        acid=acids.pop() if acids else None,
        source=Phrase("Mixed of %(parts)s", parts=", ".join(liquid.name for liquid, _ in weighed)),
        **{content: mean(content) for content in _CONTENTS},
    )


_CONTENTS: Final = ("water", "fat", "fat_low", "fat_high", "sugar", "salt", "alcohol", "acid_least")


def _widest(fatty: Iterable[tuple[Liquid, float]]) -> Sap | None:
    """Saponification value of the fats of several liquids together, the nominal one by weight of fat."""
    saps = [(liquid.sap, liquid.fat * grams) for liquid, grams in fatty if liquid.sap]
    grams = sum(weight for _, weight in saps)
    if not grams > 0:
        return None
    nominal = sum(sap.nominal * weight for sap, weight in saps) / grams
    low, high = min(sap.low for sap, _ in saps), max(sap.high for sap, _ in saps)
    # the mean of several numbers may come out a rounding error beyond all of them
    return Sap(low, min(max(nominal, low), high), high, saps[0][0].source)


def check_liquid(liquid: Liquid) -> None:
    """Raise FormulaError unless the contents make sense and add up to no more than 100 g in 100 g."""
    contents = [getattr(liquid, content) for content in _CONTENTS]
    if not all(0 <= content <= 100 for content in contents):
        raise FormulaError(
            "liquid",
            Phrase("%(name)s: each content must lie between 0 and 100 g in 100 g.", name=liquid.name),
        )
    if 100 - sum(contents) + liquid.fat_low + liquid.fat_high < -_ROUNDING:
        raise FormulaError(
            "liquid",
            Phrase("%(name)s: its contents add up to more than 100 g in 100 g.", name=liquid.name),
        )
    if liquid.sap and not liquid.fat_low <= liquid.fat <= liquid.fat_high:
        raise FormulaError(
            "liquid", Phrase("%(name)s: its fat must lie inside the range of it.", name=liquid.name)
        )
