"""Statements of `shared` in the reader's language."""

from __future__ import annotations

from dataclasses import dataclass

from shared.explained import Statement
from soapshop.core.words import in_words


@dataclass(frozen=True, slots=True)
class Said:
    """Something said in plain words, what it rests on, and where the rule comes from."""

    text: str
    because: str
    source: str


def said(statement: Statement) -> Said:
    return Said(in_words(statement.text), in_words(statement.because), in_words(statement.source))
