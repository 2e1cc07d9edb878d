"""What a phone tells of a pour: single deeds, done at the bench without the network and sent later."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile


@dataclass(frozen=True, slots=True)
class Weigh:
    """So many grams for a line of the card, out of a lot. Lines and lots are named by their ids.

    `part_of` is the key of the deed that this one was split off, so that both are taken back together.
    """

    line: int
    lot: int
    quantity: Decimal
    more_to_come: bool = False
    part_of: UUID | None = None


@dataclass(frozen=True, slots=True)
class Add:
    """So many grams out of a lot, beyond the card. `part_of` as for Weigh."""

    lot: int
    quantity: Decimal
    part_of: UUID | None = None


@dataclass(frozen=True, slots=True)
class Undo:
    """A weight taken back, named by the key of the deed that noted it."""

    weighing: UUID


@dataclass(frozen=True, slots=True)
class Leave:
    """Nothing more of a line, or with `done` false: weighed after all."""

    line: int
    done: bool


@dataclass(frozen=True, slots=True)
class MixLye:
    """The alkali has gone into the liquid."""


@dataclass(frozen=True, slots=True)
class Log:
    """An event: a word of the trade, a temperature, a note. `kind` is one of Event.Kind."""

    kind: str
    words: str = ""
    celsius: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Pour:
    """The batter is in the mould."""

    stop_reason: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Count:
    """A lot held at least so much, whatever the book said."""

    lot: int
    quantity: Decimal


@dataclass(frozen=True, slots=True)
class Stirred:
    """So many grams for a line of the card, stirred into a jug; `lot` None for those first to expire."""

    line: int
    grams: Decimal
    lot: int | None = None


@dataclass(frozen=True, slots=True)
class Fill:
    """So many grams of batter went into a jug. What `stirred` does not name went in as planned.

    Jugs are named by their names: one that was added on a phone has no id there yet.
    """

    jug: str
    grams: Decimal
    stirred: tuple[Stirred, ...] = ()


@dataclass(frozen=True, slots=True)
class EmptyJug:
    """A jug that was filled or left out is open again."""

    jug: str


@dataclass(frozen=True, slots=True)
class LeaveJug:
    """On without a jug."""

    jug: str


@dataclass(frozen=True, slots=True)
class TopUp:
    """So many grams of plain batter more in a jug."""

    jug: str
    grams: Decimal


@dataclass(frozen=True, slots=True)
class AddJug:
    """So many grams of batter taken out for a portion that nobody had planned."""

    name: str
    grams: Decimal
    destination: str
    colour: str = ""


OfJugs = Fill | EmptyJug | LeaveJug | TopUp | AddJug
Content = Weigh | Add | Undo | Leave | MixLye | Log | Pour | Count | OfJugs

KINDS: dict[str, type[Content]] = {
    "weigh": Weigh,
    "undo": Undo,
    "leave": Leave,
    "lye": MixLye,
    "event": Log,
    "add": Add,
    "pour": Pour,
    "count": Count,
    "fill": Fill,
    "jug_undo": EmptyJug,
    "jug_leave": LeaveJug,
    "jug_more": TopUp,
    "jug_add": AddJug,
}
NAMES = {content: name for name, content in KINDS.items()}


@dataclass(frozen=True, slots=True)
class Told:
    """A deed as the phone tells it. `key` was made on the phone, `at` is by its clock.

    `aside` says that the maker wants it in the record only: the book had moved on.
    """

    key: UUID
    at: datetime
    content: Content
    aside: bool = False
    photo: UploadedFile[bytes] | None = None

    @property
    def kind(self) -> str:
        return kind_of(self.content)


def kind_of(content: Content) -> str:
    return NAMES[type(content)]


def plain(content: Content) -> dict[str, Any]:
    """The content as the phone writes it: grams, degrees and keys as text."""
    return {name: _plain(value) for name, value in asdict(content).items()}


def _plain(value: Any) -> Any:
    match value:
        case Decimal() | UUID():
            return str(value)
        case tuple():
            return [_plain(each) for each in value]
        case dict():
            return {name: _plain(each) for name, each in value.items()}
        case _:
            return value
