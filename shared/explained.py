"""A figure with how it came about, and a statement with why it is made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shared.words import Phrase

COMMON_PRACTICE: Final = Phrase("common practice, no source")


@dataclass(frozen=True, slots=True)
class Given:
    """A number that was put in: what of, how much, in which unit, from where."""

    name: str
    value: float
    unit: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Explained:
    """A computed figure: its name, value and unit, the formula in words, the numbers put in, the source.

    Numbers are not rounded; ``unit`` is "" for a plain number.
    """

    name: str
    value: float
    unit: str
    formula: str
    given: tuple[Given, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Statement:
    """Something said in plain words, the figure that it rests on, and where the rule comes from."""

    text: str
    because: str
    source: str = COMMON_PRACTICE
