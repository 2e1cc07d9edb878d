"""Finds the words that a person reads and that no translator would ever see."""

from __future__ import annotations

import re
from html.parser import HTMLParser

READ_ALOUD = {"aria-label", "alt", "placeholder", "title", "data-announce", "data-label"}
NOT_READ = {"script", "style", "code"}
# Signs of units and names of standards are the same in every language.
SIGNS = {"g", "kg", "mg", "lb", "oz", "mm", "mL", "mol", "KOH", "EUR", "INCI", "ISO"}
# So are the names of other people's programs.
PROGRAMS = {"Android", "Chrome", "Firefox", "Linux", "Windows", "macOS"}

WORD = re.compile(r"[^\W\d_]{2,}")
TAG = re.compile(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", re.DOTALL)
ASIDE = re.compile(
    r"\{% comment %\}.*?\{% endcomment %\}"
    r"|\{% blocktranslate\b.*?\{% endblocktranslate %\}"
    r"|\{% block (?:current|body_class|main_attrs) %\}.*?\{% endblock %\}"
    r"|\{% navigation %\}.*?\{% endnavigation %\}",
    re.DOTALL,
)
# What a tag is given to show, and what a filter shows where there is nothing else; _("…") is translated.
GIVEN = re.compile(
    r"\b(?:action|advice|back_label|count_label|label|lead|long|sub|text|title|unit|word)="
    r"""(?P<mark>["'])(?P<words>.*?)(?P=mark)"""
)
INSTEAD = re.compile(
    r"""\|(?:add|default|default_if_none|yesno):(?P<mark>["'])(?P<words>[^"']*[A-Z ][^"']*)(?P=mark)"""
)


class _Words(HTMLParser):
    """What of a page is read or read aloud."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self._not_read: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if tag in NOT_READ:
            self._not_read.append(tag)
        self.found += [value for name, value in attributes if value and name in READ_ALOUD]

    def handle_endtag(self, tag: str) -> None:
        if tag in self._not_read:
            self._not_read.remove(tag)

    def handle_data(self, data: str) -> None:
        if not self._not_read:
            self.found.append(data)


def has_words(text: str) -> bool:
    return any(word not in SIGNS | PROGRAMS for word in WORD.findall(text))


def words_of_page(html: str) -> list[str]:
    """Every piece of text with a word in it that a reader or a screen reader meets."""
    return [" ".join(piece.split()) for piece in _Words(html).found if has_words(piece)]


def untranslated(template: str) -> list[str]:
    """What a template says without asking for its translation."""
    source = ASIDE.sub("", template)
    tags = TAG.findall(source)
    given = [match["words"] for tag in tags for shape in (GIVEN, INSTEAD) for match in shape.finditer(tag)]
    endings = [tag for tag in tags if "|pluralize" in tag]
    return [*words_of_page(TAG.sub("", source)), *filter(has_words, given), *endings]
