"""What is typed while the batter is split: what went into a jug, another portion, more batter."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from batches.forms.fields import UNIT_OF
from batches.splitting import JugCard
from inventory.models import Lot
from recipes.models import Destination
from shared.cross_section import COLOUR
from soapshop.core.fields import KeyField, PlainTextField, WeightField

SHOWN = _("The scale shows")
EMPTY = {"required": _("Enter what the scale shows.")}


class FillForm(forms.Form):
    """Batter that went into a jug, and for each thing that was stirred in its grams and its lot."""

    key = KeyField()

    def __init__(self, *args: Any, card: JugCard, lots: Sequence[Lot], units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        self.fields["grams"] = WeightField(
            label=_("Batter"),
            default_unit=self.unit,
            initial=_with_unit(card.grams, self.unit),
            error_messages=EMPTY,
        )
        for stir in card.stir:
            material = stir.line.material
            density = float(material.density) if material.density else None
            self.fields[f"stir-{stir.line.pk}"] = WeightField(
                label=material.name,
                default_unit=self.unit,
                density=density,
                allow_zero=True,
                initial=_with_unit(stir.grams, self.unit),
                error_messages=EMPTY,
            )
            mine = [(str(lot.pk), lot.code) for lot in lots if lot.material_id == material.pk]
            self.fields[f"lot-{stir.line.pk}"] = forms.ChoiceField(
                label=gettext("Lot of %(material)s") % {"material": material},
                required=False,
                choices=[("", gettext("first to expire")), *mine],
            )
        self.lines = [stir.line.pk for stir in card.stir]

    @property
    def stirs(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """For each thing that goes in its amount and its lot."""
        return [(self[f"stir-{pk}"], self[f"lot-{pk}"]) for pk in self.lines]

    @property
    def stirred_in(self) -> dict[int, Decimal]:
        """Grams by line, of a valid form."""
        return {pk: self.cleaned_data[f"stir-{pk}"] for pk in self.lines}

    @property
    def lots(self) -> dict[int, int]:
        """By line the lot that was chosen, of a valid form."""
        chosen = {pk: self.cleaned_data[f"lot-{pk}"] for pk in self.lines}
        return {pk: int(lot) for pk, lot in chosen.items() if lot}


def _with_unit(grams: Decimal | None, unit: str) -> Decimal | str | None:
    """Grams to begin with; where a plain figure would be read as ounces, they say that they are grams."""
    return grams if grams is None or unit == "g" else f"{grams.normalize():f} g"


class TakeOutForm(forms.Form):
    """A portion that nobody had planned."""

    name = PlainTextField(label=_("Name"), max_length=40)
    grams = WeightField(label=SHOWN, error_messages=EMPTY)
    destination = forms.ChoiceField(label=_("Goes into"), choices=Destination.choices)
    colour = forms.CharField(
        label=_("Colour in the bar"),
        max_length=7,
        required=False,
        validators=[RegexValidator(f"^{COLOUR.pattern}\\Z", _("Give the colour as # and six digits."))],
        widget=forms.TextInput(attrs={"type": "color"}),
    )
    key = KeyField()

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        self.fields["grams"].default_unit = self.unit  # type: ignore[attr-defined]


class MoreForm(forms.Form):
    """Plain batter added to a jug that is filled, such as to make its colour lighter."""

    grams = WeightField(label=_("More batter"), error_messages=EMPTY)
    key = KeyField()

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = UNIT_OF[units]
        self.fields["grams"].default_unit = self.unit  # type: ignore[attr-defined]
