"""Form fields of every app: what makers type, with its units, and what the app works with.

All refuse what is no number, what is too large to be meant, and characters that no database stores.
"""

from __future__ import annotations

import re
import uuid
from abc import ABC, abstractmethod
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.core.validators import ProhibitNullCharactersValidator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shared.units import UnitError, parse_length, parse_weight
from soapshop.core.words import in_words

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

CENT = Decimal("0.01")
TENTH = Decimal("0.1")
MOST_GRAMS = Decimal(1_000_000)
MOST_MILLIMETRES = Decimal(2_000)
MOST_PIECES = Decimal(10_000_000)
PIECES = re.compile(r"([\d\s.,\u202f]+?)\s*(?:pieces?|pcs?\.?)?", re.IGNORECASE)
PICTURES = "image/jpeg,image/png,image/webp,image/heic,image/heif"

EMPTY = _("Please fill this in.")
NO_NUMBER = _("This is not a number.")
BOUNDS = {"min_value": _("At least %(limit_value)s."), "max_value": _("At most %(limit_value)s.")}


class PlainTextField(forms.CharField):
    """Words on one line, or on several with `lines=4`; stripped, at most `max_length` characters."""

    default_error_messages = {"required": EMPTY}

    def __init__(self, *, max_length: int, lines: int = 1, **kwargs: Any) -> None:
        if lines > 1:
            kwargs.setdefault("widget", forms.Textarea(attrs={"rows": lines}))
        super().__init__(max_length=max_length, **kwargs)


