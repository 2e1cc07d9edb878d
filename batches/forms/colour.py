"""The places that are tapped in a photo: those of the card and of each portion."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from batches.models import ColourReading
from batches.queries.colour import Portion
from batches.services.colour import DISC, Place, field_of
from soapshop.core.fields import PercentField
from soapshop.core.models import Photo

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

WIDTH = 288
"""Of the photo in the page, in CSS pixels, where no script makes it larger: a tap is sent in these."""
LONGEST = 40
CARD = "card"
ALL_MARKED = _("All is marked. Measure it, or choose one below and tap it anew.")


class PlaceWidget(forms.MultiWidget):
    """Two figures in per cent: from the left, and from the top."""

    def __init__(self, what: str) -> None:
        labels = (gettext("%(what)s, from the left in %%"), gettext("%(what)s, from the top in %%"))
        super().__init__([forms.TextInput(_attributes(label % {"what": what})) for label in labels])


class PlaceField(forms.MultiValueField):
    """A `Place`, from two figures in per cent; None where both are empty and may be."""

    default_error_messages = {
        "required": _("Tap the card in the photo."),
        "incomplete": _("Give both figures: from the left and from the top."),
    }

    def __init__(self, *, label: str, required: bool) -> None:
        super().__init__(
            [PercentField(), PercentField()],
            label=label,
            required=required,
            require_all_fields=False,
            widget=PlaceWidget(label),
        )

    def compress(self, data_list: Any) -> Place | None:
        return Place(*(figure / 100 for figure in data_list)) if data_list else None


@dataclass(frozen=True, slots=True)
class Row:
    """What is tapped, what asks for it, its field, and where its mark stands, in the pixels of the photo."""

    name: str
    asks: str
    field: forms.BoundField
    x: float | None
    y: float | None

    @property
    def anchor(self) -> str:
        """How the name stands below its mark: near the sides of the photo, so that it stays within."""
        if self.x is None or WIDTH / 5 <= self.x <= 4 * WIDTH / 5:
            return "middle"
        return "start" if self.x < WIDTH / 5 else "end"


class ColourForm(forms.Form):
    """Where the card lies, and where each portion. `shown` is what fields hold before anything is sent."""

    card_kind = forms.ChoiceField(
        label=_("Which card is it?"),
        choices=ColourReading.Card.choices,
        initial=ColourReading.Card.WHITE,
        widget=forms.RadioSelect,
        help_text=_("White paper will do. A grey card is the photographer’s, of 18 %."),
    )

    def __init__(
        self, sent: QueryDict | None, *, photo: Photo, portions: Sequence[Portion], shown: dict[str, str]
    ) -> None:
        super().__init__(sent)
        self.initial = dict[str, Any](shown)
        self.portions = portions
        self.width, self.height = WIDTH, WIDTH * photo.height / photo.width
        self.radius = DISC * min(self.width, self.height)
        self.names = [CARD, *(field_of(portion.jug) for portion in portions)]
        labels = [gettext("The card"), *(portion.name for portion in portions)]
        for name, label in zip(self.names, labels, strict=True):
            self.fields[name] = PlaceField(label=label, required=name == CARD)
            self.initial[name] = [shown.get(part, "") for part in _parts(name)]

    def clean(self) -> dict[str, Any]:
        """What `measure` takes."""
        said = {**self.cleaned_data}
        fields = ((portion.jug, field_of(portion.jug)) for portion in self.portions)
        return {
            "card": said.get(CARD),
            "card_kind": said.get("card_kind"),
            "places": {jug: said[name] for jug, name in fields if said.get(name)},
        }

    @property
    def rows(self) -> Iterator[Row]:
        for name in self.names:
            place = self._place(name)
            x, y = (self.width * float(place.x), self.height * float(place.y)) if place else (None, None)
            yield Row(name, self._asks(name), self[name], x, y)

    @property
    def asked(self) -> Row:
        """What the next tap is for: what was chosen, else the first that has no place yet."""
        rows = list(self.rows)
        chosen = [row for row in rows if row.name == self._chosen]
        unmarked = [row for row in rows if row.x is None]
        first = (chosen, unmarked) if self.is_bound else (unmarked, chosen)
        return [*first[0], *first[1], *rows][0]

    @property
    def asks(self) -> StrOrPromise:
        """What to tap now, in words."""
        if all(row.x is not None for row in self.rows):
            return ALL_MARKED
        return self.asked.asks

    def after_tap(self) -> str | None:
        """The question to the page that shows what was just tapped; None where nothing was.

        Browsers send the place 0, 0 where Enter was pressed in a field.
        """
        x, y = (self.data.get(f"tap.{side}", "") for side in "xy")
        if not (x.isdecimal() and y.isdecimal() and len(x + y) < LONGEST) or int(x) == int(y) == 0:
            return None
        asked = self.asked.name
        kept = {part: self.data.get(part, "")[:LONGEST] for name in self.names for part in _parts(name)}
        kept |= zip(_parts(asked), (_share(x, self.width), _share(y, self.height)), strict=True)
        return urlencode({**kept, "card_kind": self.data.get("card_kind", "")[:LONGEST], "next": asked})

    def _asks(self, name: str) -> str:
        if name == CARD:
            return gettext("Tap the white or grey card.")
        if name == field_of(None):
            return gettext("Tap the bar.")
        return gettext("Tap a place of: %(portion)s") % {"portion": self.fields[name].label}

    @property
    def _chosen(self) -> str:
        return str(self.data.get("next", "") if self.is_bound else self.initial.get("next", ""))

    def _place(self, name: str) -> Place | None:
        """Where the mark stands: nowhere as long as what was typed tells no place."""
        try:
            place: Place | None = self.fields[name].clean(self[name].value())
        except ValidationError:
            return None
        return place


def shown_of(asked: QueryDict, readings: Iterable[ColourReading]) -> dict[str, str]:
    """What the fields show at first: what was tapped so far, else what was measured before."""
    if "next" in asked:
        return {name: asked.get(name, "")[:LONGEST] for name in asked}
    shown: dict[str, str] = {}
    for one in readings:
        shown["card_kind"] = one.card
        shown |= zip(_parts(CARD), (_percent(one.card_x), _percent(one.card_y)), strict=True)
        shown |= zip(_parts(field_of(one.jug_id)), (_percent(one.x), _percent(one.y)), strict=True)
    return shown


def _attributes(label: str) -> dict[str, str]:
    return {"inputmode": "decimal", "autocomplete": "off", "aria-label": label}


def _parts(name: str) -> tuple[str, str]:
    """The names of the two figures of a place, as they are sent."""
    return f"{name}_0", f"{name}_1"


def _percent(share: Decimal) -> str:
    return f"{100 * share:.4f}".rstrip("0").rstrip(".")


def _share(pixels: str, of: float) -> str:
    """Per cent, of the middle of a pixel; a tap below the last line is at the edge."""
    return f"{min(100 * (int(pixels) + 0.5) / of, 100):.2f}"
