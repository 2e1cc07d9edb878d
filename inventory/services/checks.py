"""What a material cannot be: figures that make no sense, and what belongs to another kind.

Every check gives its problems by field, in words; none where all is well.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.utils.translation import gettext

from inventory.models import Kind, Material
from inventory.services.lots import SAP_MOST, too_strong
from shared.fats import fatty_acids, reference_fats
from shared.ingredients import FormulaError
from shared.liquids import check_liquid
from soapshop.core.words import in_words, with_decimal_sign

SHARES = ("water", "fat", "fat_low", "fat_high", "sugar", "salt", "alcohol")
CONTENTS = (*SHARES, "fat_reference", "composition_source", "acid", "acid_least")

OF_KIND: dict[str, tuple[str, ...]] = {
    Kind.FAT: (
        "sap_low",
        "sap_nominal",
        "sap_high",
        "sap_source",
        "fat_kind",
        "origin",
        "profile",
        "antioxidant",
    ),
    Kind.ALKALI: ("alkali", "purity_low", "purity_high", "dissolved"),
    Kind.ADDITIVE: (*CONTENTS, "antioxidant"),
    Kind.COLOUR: ("colour",),
    Kind.LIQUID: CONTENTS,
    Kind.FRAGRANCE: (),
    Kind.EMBED: ("colour", "piece_grams", "piece_length"),
    Kind.TOPPING: ("colour",),
    Kind.BATTER: (),
    Kind.PACKAGING: (),
}

# g of fat in 100 g below which it takes too little lye to count (about 1 mg KOH/g), whichever fat it is.
TRACE_OF_FAT = Decimal("0.5")

# What the fatty acids of a certificate add up to, in per cent: traces are left out, figures are rounded.
# Common practice, no source.
PROFILE_LEAST, PROFILE_MOST = 90, 102


def check(material: Material) -> None:
    """Raise ValidationError by field for what such a material cannot be."""
    material.clean_fields(exclude=["supplier"])
    problems = _foreign_fields(material) | _sap_problems(material) | _purity_problems(material)
    problems |= _content_problems(material) | _piece_problems(material)
    if wrong := profile_problem(material.profile):
        problems["profile"] = wrong
    if material.density is not None and material.density <= 0:
        problems["density"] = gettext("A density is more than nothing.")
    if material.reorder_level is not None and material.reorder_level < 0:
        problems["reorder_level"] = gettext("A reorder level cannot be below zero.")
    if problems:
        raise ValidationError(problems)


def profile_problem(profile: Mapping[str, float]) -> str:
    """Why these fatty acids, in per cent of all of them, cannot be those of a fat; empty where they can."""
    if not profile:
        return ""
    for acid, share in profile.items():
        if acid not in fatty_acids():
            return gettext("%(acid)s is no fatty acid that is known here.") % {"acid": acid}
        if not 0 < share <= 100:
            return gettext("%(acid)s: a share lies above 0 and up to 100 %%.") % {"acid": acid}
    total = round(sum(profile.values()), 3)
    if PROFILE_LEAST <= total <= PROFILE_MOST:
        return ""
    words = gettext(
        "These add up to %(total)s %%. The fatty acids of a certificate make %(least)s to %(most)s %%."
    )
    figures = {"least": PROFILE_LEAST, "most": PROFILE_MOST}
    return words % {"total": with_decimal_sign(f"{total:g}"), **figures}


def _foreign_fields(material: Material) -> dict[str, str]:
    """Values that another kind of material would have."""
    others = {name for names in OF_KIND.values() for name in names} - set(OF_KIND[material.kind])
    kind = material.get_kind_display().lower()
    words = gettext("This does not belong to the kind “%(kind)s”.") % {"kind": kind}
    return {name: words for name in others if getattr(material, name)}


def _sap_problems(material: Material) -> dict[str, str]:
    low, nominal, high = material.sap_low, material.sap_nominal, material.sap_high
    if low is None and nominal is None and high is None:
        return {}
    if nominal is None or low is None or high is None:
        return {"sap_nominal": gettext("Give the usual value as well: the lye is worked out from it.")}
    if not 0 < nominal <= SAP_MOST:
        return {"sap_nominal": gettext("A saponification value lies between 0 and 700 mg KOH/g.")}
    if not 0 < low <= nominal:
        return {"sap_low": gettext("The lowest value must be above 0 and not above the usual one.")}
    if not nominal <= high <= SAP_MOST:
        words = gettext("The highest value must not be below the usual one, nor above 700 mg KOH/g.")
        return {"sap_high": words}
    return {}


def _purity_problems(material: Material) -> dict[str, str]:
    if material.kind != Kind.ALKALI:
        return {}
    problems = {} if material.alkali else {"alkali": gettext("Say which alkali it is.")}
    low, high = material.purity_low, material.purity_high
    if low is None or not 0 < low <= 100:
        problems["purity_low"] = gettext("A purity lies between 0 and 100 %.")
    elif high is None or not low <= high <= 100:
        problems["purity_high"] = gettext("The highest purity lies between the lowest and 100 %.")
    elif words := too_strong(material, high):
        problems["purity_high"] = words
    return problems


def _content_problems(material: Material) -> dict[str, str]:
    words = gettext("This lies between 0 and 100 g in 100 g.")
    given = {name: getattr(material, name) for name in SHARES}
    problems = {name: words for name, share in given.items() if share is not None and not 0 <= share <= 100}
    problems |= _acid_problems(material)
    return problems or _fat_problems(material) or _whole_problems(material)


def _piece_problems(material: Material) -> dict[str, str]:
    problems: dict[str, str] = {}
    if material.piece_grams is not None and material.piece_grams <= 0:
        problems["piece_grams"] = gettext("A piece weighs more than nothing.")
    if material.piece_length is not None and material.piece_length <= 0:
        problems["piece_length"] = gettext("A piece takes more than nothing of the loaf.")
    return problems


def _acid_problems(material: Material) -> dict[str, str]:
    least = material.acid_least
    if least is not None and not 0 < least <= 100:
        return {"acid_least": gettext("The share of the acid lies above 0 and up to 100 g in 100 g.")}
    if not material.acid:
        return {"acid": gettext("Say which acid it is.")} if least is not None else {}
    if least is None and (material.kind == Kind.LIQUID or material.water is not None):
        words = gettext(
            "Say how much acid is in it at least. Counted as all acid, it would call for far too much lye."
        )
        return {"acid_least": words}
    return {}


def _fat_problems(material: Material) -> dict[str, str]:
    low, high = material.fat_low, material.fat_high
    if not material.fat_reference:
        if material.fat >= TRACE_OF_FAT or low is not None or high is not None:
            return {"fat_reference": gettext("Say which fat it is: the lye for it is worked out from that.")}
        return {}
    if material.fat_reference not in reference_fats():
        return {"fat_reference": gettext("This is none of the fats that can be chosen.")}
    if not material.fat:
        return {"fat": gettext("Say how much fat is in it.")}
    if low is None or low > material.fat:
        return {"fat_low": gettext("The least fat is above the usual content.")}
    if high is None or high < material.fat:
        return {"fat_high": gettext("The most fat is below the usual content.")}
    return {}


def _whole_problems(material: Material) -> dict[str, str]:
    contents = material.contents
    if contents is None:
        said = material.fat or material.sugar or material.salt or material.alcohol
        if said or (material.acid and material.kind == Kind.LIQUID):
            return {"water": gettext("Say how much water is in it as well: the rest is worked out from it.")}
        return {}
    try:
        check_liquid(contents)
    except FormulaError as error:
        return {"water": in_words(error.args[0])}
    return {}