class MeasureField(forms.CharField, ABC):
    """A measure with or without its unit; gives a Decimal, or None where it may be empty."""

    default_error_messages = {"required": EMPTY}

    def __init__(
        self,
        *,
        step: Decimal,
        most: Decimal,
        too_much: StrOrPromise,
        allow_zero: bool = False,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(max_length=40, **kwargs)
        self.step, self.allow_zero = step, allow_zero
        self.most, self.too_much = most, too_much

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        if isinstance(value, Decimal):
            return value
        text = super().to_python(value)
        if not text:
            return None
        ProhibitNullCharactersValidator()(text)
        if len(text) > 40:
            raise ValidationError(gettext("This is too long. Give an amount and its unit."))
        try:
            measure = self.parse(text)
        except UnitError as error:
            raise ValidationError(in_words(error.words)) from error
        return self._in_range(measure)

    @abstractmethod
    def parse(self, text: str) -> Decimal:
        """The measure that the text tells. Raises UnitError where it tells none."""

    def _in_range(self, measure: Decimal) -> Decimal:
        if measure > self.most:
            raise ValidationError(self.too_much, params={"most": self.most})
        rounded = measure.quantize(self.step)
        if rounded < 0 or (rounded == 0 and not self.allow_zero):
            raise ValidationError(gettext("This must be more than nothing."))
        return rounded

    def run_validators(self, value: Any) -> None:
        """The checks of length and characters are those of the text, made before it was read."""

    def prepare_value(self, value: Any) -> Any:
        """Write a stored amount without the zeros that its column adds."""
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class WeightField(MeasureField):
    """Grams, from '1 268', '1.5 kg', '2 lb 3 oz' or, where the density is known, '3 tsp'."""

    def __init__(
        self,
        *,
        max_grams: Decimal | int = MOST_GRAMS,
        density: float | None = None,
        default_unit: str = "g",
        **kwargs: Any,
    ) -> None:
        self.default_unit, self.density = default_unit, density
        most = Decimal(max_grams)
        super().__init__(step=CENT, most=most, too_much=_("This may be %(most)s g at most."), **kwargs)

    def parse(self, text: str) -> Decimal:
        return parse_weight(text, default_unit=self.default_unit, density=self.density)


class PiecesField(MeasureField):
    """A whole number of pieces, from '250', '1 200' or '250 pieces'."""

    def __init__(self, **kwargs: Any) -> None:
        too_much = _("This may be 10,000,000 pieces at most.")  # MOST_PIECES
        super().__init__(step=CENT, most=MOST_PIECES, too_much=too_much, **kwargs)

    def parse(self, text: str) -> Decimal:
        found = PIECES.fullmatch(text.strip())
        digits = re.sub(r"\s", "", found[1]) if found else ""
        if not digits.isascii() or not digits.isdecimal():
            raise UnitError("This is counted in whole pieces, such as 250.")
        return Decimal(digits)


class LengthField(MeasureField):
    """Millimetres, from '250', '25 cm' or '10 in'."""

    def __init__(
        self, *, max_millimetres: Decimal | int = MOST_MILLIMETRES, default_unit: str = "mm", **kwargs: Any
    ) -> None:
        self.default_unit = default_unit
        most = Decimal(max_millimetres)
        super().__init__(step=TENTH, most=most, too_much=_("This may be %(most)s mm at most."), **kwargs)

    def parse(self, text: str) -> Decimal:
        return parse_length(text, default_unit=self.default_unit)


class NumberField(forms.DecimalField):
    """A plain Decimal between two bounds; a decimal comma and spaces between thousands are understood."""

    widget = forms.TextInput
    default_error_messages = {
        "required": EMPTY,
        "invalid": NO_NUMBER,
        "max_decimal_places": _("At most %(max)s figures after the point."),
        **BOUNDS,
    }

    def __init__(
        self,
        *,
        min: Decimal | int,  # noqa: A002
        max: Decimal | int,  # noqa: A002
        places: int = 2,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(min_value=Decimal(min), max_value=Decimal(max), decimal_places=places, **kwargs)

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        if isinstance(value, str):
            if len(value) > 40 or "_" in value:
                raise ValidationError(self.error_messages["invalid"], code="invalid")
            value = "".join(value.split()).replace("\N{MINUS SIGN}", "-").replace(",", ".")
        return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        """Write a stored amount without the zeros that its column adds."""
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class PercentField(NumberField):
    """A share in per cent between two bounds; a sign '%' at the end is understood."""

    def __init__(
        self,
        *,
        min: Decimal | int = 0,  # noqa: A002
        max: Decimal | int = 100,  # noqa: A002
        places: int = 2,
        **kwargs: Any,
    ) -> None:
        super().__init__(min=min, max=max, places=places, **kwargs)

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        return super().to_python(value.strip().removesuffix("%") if isinstance(value, str) else value)


class WholeField(forms.IntegerField):
    """A whole number between two bounds, such as days."""

    widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
    default_error_messages = {"required": EMPTY, "invalid": _("Give a whole number."), **BOUNDS}

    def to_python(self, value: Any) -> int | None:
        """The number; one that only a programmer writes, such as 1_000, is none."""
        if isinstance(value, str) and "_" in value:
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        return super().to_python(value)


class KeyField(forms.UUIDField):
    """A hidden key made with the form: the same form sent twice carries the same key, and counts once."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("initial", uuid.uuid4)
        kwargs.setdefault("error_messages", {"invalid": _("Please open this page anew and send it again.")})
        super().__init__(**kwargs)


class PhotoField(forms.FileField):
    """A picture from the camera or the gallery. What is in it is looked at by `store_photo`."""

    widget = forms.FileInput(attrs={"accept": PICTURES})
    default_error_messages = {"required": _("Choose a picture.")}

    def clean(self, data: Any, initial: Any = None) -> UploadedFile[Any] | None:
        upload: UploadedFile[Any] | None = super().clean(data, initial)
        return upload or None


class DocumentField(PhotoField):
    """A PDF file or a picture of a page. What is in it is looked at by `store_document`."""

    widget = forms.FileInput(attrs={"accept": f"application/pdf,{PICTURES}"})
    default_error_messages = {"required": _("Choose a file.")}
