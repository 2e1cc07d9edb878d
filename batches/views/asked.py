"""What the address or a hidden field of a page asks for."""

from __future__ import annotations

from django.http import HttpRequest, QueryDict

LONGEST_SEARCH = 80
LONGEST_ID = 15


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent with a form; None where the page is only looked at."""
    return request.POST if request.method == "POST" else None


def search_words(asked: QueryDict) -> str:
    return asked.get("q", "").replace("\0", "").strip()[:LONGEST_SEARCH]


def id_of(asked: QueryDict, name: str) -> int | None:
    """The id given under that name, or None for what is none."""
    text = asked.get(name, "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= LONGEST_ID else None
