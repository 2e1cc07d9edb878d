"""A material as a file tells it: with its units in its keys, and nothing that is not known."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext

from inventory.models import Material
from recipes.portions import GOES_INTO_PORTIONS
from shared.fats import reference_fats

# Our own names of plain texts, and the file's.
_TEXTS = {
    "inci_name": "inci_name",
    "reference": "catalogue_key",
    "fat_kind": "fat_kind",
    "origin": "origin",
    "alkali": "alkali",
    "colour": "colour",
}
_CONTENTS = ("water", "fat", "fat_low", "fat_high", "sugar", "salt", "alcohol")
_SAP = {"low": "sap_low", "usual": "sap_nominal", "high": "sap_high"}
_NUMBERS = {"density": "density_g_per_ml", "piece_grams": "piece_g", "piece_length": "piece_length_mm"}
_LONGEST_SOURCE = 300


def number(value: Decimal) -> int | float:
    """As a file writes it: without the zeros that the column adds."""
    return int(value) if value == value.to_integral_value() else float(value)


def told(material: Material) -> dict[str, Any]:
    """What a file says of a material."""
    said: dict[str, Any] = {"name": material.name, "kind": material.kind}
    said |= {key: getattr(material, ours) for ours, key in _TEXTS.items() if getattr(material, ours)}
    known = {key: getattr(material, ours) for ours, key in _NUMBERS.items()}
    said |= {key: number(value) for key, value in known.items() if value is not None}
    if material.sap is not None:
        said["saponification_mg_koh_per_g"] = _sap_told(material)
    if material.profile:
        said["fatty_acids_percent"] = material.profile
    if material.purity_low is not None and material.purity_high is not None:
        said["purity_percent"] = {
            "low": number(material.purity_low),
            "high": number(material.purity_high),
        }
    if material.water is not None:
        said["contents_g_per_100_g"] = _contents_told(material)
    if material.acid:
        said["acid"] = _acid_told(material)
    flags = {"solution": material.dissolved, "antioxidant": material.antioxidant}
    return said | {key: True for key, true in flags.items() if true}


def fields(said: Mapping[str, Any], file: str) -> dict[str, Any]:
    """What the catalogue keeps of a material that a file tells, with the file as the source."""
    found: dict[str, Any] = {
        ours: said[key] for ours, key in _TEXTS.items() if key in said and ours != "reference"
    }
    found |= {ours: Decimal(said[key]) for ours, key in _NUMBERS.items() if key in said}
    if "fatty_acids_percent" in said:
        found["profile"] = {acid: float(share) for acid, share in said["fatty_acids_percent"].items()}
    if "purity_percent" in said:
        found["purity_low"] = Decimal(said["purity_percent"]["low"])
        found["purity_high"] = Decimal(said["purity_percent"]["high"])
    flags = {"dissolved": "solution", "antioxidant": "antioxidant"}
    found |= {ours: True for ours, key in flags.items() if said.get(key)}
    return found | _sap_fields(said, file) | _contents_fields(said, file) | _acid_fields(said)


def unknown_fat(said: Mapping[str, Any]) -> str:
    """Why what is in a liquid cannot be worked out here; nothing where it can."""
    contents = said.get("contents_g_per_100_g", {})
    if not contents.get("fat") or contents.get("fat_key") in reference_fats():
        return ""
    words = gettext("The file does not say which fat is in %(material)s, or it is none that is known here.")
    return words % {"material": said["name"]}


def differences(material: Material, said: Mapping[str, Any]) -> str:
    """What the weights hang on and the file says otherwise; nothing where both agree."""
    ours = told(material)
    for key, words in (
        ("saponification_mg_koh_per_g", gettext("another saponification value: %(theirs)s mg KOH/g")),
        ("purity_percent", gettext("another purity: %(theirs)s %%")),
    ):
        if key in said and _range(ours.get(key)) != _range(said[key]):
            return words % {"theirs": _as_range(said[key])}
    density = said.get("density_g_per_ml")
    if said["kind"] in GOES_INTO_PORTIONS and density and float(density) != ours.get("density_g_per_ml"):
        return gettext("another density: %(theirs)s g/mL") % {"theirs": density}
    for key, words in (
        ("contents_g_per_100_g", gettext("other contents")),
        ("acid", gettext("another acid, or another share of it")),
    ):
        if key in said and _compared(ours.get(key)) != _compared(said[key]):
            return words
    return ""


def _sap_told(material: Material) -> dict[str, Any]:
    said: dict[str, Any] = {key: number(getattr(material, ours)) for key, ours in _SAP.items()}
    return said | ({"source": material.sap_source} if material.sap_source else {})


def _contents_told(material: Material) -> dict[str, Any]:
    known = {name: getattr(material, name) for name in _CONTENTS}
    said: dict[str, Any] = {name: number(value) for name, value in known.items() if value or name == "water"}
    if material.fat_reference:
        said["fat_key"] = material.fat_reference
    contents = material.contents
    if contents and contents.sap:
        sap = contents.sap
        said["fat_saponification_mg_koh_per_g"] = {"low": sap.low, "usual": sap.nominal, "high": sap.high}
    return said | ({"source": material.composition_source} if material.composition_source else {})


def _acid_told(material: Material) -> dict[str, Any]:
    least = material.acid_least
    return {"kind": material.acid} | ({} if least is None else {"least_percent": number(least)})


def _sap_fields(said: Mapping[str, Any], file: str) -> dict[str, Any]:
    sap = said.get("saponification_mg_koh_per_g")
    if sap is None:
        return {}
    found: dict[str, Any] = {ours: Decimal(sap[key]) for key, ours in _SAP.items()}
    return found | {"sap_source": _source(sap.get("source", ""), file)}


def _contents_fields(said: Mapping[str, Any], file: str) -> dict[str, Any]:
    contents = said.get("contents_g_per_100_g")
    if contents is None:
        return {}
    found: dict[str, Any] = {name: Decimal(contents[name]) for name in _CONTENTS if name in contents}
    found |= {"fat_reference": contents["fat_key"]} if contents.get("fat") else {}
    return found | {"composition_source": _source(contents.get("source", ""), file)}


def _acid_fields(said: Mapping[str, Any]) -> dict[str, Any]:
    acid = said.get("acid")
    if acid is None:
        return {}
    least = acid.get("least_percent")
    return {"acid": acid["kind"]} | ({} if least is None else {"acid_least": Decimal(least)})


def _source(source: str, file: str) -> str:
    words = gettext("from the file %(file)s: %(source)s") if source else gettext("from the file %(file)s")
    return (words % {"file": file, "source": source})[:_LONGEST_SOURCE]


def _range(said: Mapping[str, Any] | None) -> tuple[float | None, ...]:
    return tuple(
        None if said is None or key not in said else float(said[key]) for key in ("low", "usual", "high")
    )


def _as_range(said: Mapping[str, Any]) -> str:
    return gettext("%(low)s to %(high)s") % {"low": said["low"], "high": said["high"]}


def _compared(said: Mapping[str, Any] | None) -> dict[str, Any]:
    """What of contents or an acid the weights hang on."""
    told_of = {"source", "fat_saponification_mg_koh_per_g"}
    return {
        key: value if isinstance(value, str) else float(value)
        for key, value in (said or {}).items()
        if key not in told_of and value
    }
