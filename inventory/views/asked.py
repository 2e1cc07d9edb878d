"""What a page was asked for in its address: a word that is not known is as good as none."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import Any

from soapshop.core.access import SignedInRequest


def choice(request: SignedInRequest, name: str, choices: Iterable[Enum]) -> str:
    """One of the choices; empty for anything else."""
    asked = request.GET.get(name, "")
    return asked if any(asked == each.value for each in choices) else ""


def words(request: SignedInRequest, name: str, longest: int = 100) -> str:
    """What is searched for, cut to a length that a search can bear."""
    return request.GET.get(name, "").replace("\0", "").strip()[:longest]


def number(value: Any) -> int | None:
    """An id; None for anything else."""
    text = str(value or "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else None


def numbers(request: SignedInRequest, name: str, most: int = 500) -> list[int]:
    """All ids given under that name, without what is none."""
    found = (number(text) for text in request.GET.getlist(name)[:most])
    return [each for each in found if each is not None]
