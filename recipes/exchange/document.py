"""Whole files of recipes: written from versions, read from what somebody brings.

A file that comes in is looked at in this order: its size, its characters, JSON, the schema, and that each
material it names is described. What is wrong is said in words that tell where.
"""

from __future__ import annotations

import base64
import json
import zlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib.resources import files
from itertools import islice
from typing import Any

from django.utils.translation import gettext
from jsonschema import Draft202012Validator

from recipes.design import design_of
from recipes.exchange import entries, materials, moulds
from recipes.exchange.schema_words import in_plain_words
from recipes.models import Version

FORMAT, FORMAT_VERSION = "soapshop-recipe", 1
MOST_BYTES = 2_000_000
MOST_PROBLEMS = 5
LONGEST_NUMBER = 40


class BadFile(Exception):
    """A file that cannot be read. `problems` are for whoever brought it."""

    def __init__(self, *problems: str) -> None:
        super().__init__(*problems)
        self.problems = problems


def schema_text() -> str:
    """The JSON Schema (draft 2020-12) of the format."""
    return files("recipes.exchange").joinpath("recipe.schema.json").read_text(encoding="utf-8")


def document(versions: Iterable[Version], *, workshop: str, at: datetime) -> dict[str, Any]:
    """A file with these versions, each fetched with its ingredients, and all that they name."""
    found = list(versions)
    designs = [entries.bare(design_of(version)) for version in found]
    used = {material.name: material for design in designs for material in design.materials}
    kept = {mould.name: mould for design in designs for mould in entries.moulds_of(design)}
    carried = [moulds.told(kept[name]) for name in sorted(kept, key=str.casefold)]
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "exported_at": at.isoformat(timespec="seconds"),
        "workshop": workshop,
        "materials": [materials.told(used[name]) for name in sorted(used, key=str.casefold)],
        **({"moulds": carried} if carried else {}),
        "recipes": [entries.told(version) for version in found],
    }


def read(content: bytes) -> dict[str, Any]:
    """What a file says; its numbers with a point are Decimal. Raises BadFile."""
    if len(content) > MOST_BYTES:
        raise BadFile(gettext("This file is larger than 2 MB."))
    found: dict[str, Any] = _json(text_of(content))
    _check_format(found)
    problems = list(islice(_validator().iter_errors(found), MOST_PROBLEMS))
    if problems:
        raise BadFile(*(in_plain_words(problem) for problem in problems))
    _check_none_twice(found["materials"], gettext("“%(name)s” stands among the materials twice."))
    _check_none_twice(found.get("moulds", ()), gettext("“%(name)s” stands among the moulds twice."))
    return found


def _check_none_twice(listed: Sequence[Mapping[str, Any]], words: str) -> None:
    names = Counter(said["name"].strip().lower() for said in listed)
    twice = next((said["name"] for said in listed if names[said["name"].strip().lower()] > 1), "")
    if twice:
        raise BadFile(words % {"name": twice})


def packed(content: bytes) -> str:
    """A file small enough for a form to carry it, from the page that looks at it to the one that keeps it."""
    return base64.urlsafe_b64encode(zlib.compress(content, 9)).decode("ascii")


def unpacked(text: str) -> bytes:
    """The file again. Raises BadFile for what was not packed by `packed`."""
    try:
        unpacking = zlib.decompressobj()
        content = unpacking.decompress(base64.urlsafe_b64decode(text.encode("ascii")), MOST_BYTES + 1)
    except (ValueError, zlib.error) as error:
        raise BadFile(gettext("The file did not come through whole. Please choose it again.")) from error
    return content


@cache
def _validator() -> Draft202012Validator:
    return Draft202012Validator(json.loads(schema_text()))


def text_of(content: bytes) -> str:
    """Its characters. Raises BadFile for another encoding than UTF-8."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        words = gettext("This file is not written in UTF-8. Save it anew as UTF-8 and choose it again.")
        raise BadFile(words) from error


def _json(text: str) -> Any:
    try:
        return json.loads(text, parse_float=_number, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        words = gettext("This is no JSON file: line %(line)d cannot be read, at character %(column)d.")
        raise BadFile(words % {"line": error.lineno, "column": error.colno}) from error
    except RecursionError as error:
        raise BadFile(gettext("This file is nested far deeper than any recipe.")) from error
    except ValueError as error:
        raise BadFile(gettext("There is a number in this file that is far too long.")) from error


def _number(text: str) -> Decimal:
    """Exact, as it is written. Raises BadFile for one that no recipe needs."""
    too_long = gettext("There is a number in this file that is far too long.")
    try:
        found = Decimal(text)
    except InvalidOperation as error:
        raise BadFile(too_long) from error
    if len(text) > LONGEST_NUMBER or abs(found.adjusted()) > LONGEST_NUMBER:
        raise BadFile(too_long)
    return found


def _no_number(text: str) -> None:
    words = gettext("There is “%(value)s” in this file where a number must be.")
    raise BadFile(words % {"value": text})


def _check_format(found: Any) -> None:
    """Before the schema: a file that was never meant for this need not be told about each key."""
    if not isinstance(found, Mapping) or found.get("format") != FORMAT:
        words = gettext("This is not a file of recipes: it does not begin by saying “format”: “%(format)s”.")
        raise BadFile(words % {"format": FORMAT})
    version = found.get("format_version")
    if isinstance(version, int) and version > FORMAT_VERSION:
        words = gettext("This file was written by a newer version of this program, in format %(version)s.")
        raise BadFile(words % {"version": str(version)[:10]})
