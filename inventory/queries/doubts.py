"""Whether the saponification value of a fat, or the purity of an alkali, can be right."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.utils.translation import gettext

from inventory.models import Lot, Material
from shared.fats import FatReference, reference_fats
from shared.plausible import Bounds, Verdict, explain_sap, judge, sap_bounds
from soapshop.core.templatetags.soapshop import trimmed
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
    """The saponification value that a fat's fatty acids give, with its bounds, in mg KOH/g.

    `acids` are the fatty acids in words and their shares in per cent, as `acids_source` gives them.
    """

    bounds: Bounds
    formula: str
    acids: tuple[tuple[str, float], ...]
    acids_source: str
    source: str


def sap_doubt(material: Material, lot: Lot | None = None) -> SapDoubt | None:
    """What is wrong with the certificate of the lot, or else with the material's own value.

    Judged by its own fatty acids, else the published ones. None for a value that can be right, and where no
    acids are known to judge it by. No queries.
    """
    reference, certified = _judged_by(material), lot if lot and lot.sap is not None else None
    value = certified.sap if certified else material.sap_nominal
    if reference is None or value is None:
        return None
    margin = certified.sap_uncertainty if certified else None
    judged = judge(float(value), reference, uncertainty=float(margin or 0))
    if judged is None or judged.verdict is not Verdict.CANNOT_BE:
        return None
    return SapDoubt(material, certified, in_words(judged.words), in_words(judged.hint or ""))


def sap_from_acids(material: Material) -> SapFromAcids | None:
    """What the fatty acids of a fat, its own or the published ones, say of its value; None without any."""
    reference = _judged_by(material)
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


def _judged_by(material: Material) -> FatReference | None:
    """What is known of a fat, without the published value where its own fatty acids say otherwise.

    A fat that the table does not hold may have as much unsaponifiable matter as any that it holds.
    """
    known = material.published
    if known is None or not material.profile:
        return known
    if known.key:
        return replace(known, sap=None)
    fats = (fat for fat in reference_fats().values() if fat.triglyceride)
    return replace(known, unsaponifiable_max=max(fat.unsaponifiable_max or 0.0 for fat in fats))


def purity_doubt(lot: Lot) -> str:
    """What to say of a certificate that lies outside the purities known of the alkali; else empty."""
    if lot.purity is None or lot.material.purity_low is None or lot.material.purity_high is None:
        return ""
    margin = lot.purity_uncertainty or 0
    if lot.material.purity_low <= lot.purity + margin and lot.purity - margin <= lot.material.purity_high:
        return ""
    words = gettext(
        "The certificate says %(purity)s %%, but %(material)s holds %(low)s to %(high)s %%. If the lot is "
        "another grade, or old and damp, the lye is weighed by the certificate."
    )
    return words % {
        "purity": trimmed(lot.purity),
        "material": lot.material.name,
        "low": trimmed(lot.material.purity_low),
        "high": trimmed(lot.material.purity_high),
    }
