"""Forms of the cure record."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from batches.forms.fields import UNIT_OF, BarsField, DayField
from batches.models import Cure, Scent
from soapshop.core.fields import KeyField, PhotoField, PlainTextField, WeightField


class UnmouldForm(forms.Form):
    on = DayField(label=_("Out of the mould on"))


class CutForm(forms.Form):
    """`units` are those of the workshop: what a weight without a unit means."""

    on = DayField(label=_("Cut on"), help_text=_("The days of curing count from here."))
    bars = BarsField(label=_("Bars"))
    bars_weight = WeightField(
        label=_("All bars together"),
        required=False,
        help_text=_("With it every gram is found again, and what a fresh bar weighs is known."),
    )
    trimmings = WeightField(
        label=_("Ends and trimmings"),
        required=False,
        allow_zero=True,
        help_text=_("What the scale shows for all of them."),
    )
    place = PlainTextField(label=_("Where they stand"), max_length=40, required=False)
    key = KeyField()

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        for name in ("bars_weight", "trimmings"):
            self.fields[name].default_unit = self.unit  # type: ignore[attr-defined]

    def clean_trimmings(self) -> Decimal:
        return self.cleaned_data["trimmings"] or Decimal(0)


class TurnForm(forms.Form):
    """`cures` are those that can be turned; `back` is the page that it was sent from."""

    batch = forms.TypedMultipleChoiceField(
        coerce=int,
        error_messages={
            "required": _("Tick the bars that you have turned."),
            "invalid_choice": _("One of these is no longer on the rack. Look again at what is ticked."),
        },
    )
    back = forms.CharField(required=False, max_length=10)
    key = KeyField()

    def __init__(self, *args: Any, cures: Iterable[Cure], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.cures = {cure.batch_id: cure for cure in cures}
        self.fields["batch"].choices = [(pk, pk) for pk in self.cures]  # type: ignore[attr-defined]

    def clean_batch(self) -> list[Cure]:
        return [self.cures[pk] for pk in self.cleaned_data["batch"]]


class NoteForm(forms.Form):
    photo = PhotoField(label=_("Photo"), required=False)
    words = PlainTextField(
        label=_("What you see"),
        max_length=2000,
        lines=3,
        required=False,
        help_text=_("Colour, ash, hardness ..."),
    )
    scent = forms.ChoiceField(
        label=_("How strong is the scent?"), choices=[("", _("Not noted")), *Scent.choices], required=False
    )
    key = KeyField()


class OutcomeForm(forms.Form):
    photo = PhotoField(label=_("Photo of the cut face"), required=False)
    as_meant = PlainTextField(label=_("What came out as meant"), max_length=2000, lines=3, required=False)
    otherwise = PlainTextField(
        label=_("What to do otherwise next time"), max_length=2000, lines=3, required=False
    )


class WeighInForm(forms.Form):
    """`units` are those of the workshop: what a weight without a unit means."""

    grams = WeightField(label=_("The scale shows"))
    bars = BarsField(label=_("Bars on the scale"), initial=1)
    on = DayField(label=_("Weighed on"))
    key = KeyField()

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        self.fields["grams"].default_unit = self.unit  # type: ignore[attr-defined]
