"""A mould as a file tells it: with its units in its keys, and only what its shape has."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext

from recipes.exchange.materials import number
from recipes.models import Mould, Shape

# Our own names, and the file's.
_LENGTHS = {
    "length": "length_mm",
    "width": "width_mm",
    "depth": "depth_mm",
    "diameter": "diameter_mm",
    "millilitres": "millilitres",
    "liner": "liner_mm",
    "trim": "trim_mm",
    "kerf": "kerf_mm",
}
_NUMBERS = ("cavities", "bars", "rows")
_NONE_IF_NOT_SAID = ("liner_mm", "trim_mm", "kerf_mm")


def told(mould: Mould) -> dict[str, Any]:
    """What a file says of a mould."""
    said: dict[str, Any] = {"name": mould.name, "shape": mould.shape}
    lengths = {key: getattr(mould, ours) for ours, key in _LENGTHS.items()}
    said |= {key: number(value) for key, value in lengths.items() if value}
    said |= {name: getattr(mould, name) for name in _NUMBERS if getattr(mould, name)}
    return said | ({"note": mould.note} if mould.note else {})


def fields(said: Mapping[str, Any]) -> dict[str, Any]:
    """What the workshop keeps of a mould that a file tells, but for its name."""
    lengths = {ours: Decimal(said[key]) for ours, key in _LENGTHS.items() if key in said}
    numbers = {name: int(said[name]) for name in _NUMBERS if name in said}
    return {"shape": said["shape"], **lengths, **numbers, "note": said.get("note", "").strip()}


def differences(mould: Mould, said: Mapping[str, Any]) -> str:
    """What the file says otherwise of what the mould holds and how it is cut; nothing where both agree."""
    if said["shape"] != mould.shape:
        return gettext("another shape: %(theirs)s") % {"theirs": Shape(said["shape"]).label}
    known = told(mould)
    for key, words in _words().items():
        ours = known.get(key, 0)
        theirs = said.get(key, 0 if key in _NONE_IF_NOT_SAID else ours)
        if float(theirs) != float(ours):
            return words % {"theirs": theirs}
    return ""


def _words() -> dict[str, str]:
    return {
        "length_mm": gettext("another length: %(theirs)s mm"),
        "width_mm": gettext("another width: %(theirs)s mm"),
        "depth_mm": gettext("another depth: %(theirs)s mm"),
        "diameter_mm": gettext("another diameter: %(theirs)s mm"),
        "cavities": gettext("another number of cavities: %(theirs)s"),
        "millilitres": gettext("that it holds something else: %(theirs)s mL"),
        "liner_mm": gettext("another thickness of the liner: %(theirs)s mm"),
        "bars": gettext("another number of bars: %(theirs)s"),
        "rows": gettext("another number of rows: %(theirs)s"),
        "trim_mm": gettext("that something else is cut off each end: %(theirs)s mm"),
        "kerf_mm": gettext("that a cut takes something else: %(theirs)s mm"),
    }
