"""Fields that only stock has: an amount of a material, a day."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from inventory.amounts import MOST
from inventory.models import Material
from inventory.services.lots import SAP_MOST
from soapshop.core.fields import NumberField, PiecesField, WeightField

EARLIEST, LATEST = date(1990, 1, 1), date(2100, 12, 31)


def amount_field(material: Material, **kwargs: Any) -> forms.Field:
    """The field for an amount of it: pieces, or a weight, told as a volume too where its density is known."""
    if material.counted:
        return PiecesField(**kwargs)
    density = None if material.density is None else float(material.density)
    return WeightField(max_grams=MOST, density=density, **kwargs)


class DayField(forms.DateField):
    """A day of the calendar, as the phone's own picker gives it."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        words = _("Choose a day between 1990 and 2100.")
        kwargs.setdefault("error_messages", {"invalid": words})
        super().__init__(
            validators=[MinValueValidator(EARLIEST, words), MaxValueValidator(LATEST, words)], **kwargs
        )

    def to_python(self, value: Any) -> date | None:
        if isinstance(value, str) and len(value) > 40:
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        return super().to_python(value)


class MoneyField(NumberField):
    """An amount of money in the workshop's currency, zero for a gift."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min=0, max=10_000_000, places=2, **kwargs)
        self.validators[:2] = [
            MaxValueValidator(self.max_value, _("That is more than ten million. Check the figure.")),
            MinValueValidator(self.min_value, _("A price cannot be below zero.")),
        ]


class SapField(NumberField):
    """A saponification value in mg KOH/g."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min=Decimal("0.01"), max=SAP_MOST, places=2, **kwargs)
        words = _("A saponification value lies between 0 and 700 mg KOH/g.")
        self.validators[:2] = [MaxValueValidator(SAP_MOST, words), MinValueValidator(self.min_value, words)]
