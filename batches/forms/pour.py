"""What is typed from the plan of a pour until it stands on the rack."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from batches.forms.fields import UNIT_OF, BarsField, DayField, GramsField, MomentField, MouldField
from batches.models import Line
from inventory.amounts import in_words
from inventory.models import COUNTED, Kind, Lot, Material
from recipes.errors import DesignError
from recipes.formulation import Size
from soapshop.core.fields import (
    KeyField,
    LengthField,
    PhotoField,
    PiecesField,
    PlainTextField,
    WeightField,
)

LONGEST_REASON = 400
FAR_AWAY = timedelta(days=731)


class SizeBy(models.TextChoices):
    """What the size of a pour is told by."""

    RECIPE = "recipe", _("As written")
    BARS = "bars", _("Bars")
    BATTER = "batter", _("Batter")
    FATS = "fats", _("Fats")
    MOULD = "mould", _("Mould")
    LEFT = "left", _("What is left")


class PlanForm(forms.Form):
    """How much to pour, and when. The amount means bars or a weight, as the size says."""

    size = forms.ChoiceField(
        choices=SizeBy, initial=SizeBy.RECIPE, widget=forms.RadioSelect, label=_("How much to pour")
    )
    amount = forms.CharField(
        required=False,
        max_length=40,
        label=_("Bars, weight or mould"),
        help_text=_(
            "Bars as a number, a weight such as 4 kg, a mould as 250 × 80 × 60 mm or by what it holds, 1.2 l."
        ),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    use_up = forms.ChoiceField(required=False, label=_("Use up"))
    planned_for = DayField(label=_("Day"))
    code = PlainTextField(
        max_length=20,
        required=False,
        label=_("Batch number"),
        help_text=_("Left empty, it gets the next of the year."),
        validators=[RegexValidator(r"^[\w./-]+$", _("Use letters, figures and - . / _ only."))],
    )
    note = PlainTextField(max_length=2000, lines=3, required=False, label=_("Note"))
    key = KeyField()

    def __init__(self, *args: Any, units: str, materials: Sequence[Material], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        self.materials = materials
        each = [(str(material.pk), material.name) for material in materials]
        self.fields["use_up"].choices = [("", _("As far as everything lasts")), *each]  # type: ignore[attr-defined]

    def clean_planned_for(self) -> date:
        day: date = self.cleaned_data["planned_for"]
        if abs(day - timezone.localdate()) > FAR_AWAY:
            raise ValidationError(gettext("Give a day that is no more than two years away."))
        return day

    def clean(self) -> dict[str, Any]:
        """Reads the amount as what the size asks for."""
        data = super().clean() or {}
        if "amount" in data and data.get("size") not in (None, SizeBy.RECIPE, SizeBy.LEFT):
            try:
                data["amount"] = self._amount_field(data["size"]).clean(data["amount"])
            except ValidationError as error:
                self.add_error("amount", error)
        return data

    def _amount_field(self, size: str) -> forms.Field:
        if size == SizeBy.BARS:
            return BarsField()
        if size == SizeBy.MOULD:
            return MouldField()
        return WeightField(
            default_unit=self.unit, error_messages={"required": _("Give a weight, such as 4 kg.")}
        )

    @property
    def wanted(self) -> Size:
        """The size asked for, of a form that is valid."""
        size, amount = self.cleaned_data["size"], self.cleaned_data["amount"]
        if size == SizeBy.LEFT:
            chosen = self.cleaned_data["use_up"]
            return Size(use_up=(int(chosen),) if chosen else tuple(one.pk for one in self.materials))
        name = "millilitres" if size == SizeBy.MOULD else size
        return Size() if size == SizeBy.RECIPE else Size(**{name: amount})

    def refuse(self, error: DesignError) -> None:
        """Says that the recipe cannot be worked out, beside the size where that is why."""
        left = self.cleaned_data["size"] == SizeBy.LEFT and error.field == "fats"
        about_size = error.field.startswith("size")
        self.add_error("use_up" if left else "amount" if about_size else None, error.message)


class WeighForm(forms.Form):
    """How much was weighed for a line, out of which lot.

    `below` comes from a page that counts on so many grams in the pot or the jug under it.
    """

    quantity = WeightField(label=_("The scale shows"))
    lot = forms.ModelChoiceField(Lot.objects.select_related("material"), widget=forms.HiddenInput)
    more_to_come = forms.BooleanField(required=False, label=_("The rest comes from another lot"))
    below = GramsField(required=False)
    key = KeyField()

    def __init__(self, *args: Any, line: Line, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.material, self.unit = line.material, UNIT_OF[units]
        if line.material.counted:
            self.unit = gettext("pieces")
            self.fields["quantity"] = PiecesField(label=_("Pieces"))
            return
        density = line.material.density
        self.fields["quantity"] = WeightField(
            label=_("The scale shows"),
            default_unit=self.unit,
            density=float(density) if density else None,
            error_messages={"required": _("Enter what the scale shows.")},
        )

    @property
    def typed(self) -> forms.BoundField:
        """The field in which the scale is read."""
        return self["quantity"]


class ReadingForm(WeighForm):
    """The same from a scale that was not zeroed: what it shows in all, and what it showed before."""

    before = GramsField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["quantity"]
        self.fields["reading"] = WeightField(
            label=_("The scale shows in all"),
            default_unit=self.unit,
            allow_zero=True,
            error_messages={"required": _("Enter all that the scale shows.")},
        )

    @property
    def typed(self) -> forms.BoundField:
        return self["reading"]

    def clean(self) -> None:
        data = self.cleaned_data
        if "reading" not in data or "before" not in data:
            return
        data["quantity"] = data["reading"] - data["before"]
        if data["quantity"] <= 0:
            showed = in_words(data["before"], self.material)
            words = gettext("It showed %(weight)s before; now it must show more.")
            self.add_error("reading", words % {"weight": showed})


class Way(models.TextChoices):
    """How a maker weighs things that share a pot or a jug."""

    ZEROED = "zeroed", _("Zeroed for each")
    ON_TOP = "on_top", _("Not zeroed: one on top of the other")


class ScaleForm(forms.Form):
    """How the maker weighs, and what the scale shows now where it does not show what the page says."""

    way = forms.ChoiceField(
        choices=Way,
        widget=forms.RadioSelect,
        label=_("The scale is"),
        error_messages={"required": _("Choose one."), "invalid_choice": _("Choose one of the two.")},
    )
    shows = WeightField(
        label=_("The scale shows now"),
        required=False,
        allow_zero=True,
        help_text=_(
            "With the vessel and all that is in it. Empty means that it was zeroed before the first."
        ),
    )

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        self.fields["shows"].default_unit = self.unit  # type: ignore[attr-defined]

    def clean_way(self) -> Way:
        return Way(self.cleaned_data["way"])


class AddForm(forms.Form):
    """Something beyond the card, out of a lot that keeps."""

    lot = forms.ModelChoiceField(
        Lot.objects.none(),
        label=_("What, out of which lot"),
        empty_label=_("Choose a lot"),
        error_messages={"invalid_choice": _("Choose a lot that is in stock and keeps.")},
    )
    quantity = WeightField(label=_("The scale shows"))
    key = KeyField()

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        lots = Lot.objects.usable_on(timezone.localdate()).exclude(material__kind=Kind.PACKAGING)
        if lots.filter(material__kind__in=COUNTED).exists():
            self.fields["quantity"].help_text = _("Of embeds, the number of pieces.")
        field = self.fields["lot"]
        field.queryset = lots.select_related("material").order_by("material__name", "best_before", "pk")  # type: ignore[attr-defined]
        field.label_from_instance = _lot_label  # type: ignore[attr-defined]
        self.fields["quantity"].default_unit = self.unit  # type: ignore[attr-defined]

    def clean_lot(self) -> Lot:
        """What is counted is told in pieces."""
        lot: Lot = self.cleaned_data["lot"]
        if lot.material.counted:
            self.fields["quantity"] = PiecesField(label=_("Pieces"))
            self.unit = gettext("pieces")
        return lot


class ConfirmForm(forms.Form):
    """The last look before a pour stands in the books. `ask_why` asks for the reason to pour a 'stop'."""

    photo = PhotoField(
        label=_("First photo"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    words = PlainTextField(
        label=_("How it went"),
        max_length=2000,
        lines=3,
        required=False,
        help_text=_("Trace, scent, temperature, colour."),
    )
    filled_height = LengthField(
        label=_("How high it stands in the mould"),
        required=False,
        help_text=_("It teaches how much batter the next one takes."),
    )
    at = MomentField(
        label=_("Poured at"),
        required=False,
        help_text=_("For a pour that is written down later. Empty means now."),
    )
    stop_reason = PlainTextField(
        label=_("Why it shall be poured all the same"),
        max_length=LONGEST_REASON,
        lines=2,
        error_messages={"required": _("Write down why, or make it safe first.")},
    )
    key = KeyField()

    def __init__(self, *args: Any, ask_why: bool, in_mould: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not ask_why:
            del self.fields["stop_reason"]
        if not in_mould:
            del self.fields["filled_height"]


class ReasonForm(forms.Form):
    """Why a batch is dropped, or its pour undone."""

    reason = PlainTextField(
        label=_("Why"),
        max_length=LONGEST_REASON,
        lines=2,
        error_messages={"required": _("Say in a few words why.")},
    )


def _lot_label(lot: Lot) -> str:
    """Batter kept back is named after its batch already."""
    return lot.material.name if lot.material.kind == Kind.BATTER else f"{lot.material}, {lot.code}"
