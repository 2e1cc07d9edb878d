"""Forms of a lot: what is written on it, what the scale shows, what is thrown away, what is taken back."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.forms.fields import DayField, MoneyField, SapField, amount_field
from inventory.models import Kind, Lot
from soapshop.core.fields import KeyField, NumberField, PercentField, PlainTextField


def certificate_fields(kind: str, *, dissolved: bool = False) -> dict[str, forms.Field]:
    """The fields for what a certificate says of a fat or an alkali, none for other kinds.

    `dissolved` is that of the material: a ready-made lye solution has a strength.
    """
    if kind == Kind.FAT:
        return {
            "sap": SapField(
                required=False,
                label=_("Saponification value on the certificate"),
                help_text=_("In mg KOH/g. It goes before the reference and narrows the safety range."),
            ),
            "sap_uncertainty": NumberField(
                min=0,
                max=50,
                required=False,
                label=_("give or take"),
                help_text=_("In mg KOH/g; left empty, 1."),
            ),
        }
    if kind == Kind.ALKALI:
        label = _("Strength on the certificate") if dissolved else _("Purity on the certificate")
        return {
            "purity": PercentField(min=1, places=3, required=False, label=label),
            "purity_uncertainty": NumberField(
                min=0,
                max=20,
                places=3,
                required=False,
                label=_("give or take"),
                help_text=_("In per cent; left empty, 0.5."),
            ),
        }
    return {}


class LotForm(forms.Form):
    """What is written on a lot."""

    best_before = DayField(required=False, label=_("Best before"))
    place = PlainTextField(
        max_length=40, required=False, label=_("Where it stands"), help_text=_("Such as: shelf B2.")
    )
    supplier_code = PlainTextField(max_length=60, required=False, label=_("Supplier's lot number"))
    cost = MoneyField(label=_("Price of the whole lot"))
    note = PlainTextField(max_length=2000, lines=3, required=False, label=_("Note"))

    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        certificate = certificate_fields(lot.material.kind, dissolved=lot.material.dissolved)
        kwargs["initial"] = {name: getattr(lot, name) for name in [*self.base_fields, *certificate]}
        super().__init__(*args, **kwargs)
        self.fields |= certificate
        if lot.delivery_id is None:
            del self.fields["supplier_code"]
            self.fields["cost"].label = _("Cost of the whole lot")
        self.order_fields([*certificate, *self.base_fields])

    def clean(self) -> dict[str, Any]:
        fill_uncertainty(self.cleaned_data)
        return self.cleaned_data


def fill_uncertainty(data: dict[str, Any]) -> None:
    """Certificates often leave out how sure they are. Common practice, no source: 1 mg KOH/g and 0.5 %."""
    for value, usual in (("sap", 1), ("purity", 0.5)):
        if data.get(value) is not None and data.get(f"{value}_uncertainty") is None:
            data[f"{value}_uncertainty"] = NumberField(min=0, max=50).clean(str(usual))


class ReasonForm(forms.Form):
    """Why, and the key that lets it count once."""

    key = KeyField()
    reason = PlainTextField(max_length=400, label=_("Reason"))


class CorrectForm(ReasonForm):
    """What the scale shows of a lot."""

    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        word = _("How many are there?") if lot.material.counted else _("What does the scale show?")
        self.fields["counted"] = amount_field(lot.material, allow_zero=True, label=word, help_text=_how(lot))
        self.fields["reason"].widget.attrs |= {"list": "correct-reasons"}
        self.order_fields(["key", "counted", "reason"])


class DiscardForm(ReasonForm):
    """How much was spilled or spoiled."""

    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = amount_field(lot.material, label=_("How much?"), help_text=_how(lot))
        self.fields["reason"].widget.attrs |= {"list": "discard-reasons"}
        self.order_fields(["key", "quantity", "reason"])


class ReverseForm(ReasonForm):
    """Why a movement is taken back."""


def _how(lot: Lot) -> str:
    if lot.material.counted:
        return gettext("In whole pieces.")
    return gettext("In grams, or with its unit: 1.2 kg, 2 lb 3 oz. Without the container.")
