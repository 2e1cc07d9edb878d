"""Whether the saponification value of a fat can be right, judged by the fatty acids published for it."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.models import Kind, Lot, Material
from shared.fats import FatReference, reference_fats
from shared.plausible import Bounds, Verdict, explain_sap, judge, sap_bounds
from soapshop.core.words import in_words


@dataclass(frozen=True, slots=True)
class SapDoubt:
    """A value that cannot be right, with what might have happened; `lot` where its certificate says it."""

    material: Material
    lot: Lot | None
    words: str
    hint: str


@dataclass(frozen=True, slots=True)
class SapFromAcids:
    """The saponification value that a fat's published fatty acids give, with its bounds, in mg KOH/g.

    `acids` are the fatty acids in words and their shares in per cent, as `acids_source` gives them.
    """

    bounds: Bounds
    formula: str
    acids: tuple[tuple[str, float], ...]
    acids_source: str
    source: str


def sap_doubt(material: Material, lot: Lot | None = None) -> SapDoubt | None:
    """What is wrong with the certificate of the lot, or else with the material's own value.

    None for a value that can be right, and where nothing is published to judge it by. No queries.
    """
    reference, certified = _reference(material), lot if lot and lot.sap is not None else None
    value = certified.sap if certified else material.sap_nominal
    if reference is None or value is None:
        return None
    margin = certified.sap_uncertainty if certified else None
    judged = judge(float(value), reference, uncertainty=float(margin or 0))
    if judged is None or judged.verdict is not Verdict.CANNOT_BE:
        return None
    return SapDoubt(material, certified, in_words(judged.words), in_words(judged.hint or ""))


def sap_from_acids(material: Material) -> SapFromAcids | None:
    """What the published fatty acids of a fat say of its value; None where none are published."""
    reference = _reference(material)
    explained = explain_sap(reference) if reference else None
    bounds = sap_bounds(reference) if reference else None
    if explained is None or bounds is None:
        return None
    return SapFromAcids(
        bounds=bounds,
        formula=in_words(explained.formula),
        acids=tuple((in_words(given.name), given.value) for given in explained.given),
        acids_source=explained.given[0].source,
        source=in_words(explained.source),
    )


def _reference(material: Material) -> FatReference | None:
    return reference_fats().get(material.reference) if material.kind == Kind.FAT else None
