"""Steps between two looks at the form of a look: a portion more or less, earlier or later, a row in one.

Each takes the fields as they were typed and changes them; nothing is saved.
"""

from __future__ import annotations

from decimal import Decimal

from django.http import QueryDict
from django.utils.translation import gettext

from recipes.forms.look import AS_RECIPE, KEYS, IntoRow, keys
from recipes.models import Destination, PortionBy
from shared.cross_section import COLOUR, Technique

STEPS = ("add", "remove", "earlier", "later", "add_into", "remove_into", "work_out")

CENT = Decimal("0.01")

# What a new portion looks like, so that it is told apart from the one below: by how light that is.
LIGHT, DARK = "#f4ecdc", "#7d6a58"


def all_of_it() -> str:
    """What the one portion of a batter that is not split is called."""
    return gettext("All of it")


def take(data: QueryDict) -> str:
    """Take the step that was asked for. Returns the key of the portion to look at next, if any."""
    if "add" in data:
        return _add(data)
    if "remove" in data:
        return _remove(data, str(data["remove"]))
    if "earlier" in data:
        return _move(data, str(data["earlier"]), -1)
    if "later" in data:
        return _move(data, str(data["later"]), 1)
    if "add_into" in data:
        return _add_row(data, str(data["add_into"]))
    if "remove_into" in data:
        key, _, index = str(data["remove_into"]).partition(":")
        return _remove_row(data, key, int(index) if index.isdecimal() and len(index) < 4 else -1)
    return ""


def _add(data: QueryDict) -> str:
    """One more portion, poured last: half of what another portion would have got."""
    there = keys(data)
    key = next(f"p{number}" for number in range(1, len(there) + 2) if f"p{number}" not in there)
    size = _given_up(data, there)
    last = str(data.get(f"{there[-1]}-colour", "")) if there else ""
    data.setlist(KEYS, [*there, key])
    data[f"{key}-name"] = gettext("Portion %(number)d") % {"number": len(there) + 1}
    data[f"{key}-size_by"] = PortionBy.SHARE if size else PortionBy.REST
    data[f"{key}-size"] = size
    data[f"{key}-colour"] = data[f"{key}-shown"] = DARK if _is_light(last) else LIGHT
    data[f"{key}-fresh"] = "1"
    data[f"{key}-technique"], data[f"{key}-scent"] = Technique.LAYER, AS_RECIPE
    data[f"{key}-destination"], data[f"{key}-trace"] = Destination.MOULD, ""
    return key


def _given_up(data: QueryDict, there: list[str]) -> str:
    """The share in % that the others give up for one more portion; none where it is to take the rest."""
    takers = [key for key in there if data.get(f"{key}-size_by") == PortionBy.REST]
    shares = {
        key: share
        for key in there
        if data.get(f"{key}-size_by") == PortionBy.SHARE and (share := _share(data, key))
    }
    left = Decimal(100) - sum(shares.values())
    if takers and len(there) == 1:
        return _split_first(data, takers[0])
    if takers:
        return _half(left) if left > 0 else "10"
    if shares and left <= 0:
        largest = max(shares, key=lambda key: shares[key])
        data[f"{largest}-size"] = _half(shares[largest])
    return ""


def _split_first(data: QueryDict, key: str) -> str:
    """The one portion that was the whole batter becomes half of it."""
    if data.get(f"{key}-name") == all_of_it():
        data[f"{key}-name"] = gettext("Portion %(number)d") % {"number": 1}
    data[f"{key}-size_by"], data[f"{key}-size"] = PortionBy.SHARE, "50"
    return ""


def _share(data: QueryDict, key: str) -> Decimal:
    """The share of a portion as far as it can be read, else nothing."""
    typed = str(data.get(f"{key}-size", "")).strip().removesuffix("%").strip().replace(",", ".")
    whole, _, part = typed.partition(".")
    readable = len(typed) < 8 and whole.isdecimal() and (not part or part.isdecimal())
    return Decimal(f"{int(whole)}.{part or 0}") if readable else Decimal(0)


def _half(share: Decimal) -> str:
    half = share / 2
    return str(round(half)) if half >= 1 else str(max(half.quantize(CENT), CENT))


def _is_light(colour: str) -> bool:
    """Whether a colour is nearer to white than to black, by the mean of red, green and blue."""
    if not COLOUR.fullmatch(colour):
        return True
    return sum(int(colour[at : at + 2], 16) for at in (1, 3, 5)) > 3 * 128


def _remove(data: QueryDict, key: str) -> str:
    left = [other for other in keys(data) if other != key]
    if not left:
        return ""
    data.setlist(KEYS, list(left))
    return left[-1]


def _move(data: QueryDict, key: str, by: int) -> str:
    there = keys(data)
    if key not in there:
        return ""
    at = there.index(key)
    there.insert(max(at + by, 0), there.pop(at))
    data.setlist(KEYS, list(there))
    return key


def _add_row(data: QueryDict, key: str) -> str:
    if key not in keys(data):
        return ""
    for name, value in IntoRow()._asdict().items():
        data.appendlist(f"{key}-{name}", value)
    return key


def _remove_row(data: QueryDict, key: str, index: int) -> str:
    if key not in keys(data):
        return ""
    for name in IntoRow._fields:
        typed = data.getlist(f"{key}-{name}")
        data.setlist(f"{key}-{name}", [value for at, value in enumerate(typed) if at != index])
    return key
