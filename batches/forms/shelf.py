"""Forms of the shelf: bars that go, are counted again, or come back."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from batches.forms.fields import UNIT_OF, BarsField
from batches.models import BarMovement
from batches.services.bars import LEAVING
from inventory.models import Kind, Material
from shared.cross_section import COLOUR
from soapshop.core.fields import KeyField, LengthField, PiecesField, PlainTextField, WeightField


class TakeForm(forms.Form):
    count = BarsField(label=_("How many bars"), initial=1)
    kind = forms.ChoiceField(
        label=_("Where they go"),
        choices=[(kind.value, kind.label) for kind in LEAVING],
        initial=BarMovement.Kind.SOLD,
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": _("Choose where they go.")},
    )
    reason = PlainTextField(
        label=_("Note"),
        max_length=400,
        required=False,
        help_text=_("To whom, at which market, what was wrong ..."),
    )
    key = KeyField()

    def clean_kind(self) -> BarMovement.Kind:
        return BarMovement.Kind(self.cleaned_data["kind"])


class EmbedsForm(forms.Form):
    """Bars that are cut up into pieces of an embed that is known, or of a new one."""

    count = BarsField(label=_("How many bars"), initial=1)
    pieces = PiecesField(label=_("Pieces that come of them"))
    material = forms.ModelChoiceField(
        Material.objects.none(),
        label=_("Which embed"),
        required=False,
        empty_label=_("A new one"),
        error_messages={"invalid_choice": _("Choose one of the embeds, or name a new one.")},
    )
    name = PlainTextField(label=_("Name of a new embed"), max_length=80, required=False)
    colour = forms.CharField(
        label=_("How it looks"),
        max_length=7,
        required=False,
        validators=[RegexValidator(f"^{COLOUR.pattern}\\Z", _("Give the colour as # and six digits."))],
        widget=forms.TextInput(attrs={"type": "color"}),
    )
    piece_grams = WeightField(label=_("A piece weighs"), required=False)
    piece_length = LengthField(
        label=_("Length in the loaf"),
        required=False,
        help_text=_("So that the cutter does not meet it."),
    )
    key = KeyField()

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        self.fields["piece_grams"].default_unit = self.unit  # type: ignore[attr-defined]
        embeds = Material.objects.in_use().filter(kind=Kind.EMBED)
        self.fields["material"].queryset = embeds  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("material") and data.get("name"):
            self.add_error("name", gettext("Choose an embed, or give a new one its name: not both."))
        return data


class RecountForm(forms.Form):
    counted = BarsField(label=_("Bars that are there"), least=0)
    reason = PlainTextField(label=_("Why the book was wrong"), max_length=400)
    key = KeyField()


class BringBackForm(forms.Form):
    reason = PlainTextField(label=_("Why they come back"), max_length=400)
    key = KeyField()
