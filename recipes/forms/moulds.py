"""The forms of a mould: its measures and its cut, and how full it shall be."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from recipes.cutting import CUT_SHAPES, bars_of_thickness
from recipes.models import Mould, Shape
from recipes.services.moulds import MOST_MILLILITRES, SIDES
from shared.cuts import MOST_BARS, WIDEST_KERF_MM, CutError
from shared.moulds import SMALLEST_MM, MouldError
from soapshop.core.fields import (
    EMPTY,
    TENTH,
    LengthField,
    PercentField,
    PlainTextField,
    WeightField,
    WholeField,
)
from soapshop.core.words import in_words

USUAL_LOSS: Final = Decimal(12)
"""% of its fresh weight that a bar loses while it cures. Common practice, no source."""
MOST_ROWS: Final = 200


class WaterField(WeightField):
    """Millilitres, from what the water weighs or measures: 1 g is 1 mL near enough."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_grams=MOST_MILLILITRES, density=1.0, **kwargs)
        self.step = TENTH


class MouldForm(forms.Form):
    """A mould; what its shape has no use for is not looked at."""

    name = PlainTextField(label=_("Name"), max_length=60, help_text=_("As you call it in the workshop."))
    shape = forms.ChoiceField(
        label=_("Shape"), choices=Shape.choices, initial=Shape.LOAF, widget=forms.RadioSelect
    )
    length = LengthField(label=_("Length"), required=False)
    width = LengthField(label=_("Width"), required=False)
    diameter = LengthField(label=_("Diameter"), required=False)
    depth = LengthField(label=_("Depth"))
    cavities = WholeField(label=_("Number of cavities"), min_value=1, max_value=MOST_BARS, required=False)
    millilitres = WaterField(
        label=_("Water that fills it"),
        required=False,
        help_text=_(
            "Put the empty mould on the scale, set the scale to nothing and fill the mould to the brim with "
            "water: 1 g of it is 1 mL, near enough."
        ),
    )
    liner = LengthField(
        label=_("Liner, how thick"),
        required=False,
        allow_zero=True,
        help_text=_(
            "Taken off each side and off the floor. Left empty, nothing: paper is too thin to count."
        ),
    )
    bars = WholeField(label=_("Number of bars"), min_value=1, max_value=MOST_BARS, required=False)
    thickness = LengthField(label=_("or how thick"), required=False)
    rows = WholeField(label=_("Rows across its width"), min_value=1, max_value=MOST_ROWS, required=False)
    trim = LengthField(
        label=_("Off each end"),
        required=False,
        allow_zero=True,
        help_text=_("What is trimmed; left empty, nothing."),
    )
    kerf = LengthField(
        label=_("Off each cut"),
        max_millimetres=int(WIDEST_KERF_MM),
        required=False,
        allow_zero=True,
        help_text=_("A wire takes nothing, a saw the width of its blade."),
    )
    note = PlainTextField(label=_("Note"), max_length=2000, lines=3, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        shape = data.get("shape")
        if shape is None:
            return data
        for name in self._unused(Shape(shape)):
            self.errors.pop(name, None)
            data[name] = None
        for name in SIDES[Shape(shape)]:
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, EMPTY)
        data |= {name: data.get(name) or Decimal(0) for name in ("liner", "trim", "kerf")}
        data["rows"] = data.get("rows") or 1
        if shape == Shape.CAVITIES:
            data["bars"] = data.get("cavities")
        elif not {"bars", "thickness"} & self.errors.keys():
            self._settle_bars(data)
        return data

    def said(self) -> dict[str, Any]:
        """What the services are told."""
        return {name: value for name, value in self.cleaned_data.items() if name != "thickness"}

    @staticmethod
    def _unused(shape: Shape) -> set[str]:
        unused = {side for sides in SIDES.values() for side in sides}.difference(SIDES[shape])
        if shape != Shape.SLAB:
            unused.add("rows")
        if shape not in CUT_SHAPES:
            unused |= {"liner", "trim", "kerf", "thickness"}
        return unused | ({"bars"} if shape == Shape.CAVITIES else set())

    def _settle_bars(self, data: dict[str, Any]) -> None:
        """The number of bars, from their thickness where that was typed instead of it."""
        bars, thickness = data.get("bars"), data.get("thickness")
        if thickness is None:
            if bars is None:
                self.add_error("bars", gettext("Give the number of bars."))
            return
        if self.errors:
            return
        if (found := self._bars_of(thickness, data)) is None:
            return
        if bars not in (None, found) and "bars" in self.changed_data:
            words = gettext(
                "Bars of %(thickness)s mm are %(found)d, not %(bars)d. Leave one of the two empty."
            )
            figures = {"thickness": f"{thickness.normalize():f}", "found": found, "bars": bars}
            self.add_error("thickness", words % figures)
        data["bars"] = found

    def _bars_of(self, thickness: Decimal, data: dict[str, Any]) -> int | None:
        known = {name: value for name, value in data.items() if name != "thickness"}
        try:
            return bars_of_thickness(Mould(**known | {"bars": 1}), float(thickness))
        except (CutError, MouldError) as error:
            self.add_error(error.field if error.field == "trim" else "thickness", in_words(error.args[0]))
            return None


def says(mould: Mould) -> dict[str, Any]:
    """What a form shows of a mould; what it does without stays empty."""
    told = {name: getattr(mould, name, None) for name in MouldForm.base_fields}
    return told | {name: told[name] or None for name in ("liner", "trim", "kerf")}


class FillForm(forms.Form):
    """How high a mould is filled, and what its bars lose in the cure."""

    height = LengthField(label=_("Filled to"), required=False)
    loss = PercentField(
        label=_("Lost in the cure"),
        max=99,
        required=False,
        initial=USUAL_LOSS,
        help_text=_("Of the fresh weight; 12 is common practice, no source."),
    )

    def __init__(self, *args: Any, depth: float, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.depth = depth
        self.fields["height"].help_text = gettext("Left empty, to the brim: %(depth)s mm.") % {
            "depth": f"{depth:g}"
        }

    def clean_height(self) -> Decimal | None:
        height: Decimal | None = self.cleaned_data["height"]
        if height is not None and not SMALLEST_MM <= height <= self.depth:
            words = gettext("Between 1 mm and the %(depth)s mm that the mould is deep.")
            raise ValidationError(words % {"depth": f"{self.depth:g}"})
        return height

    def asked(self) -> tuple[float, float]:
        """The height in mm and the loss in per cent: what was typed, or what is usual."""
        typed = self.cleaned_data if self.is_valid() else {}
        loss = typed.get("loss")
        return float(typed.get("height") or self.depth), float(USUAL_LOSS if loss is None else loss)
