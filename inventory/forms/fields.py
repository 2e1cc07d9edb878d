"""Fields that only stock has: an amount of a material, a day."""

from __future__ import annotations

import re
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
from shared.units import UnitError
from soapshop.core.fields import MeasureField, NumberField, WeightField

EARLIEST, LATEST = date(1990, 1, 1), date(2100, 12, 31)
PIECES = re.compile(r"([\d\s.,\u202f]+?)\s*(?:pieces?|pcs?\.?)?", re.IGNORECASE)


def amount_field(material: Material, **kwargs: Any) -> forms.Field:
    """The field for an amount of it: pieces, or a weight, told as a volume too where its density is known."""
    if material.counted:
        return PiecesField(**kwargs)
    density = None if material.density is None else float(material.density)
    return WeightField(max_grams=MOST, density=density, **kwargs)


class PiecesField(MeasureField):
    """A whole number of pieces, from '250', '1 200' or '250 pieces'."""

    def __init__(self, **kwargs: Any) -> None:
        too_much = _("This may be 10,000,000 pieces at most.")  # MOST
        super().__init__(step=Decimal("0.01"), most=MOST, too_much=too_much, **kwargs)

    def parse(self, text: str) -> Decimal:
        found = PIECES.fullmatch(text.strip())
        digits = re.sub(r"\s", "", found[1]) if found else ""
        if not digits.isascii() or not digits.isdecimal():
            raise UnitError("Packaging is counted in whole pieces, such as 250.")
        return Decimal(digits)


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
