"""The form of the placing strip: the loaf, its cuts, the embeds, the paper. It is sent by GET."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import Kind
from recipes.models import Ingredient, Version
from recipes.strip import Wanted
from shared.cuts import MOST_BARS, CutError
from shared.placing import MOST_EMBEDS, PlacingError
from soapshop.core.fields import LengthField, WholeField
from soapshop.core.templatetags.soapshop import trimmed
from soapshop.core.words import in_words

PAPERS = (("a4", _("A4")), ("letter", _("US Letter")))
FIELD_OF = {"cuts": "bars"}


class StripForm(forms.Form):
    """All that is asked of a strip. `which` is there only where the version has embeds."""

    use_required_attribute = False

    length = LengthField(
        label=_("Length of the loaf"), help_text=_("Inside the mould, between its liners, along the cuts.")
    )
    bars = WholeField(label=_("Bars"), min_value=1, max_value=MOST_BARS)
    thickness = LengthField(
        label=_("Thickness of a bar"),
        required=False,
        help_text=_("Goes before the number of bars; what is left over stays at the right end."),
    )
    trim = LengthField(label=_("Trimmed off each end"), allow_zero=True)
    kerf = LengthField(
        label=_("What one cut takes"), allow_zero=True, help_text=_("A wire takes nothing, a saw its kerf.")
    )
    which = forms.ChoiceField(
        label=_("Embed"),
        required=False,
        error_messages={"invalid_choice": _("Choose one of those in the list.")},
        help_text=_("What is left empty below is taken from the recipe and the stockroom."),
    )
    number = WholeField(label=_("Embeds in a bar"), min_value=1, max_value=MOST_EMBEDS, required=False)
    embed = LengthField(
        label=_("Length along the loaf"),
        required=False,
    )
    distance = LengthField(
        label=_("Least distance to a cut"),
        allow_zero=True,
        help_text=_("3 mm is common practice, no source."),
    )
    paper = forms.ChoiceField(
        label=_("Paper"),
        choices=PAPERS,
        error_messages={"invalid_choice": _("Choose one of those in the list.")},
    )

    def __init__(
        self, typed: Mapping[str, str] | None, *, version: Version, initial: Mapping[str, str]
    ) -> None:
        super().__init__(typed, initial=dict(initial))
        self.ingredients = {str(one.material_id): one for one in embeds_of(version)}
        if self.ingredients:
            names = [(key, one.material.name) for key, one in self.ingredients.items()]
            self.fields["which"].choices = [("", _("Another")), *names]  # type: ignore[attr-defined]
            self._show_what_is_taken()
        else:
            del self.fields["which"]

    def _show_what_is_taken(self) -> None:
        """In the empty fields, what the recipe and the stockroom say of the embed."""
        one = self.ingredients.get(str(self["which"].value()))
        length = one.material.piece_length if one else None
        for name, figure in (("number", one.amount if one else None), ("embed", length)):
            self.fields[name].widget.attrs["placeholder"] = trimmed(figure)

    @property
    def chosen(self) -> Ingredient | None:
        """The embed of the recipe that is placed."""
        return self.ingredients.get(self.cleaned_data.get("which", ""))

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if not {"number", "embed", "which"} & self.errors.keys():
            self._take_from_recipe(data)
            self._check_embeds(data)
        return data

    def _take_from_recipe(self, data: dict[str, Any]) -> None:
        if self.chosen is None:
            return
        amount = self.chosen.amount
        data["embed"] = data["embed"] or self.chosen.material.piece_length
        if data["number"] is None and amount % 1:
            words = gettext("The recipe says %(amount)s to a bar; give a whole number here.")
            self.add_error("number", words % {"amount": trimmed(amount)})
        elif data["number"] is None:
            data["number"] = int(amount)

    def _check_embeds(self, data: dict[str, Any]) -> None:
        if "number" in self.errors:
            return
        if data["number"] and not data["embed"]:
            self.add_error("embed", gettext("Say how much of the loaf one of them takes."))
        elif data["embed"] and not data["number"]:
            self.add_error("number", gettext("Say how many of them go into a bar."))

    @property
    def wanted(self) -> Wanted:
        """Of a valid form."""
        data = self.cleaned_data
        return Wanted(
            length=float(data["length"]),
            bars=data["bars"],
            thickness=float(data["thickness"]) if data["thickness"] else None,
            trim=float(data["trim"]),
            kerf=float(data["kerf"]),
            number=data["number"] or 0,
            embed=float(data["embed"] or 0),
            distance=float(data["distance"]),
        )

    def blame(self, error: CutError | PlacingError) -> None:
        """Put what cannot be cut or placed beside its field."""
        self.add_error(FIELD_OF.get(error.field, error.field), in_words(error.args[0]))


def embeds_of(version: Version) -> list[Ingredient]:
    """The embeds that go into a bar."""
    return [one for one in version.ingredients.all() if one.material.kind == Kind.EMBED]
