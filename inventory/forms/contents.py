"""Fields for what a liquid or an additive is made of, and the choice of one that is published."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.models import Kind
from shared.chemistry import AcidKind
from shared.fats import reference_fats
from shared.liquids import LiquidReference, reference_liquids
from soapshop.core.fields import PercentField, PlainTextField


def fats_to_choose() -> list[tuple[str, Any]]:
    """The fats that may be in a liquid, by name."""
    fats = sorted((fat.name, key) for key, fat in reference_fats().items() if fat.sap)
    return [("", _("No fat, or next to none")), *((key, name) for name, key in fats)]


class ContentFieldsForm(forms.Form):
    """The fields alone. All shares are g per 100 g."""

    water = PercentField(required=False, places=3, label=_("Water"))
    fat = PercentField(required=False, places=3, label=_("Fat"))
    fat_low = PercentField(required=False, places=3, label=_("Least fat"))
    fat_high = PercentField(
        required=False,
        places=3,
        label=_("Most fat"),
        help_text=_("Left empty, 20 % to either side of the usual content is assumed."),
    )
    fat_reference = forms.ChoiceField(
        choices=fats_to_choose,
        required=False,
        label=_("Which fat"),
        help_text=_("The fat of a milk takes lye like any other, and the lye is worked out for it too."),
    )
    sugar = PercentField(
        required=False,
        places=3,
        label=_("Sugar"),
        help_text=_("Sugar makes the lye hot and browns in it."),
    )
    salt = PercentField(required=False, places=3, label=_("Salt"))
    alcohol = PercentField(required=False, places=3, label=_("Alcohol"))
    acid = forms.ChoiceField(
        choices=[("", _("No acid")), *((each.value, _(each.label)) for each in AcidKind)],
        required=False,
        label=_("Acid"),
        help_text=_(
            "An acid uses up some of the lye. Say which it is, and the lye is worked out for it too."
        ),
    )
    acid_least = PercentField(required=False, places=3, label=_("Acid, at least"))
    composition_source = PlainTextField(
        max_length=300,
        required=False,
        label=_("Where these figures come from"),
        help_text=_("The label, a data sheet, a food table."),
    )


class LikeForm(forms.Form):
    """Which of the published liquids or additives the contents are taken over from."""

    like = forms.ChoiceField(
        required=False,
        label=_("Is it like one of these?"),
        help_text=_("This fills in what it is made of, with the source. Choose it before you type the rest."),
    )

    def __init__(self, *args: Any, kind: Kind, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = (
            (key, each.liquid.name)
            for key, each in reference_liquids().items()
            if each.additive == (kind == Kind.ADDITIVE)
        )
        like: Any = self.fields["like"]
        like.choices = [("", _("Choose")), *known]

    @property
    def chosen(self) -> LiquidReference | None:
        """The one asked for; None where none was, or one that does not exist."""
        return reference_liquids().get(self.cleaned_data["like"]) if self.is_valid() else None
