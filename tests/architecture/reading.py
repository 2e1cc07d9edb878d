"""Reads a page as a browser does: its headings, its forms, and what the content policy would block."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urljoin


@dataclass
class Form:
    """A form sent by POST: where to, its hidden values, its other fields, its buttons that have names."""

    action: str
    hidden: dict[str, str] = field(default_factory=dict)
    fields: dict[str, str] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)


class Reading(HTMLParser):
    """What is on a page. `address` is that of the page, to which forms without an action are sent."""

    def __init__(self, html: str, address: str = "/") -> None:
        super().__init__()
        self.address = address
        self.headings = 0
        self.language = ""
        self.title = ""
        self.blocked: list[str] = []
        self.forms: list[Form] = []
        self._inside: list[str] = []
        self._form: Form | None = None
        self.feed(html)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        named = {name: value or "" for name, value in attributes}
        self.headings += tag == "h1"
        self.language = named.get("lang", "") if tag == "html" else self.language
        self._inside.append(tag)
        self._note_what_is_blocked(tag, named)
        if tag == "form":
            self._form = None
            if named.get("method", "get").lower() == "post":
                self._form = Form(urljoin(self.address, named.get("action") or self.address))
                self.forms.append(self._form)
        elif self._form:
            self._note_field(tag, named, self._form)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        if tag in self._inside:
            while self._inside.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        if self._inside[-1:] == ["title"] and "svg" not in self._inside:
            self.title += data.strip()

    def _note_what_is_blocked(self, tag: str, named: dict[str, str]) -> None:
        if tag == "style" or (tag == "script" and "src" not in named):
            self.blocked.append(f"<{tag}>")
        for name, value in named.items():
            if name == "style" or name.startswith("on") or value.strip().lower().startswith("javascript:"):
                self.blocked.append(f"<{tag} {name}={value}>")

    def _note_field(self, tag: str, named: dict[str, str], form: Form) -> None:
        name, kind = named.get("name", ""), named.get("type", "")
        if not name:
            return
        if tag == "button" or kind == "submit":
            form.buttons.append((name, named.get("value", "")))
        elif kind == "hidden":
            form.hidden[name] = named.get("value", "")
        elif tag in {"input", "select", "textarea"} and kind != "file":
            form.fields.setdefault(name, named.get("value", ""))
