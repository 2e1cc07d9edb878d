"""The form of a material: the fields that matter for its kind, no others."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.forms.contents import ContentFieldsForm
from inventory.forms.fields import SapField
from inventory.forms.profile import ProfileField
from inventory.models import COUNTED, Kind, Material, Origin, Supplier
from inventory.services.checks import CONTENTS, OF_KIND
from inventory.services.materials import proposed_range
from inventory.services.reference import contents_of
from shared.chemistry import AlkaliKind
from shared.ingredients import FatKind
from shared.liquids import LiquidReference
from soapshop.core.fields import (
    LengthField,
    NumberField,
    PercentField,
    PiecesField,
    PlainTextField,
    WeightField,
)
from soapshop.core.words import with_decimal_sign

BY_VOLUME = frozenset({Kind.FAT, Kind.LIQUID, Kind.FRAGRANCE, Kind.COLOUR, Kind.ADDITIVE})
# Batter kept back is never bought, and its INCI names are those of its parts.
NOT_OF_BATTER = ("inci_name", "reorder_level", "supplier")

# Shares that are nothing where they are left empty. Water left empty means that nothing is known.
NOTHING = ("fat", "sugar", "salt", "alcohol")
FAT_DETAILS = ("fat_kind", "origin", "antioxidant", "profile")


class MaterialForm(ContentFieldsForm):
    """A material of one kind. `material` is the one to change; without it a new one is made.

    `like` fills in the contents of a published liquid, `solution` begins a ready-made lye solution.
    """

    field_order = ("name",)

    name = PlainTextField(max_length=80, label=_("Name"))
    sap_nominal = SapField(
        required=False,
        label=_("Usual saponification value"),
        help_text=_("In mg KOH per gram, as ISO 3657 states it. The lye is worked out from it."),
    )
    sap_low = SapField(required=False, label=_("Lowest"))
    sap_high = SapField(
        required=False,
        label=_("Highest"),
        help_text=_("Left empty, 3 % to either side of the usual value is assumed."),
    )
    sap_source = PlainTextField(
        max_length=300,
        required=False,
        label=_("Where the value comes from"),
        help_text=_("A data sheet, a book, your own titration."),
    )
    alkali = forms.ChoiceField(
        choices=[(each.value, _(each.label)) for each in AlkaliKind],
        widget=forms.RadioSelect,
        label=_("Which alkali"),
    )
    purity_low = PercentField(min=1, places=3, label=_("Purity, lowest"))
    purity_high = PercentField(
        min=1, places=3, label=_("Purity, highest"), help_text=_("From the data sheet, in % by mass.")
    )
    dissolved = forms.BooleanField(required=False, label=_("It is a ready-made lye solution"))
    fat_kind = forms.ChoiceField(
        choices=[
            ("", _("As published, else a fat or oil")),
            *((kind.value, _(kind.label)) for kind in FatKind),
        ],
        required=False,
        label=_("What it is"),
        help_text=_("Waxes hardly react in a cold process. Only a fat or oil gives glycerin."),
    )
    origin = forms.ChoiceField(
        choices=[("", _("As published, else not known")), *Origin.choices],
        required=False,
        label=_("Where it comes from"),
    )
    antioxidant = forms.BooleanField(
        required=False,
        label=_("It is an antioxidant: it slows down that fats turn rancid, as vitamin E does"),
    )
    profile = ProfileField(required=False, label=_("Its own fatty acids"))
    colour = forms.CharField(
        required=False,
        widget=forms.TextInput(attrs={"type": "color"}),
        validators=[
            RegexValidator(r"\A#[0-9a-fA-F]{6}\Z", _("Give the colour as # and six digits, such as #a4472a."))
        ],
        label=_("How it looks in the bar"),
        initial="#6d7987",
    )
    piece_grams = WeightField(
        required=False,
        label=_("Weight of one piece"),
        help_text=_("Weigh ten of them and divide by ten. The pieces take the place of that much batter."),
    )
    piece_length = LengthField(
        required=False,
        label=_("Length of one piece"),
        help_text=_("How much of the loaf it takes lengthwise, so that the cuts can be set beside it."),
    )
    inci_name = PlainTextField(
        max_length=200, required=False, label=_("INCI name"), help_text=_("As it will stand on the label.")
    )
    density = NumberField(
        min=Decimal("0.05"),
        max=5,
        places=4,
        required=False,
        label=_("Density"),
        help_text=_("In grams per millilitre. With it, amounts can be given by volume."),
    )
    reorder_level = WeightField(
        required=False,
        allow_zero=True,
        label=_("Reorder at"),
        help_text=_("It counts as low from this amount down: 2 kg, or 500 g."),
    )
    supplier = forms.ModelChoiceField(Supplier.objects.none(), required=False, label=_("Usually bought from"))
    note = PlainTextField(max_length=2000, lines=3, required=False, label=_("Note"))

    def __init__(
        self,
        *args: Any,
        kind: Kind,
        material: Material | None = None,
        like: LiquidReference | None = None,
        solution: bool = False,
        **kwargs: Any,
    ) -> None:
        self.kind, self.material = kind, material
        initial: dict[str, Any] = {"dissolved": solution}
        if material is not None:
            initial = {name: getattr(material, name) for name in self.base_fields}
        if like is not None:
            initial |= {**contents_of(like), "inci_name": initial.get("inci_name") or like.inci_name}
        kwargs["initial"] = initial | {name: initial.get(name) or None for name in NOTHING}
        super().__init__(*args, **kwargs)
        for name in self._not_of_this_kind():
            del self.fields[name]
        known = Q(archived=False) | Q(pk=material.supplier_id if material else None)
        if "supplier" in self.fields:
            self.fields["supplier"].queryset = Supplier.objects.filter(known)  # type: ignore[attr-defined]
        self._word_for_kind()

    def _word_for_kind(self) -> None:
        """Labels and hints that differ between kinds."""
        if self.kind in COUNTED:
            self.fields["reorder_level"] = PiecesField(
                required=False,
                allow_zero=True,
                label=_("Reorder at"),
                help_text=_("It counts as low from so many down."),
            )
        elif self.kind == Kind.COLOUR:
            self.fields["density"].help_text = _(
                "In grams per millilitre. A level teaspoon is 5 mL: weigh five of them and divide by 25. "
                "Then amounts can be given by the teaspoon."
            )
        elif self.kind == Kind.ALKALI and self["dissolved"].value():
            self.fields["purity_low"].label = _("Strength, lowest")
            self.fields["purity_high"].label = _("Strength, highest")
            self.fields["purity_high"].help_text = _(
                "From its label: g of the alkali in 100 g of the solution."
            )
        elif self.kind == Kind.ADDITIVE:
            self.fields["acid_least"].help_text = _("Left empty, it is all acid.")
        elif self.kind == Kind.LIQUID:
            self.fields["acid_least"].help_text = _("The least that the label promises.")

    def _not_of_this_kind(self) -> set[str]:
        special = {name for names in OF_KIND.values() for name in names}
        unwanted = special - set(OF_KIND[self.kind])
        if self.kind not in BY_VOLUME:
            unwanted.add("density")
        if self.kind == Kind.PACKAGING:
            unwanted.add("inci_name")
        elif self.kind == Kind.BATTER:
            unwanted.update(NOT_OF_BATTER)
        return unwanted

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if self.kind == Kind.FAT:
            self._check_range(data.get("sap_low"), data.get("sap_nominal"), data.get("sap_high"))
        data |= {name: data[name] or Decimal(0) for name in NOTHING if name in data}
        low, high = data.get("purity_low"), data.get("purity_high")
        if low and high and low > high:
            self.add_error("purity_high", gettext("The highest purity is below the lowest."))
        return data

    def _check_range(self, low: Decimal | None, nominal: Decimal | None, high: Decimal | None) -> None:
        if nominal is None:
            if (low or high) and "sap_nominal" not in self.errors:
                words = gettext("Give the usual value as well: the lye is worked out from it.")
                self.add_error("sap_nominal", words)
            return
        if low and low > nominal:
            self.add_error("sap_low", gettext("The lowest value is above the usual one."))
        if high and high < nominal:
            self.add_error("sap_high", gettext("The highest value is below the usual one."))

    @property
    def contents_open(self) -> bool:
        """Whether the details of what it is made of have something to show."""
        return self._told(CONTENTS)

    @property
    def fat_details_open(self) -> bool:
        """The same of the further facts of a fat."""
        return self._told(FAT_DETAILS)

    def _told(self, names: Iterable[str]) -> bool:
        return any(name in self.fields and (self[name].value() or self[name].errors) for name in names)

    @property
    def range_was_proposed(self) -> str:
        """What to say where the range was filled in for the maker; empty where they gave it."""
        nominal = self.cleaned_data.get("sap_nominal")
        if nominal is None or (self.cleaned_data["sap_low"] and self.cleaned_data["sap_high"]):
            return ""
        low, high = proposed_range(nominal)
        words = gettext(
            "You gave no full range, so 3 %% to either side is assumed: %(low)s to %(high)s mg KOH/g."
        )
        return f" {words % {'low': with_decimal_sign(str(low)), 'high': with_decimal_sign(str(high))}}"
