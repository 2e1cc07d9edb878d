"""What does not fit the schema of a file, in words that somebody understands who does not know schemas."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext, gettext_lazy
from jsonschema import ValidationError

LONGEST_QUOTE = 40

_TYPES = {
    "object": gettext_lazy("a group in curly brackets"),
    "array": gettext_lazy("a list in square brackets"),
    "string": gettext_lazy("text in quotation marks"),
    "number": gettext_lazy("a number"),
    "integer": gettext_lazy("a whole number"),
    "boolean": gettext_lazy("true or false"),
}


def in_plain_words(problem: ValidationError) -> str:
    """One sentence: where it is, and what must be there instead."""
    words = gettext("%(where)s: %(what)s")
    return words % {"where": _where(problem.absolute_path), "what": _what(problem)}


def _where(path: Iterable[str | int]) -> str:
    """The way to a place in the file; what stands in a list is counted from 1."""
    steps = [str(step + 1) if isinstance(step, int) else _quoted(step) for step in path]
    return " › ".join(steps) or gettext("The file")


def _what(problem: ValidationError) -> str:
    limit, keyword = problem.validator_value, str(problem.validator)
    if keyword == "required":
        missing = next(name for name in limit if name not in problem.instance)
        return gettext("“%(name)s” is missing.") % {"name": missing}
    if keyword == "additionalProperties":
        return gettext("“%(name)s” is not known here.") % {"name": _unknown(problem)}
    if keyword == "type":
        return gettext("this must be %(type)s.") % {"type": _TYPES[str(limit)]}
    if keyword == "enum":
        return gettext("this must be one of %(choices)s.") % {"choices": ", ".join(limit)}
    if keyword in {"minProperties", "maxProperties"} and limit == 1:
        names = ", ".join(problem.schema["properties"])
        return gettext("give exactly one of %(names)s.") % {"names": names}
    words = str(_LIMITS.get(keyword, gettext_lazy("this is not what may stand here.")))
    return words % {"limit": "true" if limit is True else limit}


_LIMITS = {
    "const": gettext_lazy("this must be “%(limit)s”."),
    "minimum": gettext_lazy("this must be at least %(limit)s."),
    "maximum": gettext_lazy("this may be %(limit)s at most."),
    "exclusiveMinimum": gettext_lazy("this must be more than %(limit)s."),
    "minLength": gettext_lazy("this must not be empty."),
    "maxLength": gettext_lazy("this may have up to %(limit)s characters."),
    "minItems": gettext_lazy("this list must not be empty."),
    "maxItems": gettext_lazy("this list may hold up to %(limit)s."),
    "pattern": gettext_lazy("this is not written as such a thing is, or has characters that cannot be kept."),
}


def _unknown(problem: ValidationError) -> str:
    known: Mapping[str, Any] = problem.schema["properties"]
    return _quoted(next(name for name in problem.instance if name not in known))


def _quoted(name: str) -> str:
    """A name out of a file, short, and with nothing that no page can show."""
    return name[:LONGEST_QUOTE].encode("utf-8", "replace").decode()
