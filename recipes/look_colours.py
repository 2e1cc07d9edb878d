"""What colour each portion shows while its form is filled in: one that was picked, or that of what is in it.

Of each colour field the form tells what it showed (`shown`). What is typed differs from it only where the
maker has just picked a colour, so neither a tick nor a script is needed for that. `made` is the tick that
gives a picked colour up again; `fresh` marks a colour that nobody has picked.
"""

from __future__ import annotations

from collections.abc import Mapping

from django.http import QueryDict

from recipes.forms.look import keys, typed_rows


def settle(data: QueryDict, colours: Mapping[str, str], natural: str) -> frozenset[str]:
    """Put the colour of each portion into its field. `colours` are those of materials, as #rrggbb by id.

    Returns the keys of the portions whose field now holds something else than was typed.
    """
    return frozenset(key for key in keys(data) if _changes(data, key, colours, natural))


def _changes(data: QueryDict, key: str, colours: Mapping[str, str], natural: str) -> bool:
    typed = str(data.get(f"{key}-colour", ""))
    picked = typed.lower() != str(data.get(f"{key}-shown", typed)).lower()
    found = next((colours[row.material] for row in typed_rows(data, key) if row.material in colours), "")
    made = not picked and (f"{key}-made" in data or bool(f"{key}-fresh" in data and found))
    if picked or made:
        data.pop(f"{key}-fresh", None)
    if not made:
        data.pop(f"{key}-made", None)
        return False
    data[f"{key}-made"], data[f"{key}-colour"] = "on", found or natural
    return data[f"{key}-colour"] != typed
