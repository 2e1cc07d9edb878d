"""What the address or a hidden field of a page asks for."""

from __future__ import annotations

from django.http import HttpRequest, QueryDict

LONGEST_SEARCH = 80
LONGEST_ID = 15
MOST_IDS = 500


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent with a form; None where the page is only looked at."""
    return request.POST if request.method == "POST" else None


def search_words(asked: QueryDict) -> str:
    return asked.get("q", "").replace("\0", "").strip()[:LONGEST_SEARCH]


def id_of(asked: QueryDict, name: str) -> int | None:
    """The id given under that name, or None for what is none."""
    return _id(asked.get(name, ""))


def ids_of(asked: QueryDict, name: str) -> list[int]:
    """All ids given under that name, without what is none."""
    found = (_id(text) for text in asked.getlist(name)[:MOST_IDS])
    return [each for each in found if each is not None]


def _id(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= LONGEST_ID else None
