"""What is logged at the bench: a word, a temperature, a note or a photo."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.fields import DEGREES_OF, TemperatureField
from batches.models import Event
from soapshop.core.fields import KeyField, PhotoField, PlainTextField


class EventForm(forms.Form):
    """One event. The page shows it in three parts; each sends what its kind needs."""

    kind = forms.ChoiceField(
        choices=Event.Kind,
        error_messages={"required": _("Choose a word."), "invalid_choice": _("Choose one of the words.")},
    )
    celsius = TemperatureField(label=_("The thermometer shows"), required=False)
    words = PlainTextField(
        label=_("Note"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3, "autocapitalize": "sentences", "enterkeyhint": "enter"}),
    )
    photo = PhotoField(
        label=_("Photo"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    key = KeyField()

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = DEGREES_OF[units]
        self.fields["celsius"].default_unit = self.unit  # type: ignore[attr-defined]

    def clean_kind(self) -> Event.Kind:
        return Event.Kind(self.cleaned_data["kind"])
