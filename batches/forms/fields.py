"""Fields that several forms of batches share."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from shared.units import UnitError, parse_capacity, parse_temperature
from soapshop.core.fields import MOST_GRAMS, MeasureField, NumberField
from soapshop.core.models import Units
from soapshop.core.words import in_words

MOST_BARS = 2000
MOST_MILLILITRES = Decimal(1_000_000)
TENTH = Decimal("0.1")

# What a weight or a temperature without a unit means.
UNIT_OF = {Units.METRIC.value: "g", Units.US.value: "oz"}
DEGREES_OF = {Units.METRIC.value: "°C", Units.US.value: "°F"}


class DayField(forms.DateField):
    """A day, today unless another is chosen."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("initial", timezone.localdate)
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        kwargs.setdefault("error_messages", {"invalid": _("Give a day, such as 2026-05-12.")})
        super().__init__(**kwargs)


class MomentField(forms.DateTimeField):
    """A day and a time of it, in the workshop's zone."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"})
        kwargs.setdefault("widget", widget)
        kwargs.setdefault(
            "error_messages", {"invalid": _("Give a day and a time, such as 2026-05-12 18:30.")}
        )
        super().__init__(**kwargs)


class GramsField(NumberField):
    """Grams that a page carries along unseen; below zero where a scale was zeroed with things on it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min=-MOST_GRAMS, max=MOST_GRAMS, widget=forms.HiddenInput(), **kwargs)


class MouldField(MeasureField):
    """Millilitres that a mould holds, from '1.2 l' or its inner sides, '250 × 80 × 60 mm'."""

    default_error_messages = {
        "required": _("Give its inner sides, 250 × 80 × 60 mm, or what it holds, 1.2 l.")
    }

    def __init__(self, **kwargs: Any) -> None:
        most = _("A mould of %(most)s ml at most, please.")
        super().__init__(step=TENTH, most=MOST_MILLILITRES, too_much=most, **kwargs)

    def parse(self, text: str) -> Decimal:
        return parse_capacity(text)


class TemperatureField(forms.CharField):
    """Degrees Celsius from '40', '40 °C' or '104 F'; a bare number is in `default_unit`."""

    default_unit = "°C"

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(max_length=40, widget=widget, **kwargs)

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_temperature(text, default_unit=self.default_unit)
        except UnitError as error:
            raise ValidationError(in_words(error.words)) from error


class BarsField(forms.IntegerField):
    """A number of bars."""

    def __init__(self, *, least: int = 1, **kwargs: Any) -> None:
        super().__init__(
            min_value=least,
            max_value=MOST_BARS,
            error_messages={
                "invalid": _("Give a whole number of bars."),
                "min_value": _("Give at least %(limit_value)s."),
                "max_value": _("Give at most %(limit_value)s bars."),
            },
            **kwargs,
        )

    def to_python(self, value: Any) -> int | None:
        """A whole number; one that only a programmer writes, such as 1_000, is none."""
        if isinstance(value, str) and "_" in value:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        return super().to_python(value)
