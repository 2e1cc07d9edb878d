"""Forms of the shelf: bars that go, are counted again, or come back."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.fields import BarsField
from batches.models import BarMovement
from batches.services.bars import LEAVING
from soapshop.core.fields import KeyField, PlainTextField


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


class RecountForm(forms.Form):
    counted = BarsField(label=_("Bars that are there"), least=0)
    reason = PlainTextField(label=_("Why the book was wrong"), max_length=400)
    key = KeyField()


class BringBackForm(forms.Form):
    reason = PlainTextField(label=_("Why they come back"), max_length=400)
    key = KeyField()
