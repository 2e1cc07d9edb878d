"""Reads what a phone sends of a deed: JSON in a form, perhaps with a picture. Nothing is guessed."""

from __future__ import annotations

import json
from collections.abc import Collection
from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.core.validators import RegexValidator
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from batches.forms.pour import LONGEST_REASON
from batches.models import Event
from batches.services.events import LONGEST_WORDS
from batches.services.told import KINDS, Log, Pour, Stirred, Told
from recipes.models import Destination
from recipes.portions import MOST_ADDITIONS
from shared.cross_section import COLOUR
from soapshop.core.fields import NumberField, PhotoField, PlainTextField, WeightField, WholeField

LONGEST = 20_000  # characters
LARGEST_ID = 2**63 - 1
CLOCKS = range(1970, 2100)  # years that the clock of a phone may tell, right or wrong
LONGEST_NAME = 40  # characters of a jug
MOST_STIRRED = 2 * MOST_ADDITIONS
UNREADABLE = _("This cannot be read. Load the page again.")


class IdField(WholeField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=1, max_value=LARGEST_ID, **kwargs)


class YesNoField(forms.Field):
    """True or false, and nothing that might mean either."""

    def to_python(self, value: Any) -> bool:
        if value in (None, ""):
            return False
        if not isinstance(value, bool):
            raise ValidationError(gettext("Say true or false."))
        return value


class ClockField(forms.CharField):
    """A time with its offset from UTC."""

    def to_python(self, value: Any) -> datetime | None:  # type: ignore[override]
        text = super().to_python(value)
        try:
            at = parse_datetime(text or "")
        except ValueError:
            at = None
        if at is None or timezone.is_naive(at) or at.year not in CLOCKS:
            raise ValidationError(gettext("Give a time with its offset."))
        return at

    def run_validators(self, value: Any) -> None:
        """All was checked when the text was read."""


class DeedForm(forms.Form):
    """What every deed has."""

    key = forms.UUIDField()
    kind = forms.ChoiceField(choices=[(kind, kind) for kind in KINDS])
    at = ClockField()
    by = IdField()
    aside = YesNoField(required=False)


class WeighDeed(forms.Form):
    line = IdField()
    lot = IdField()
    quantity = WeightField()
    more_to_come = YesNoField(required=False)
    part_of = forms.UUIDField(required=False)


class AddDeed(forms.Form):
    lot = IdField()
    quantity = WeightField()
    part_of = forms.UUIDField(required=False)


class UndoDeed(forms.Form):
    weighing = forms.UUIDField()


class LeaveDeed(forms.Form):
    line = IdField()
    done = YesNoField(required=False)


class LyeDeed(forms.Form):
    """Says all by being sent."""


class EventDeed(forms.Form):
    kind = forms.ChoiceField(choices=Event.Kind)
    words = PlainTextField(max_length=LONGEST_WORDS, required=False)
    celsius = NumberField(min=-100, max=1000, required=False)


class PourDeed(forms.Form):
    stop_reason = PlainTextField(max_length=LONGEST_REASON, required=False)
    words = PlainTextField(max_length=LONGEST_WORDS, required=False)


class CountDeed(forms.Form):
    lot = IdField()
    quantity = WeightField()


class StirredForm(forms.Form):
    line = IdField()
    grams = WeightField(allow_zero=True)
    lot = IdField(required=False)


class StirredField(forms.Field):
    """A list of what was stirred into a jug."""

    def to_python(self, value: Any) -> tuple[Stirred, ...]:
        if value in (None, ""):
            return ()
        if not isinstance(value, list) or len(value) > MOST_STIRRED:
            raise ValidationError(UNREADABLE)
        return tuple(Stirred(**_valid(StirredForm(_flat(each)))) for each in value)


class FillDeed(forms.Form):
    jug = PlainTextField(max_length=LONGEST_NAME)
    grams = WeightField()
    stirred = StirredField(required=False)


class JugDeed(forms.Form):
    jug = PlainTextField(max_length=LONGEST_NAME)


class TopUpDeed(forms.Form):
    jug = PlainTextField(max_length=LONGEST_NAME)
    grams = WeightField()


class AddJugDeed(forms.Form):
    name = PlainTextField(max_length=LONGEST_NAME)
    grams = WeightField()
    destination = forms.ChoiceField(choices=Destination)
    colour = forms.CharField(
        required=False, max_length=7, validators=[RegexValidator(f"^{COLOUR.pattern}\\Z")]
    )


FORMS: dict[str, type[forms.Form]] = {
    "weigh": WeighDeed,
    "add": AddDeed,
    "undo": UndoDeed,
    "leave": LeaveDeed,
    "lye": LyeDeed,
    "event": EventDeed,
    "pour": PourDeed,
    "count": CountDeed,
    "fill": FillDeed,
    "jug_undo": JugDeed,
    "jug_leave": JugDeed,
    "jug_more": TopUpDeed,
    "jug_add": AddJugDeed,
}


def read_deed(text: str, photo: UploadedFile[bytes] | None) -> tuple[Told, int]:
    """The deed, and the id of the person who did it. Raises ValidationError with words for the maker."""
    data = _json(text)
    deed = _valid(DeedForm(data))
    nested = ("stirred",) if deed["kind"] == "fill" else ()
    content = _valid(FORMS[deed["kind"]](_flat(data.get("content"), but=nested)))
    told = Told(
        key=deed["key"],
        at=deed["at"],
        content=KINDS[deed["kind"]](**content),
        aside=deed["aside"],
        photo=PhotoField(required=False).clean(photo),
    )
    if told.photo and not isinstance(told.content, Log | Pour):
        raise ValidationError(gettext("Only an event or a pour comes with a picture."))
    return told, deed["by"]


def _json(text: str) -> dict[str, Any]:
    if len(text) > LONGEST:
        raise ValidationError(gettext("This is too long."))
    try:
        data = json.loads(text, parse_constant=_refuse)
        json.dumps(data, ensure_ascii=False).encode()  # half an emoji is text to JSON, but to no database
    except (ValueError, RecursionError) as error:
        raise ValidationError(UNREADABLE) from error
    if not isinstance(data, dict):
        raise ValidationError(UNREADABLE)
    return data


def _refuse(constant: str) -> None:
    raise ValueError(f"{constant} is no number.")


def _flat(content: Any, *, but: Collection[str] = ()) -> dict[str, Any]:
    """Text, numbers and yes or no: no field has anything else in it, `but` those that read it themselves."""
    if not isinstance(content, dict):
        raise ValidationError(UNREADABLE)
    if any(isinstance(each, dict | list) for name, each in content.items() if name not in but):
        raise ValidationError(UNREADABLE)
    return content


def _valid(form: forms.Form) -> dict[str, Any]:
    if not form.is_valid():
        errors = form.errors.as_data()
        raise ValidationError(
            [f"{name}: {message}" for name in errors for error in errors[name] for message in error.messages]
        )
    return form.cleaned_data
