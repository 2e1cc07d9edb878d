"""The form of a fragrance's certificate: what it says of the whole, and a line for each substance."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext_lazy as _

from inventory.forms.fields import DayField
from inventory.models import BAR_SOAP, Certificate
from inventory.services.certificates import COLDEST_FLASH, HOTTEST_FLASH, CertificateFields, ListedSubstance
from soapshop.core.fields import DocumentField, KeyField, NumberField, PercentField, PlainTextField

MOST_LINES = 100
LINES_AT_ONCE = 4
LEAST_SHARE = Decimal("0.0001")


class CertificateForm(forms.Form):
    """What a certificate says of the fragrance as a whole."""

    key = KeyField()
    dated = DayField(label=_("Date on it"))
    standard = PlainTextField(
        max_length=60, required=False, label=_("Standard"), help_text=_("Such as: IFRA 51st Amendment.")
    )
    category = PlainTextField(
        max_length=20,
        initial=BAR_SOAP,
        label=_("Category"),
        help_text=_("Bar soap is Category 9 since the 49th Amendment of the IFRA Standards."),
    )
    limit = PercentField(
        required=False,
        places=4,
        label=_("Limit in this category"),
        help_text=_(
            "The most of it in the finished bar. 0 where it is not permitted; empty where none is stated."
        ),
    )
    vanillin = PercentField(
        required=False,
        places=3,
        label=_("Vanillin in it"),
        help_text=_("It browns the bar, and counts as an allergen."),
    )
    flash_point = NumberField(
        min=COLDEST_FLASH,
        max=HOTTEST_FLASH,
        places=1,
        required=False,
        label=_("Flash point"),
        help_text=_("It stands on the safety data sheet."),
    )
    document = DocumentField(
        required=False,
        label=_("The document"),
        help_text=_("A PDF file up to 10 MB, or a photo of it."),
    )
    note = PlainTextField(max_length=2000, lines=3, required=False, label=_("Note"))


class SubstanceForm(forms.Form):
    """One substance that the certificate lists."""

    name = PlainTextField(
        max_length=120,
        label=_("Substance"),
        widget=forms.TextInput(attrs={"list": "allergen-names", "autocomplete": "off"}),
    )
    share = PercentField(min=LEAST_SHARE, places=4, label=_("In it, %"))
    limit = PercentField(required=False, places=4, label=_("Limit, %"))
    cas = PlainTextField(
        max_length=12,
        required=False,
        label=_("CAS number"),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    allergen = forms.BooleanField(required=False, label=_("allergen"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs |= {"empty_permitted": True, "use_required_attribute": False}
        super().__init__(*args, **kwargs)

    @property
    def number(self) -> int:
        """Its place in the list, as people count."""
        return int(str(self.prefix).removeprefix("line-")) + 1

    @property
    def is_blank(self) -> bool:
        """Whether nothing was typed into it."""
        return not any(str(self[name].value() or "").strip() for name in self.fields)

    def listed(self) -> ListedSubstance:
        """What the service takes. Only of a valid form."""
        return ListedSubstance(**self.cleaned_data)


class CertificateForms:
    """The head and the lines together: as they were sent, as a certificate has them, or empty."""

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        files: MultiValueDict[str, UploadedFile[Any]] | None = None,
        certificate: Certificate | None = None,
    ) -> None:
        self.certificate = certificate
        self.head = CertificateForm(data, files, initial=_head_of(certificate))
        if data is None:
            lines = _lines_of(certificate)
            self._fill(lines or [{}] * LINES_AT_ONCE)
        else:
            count = _line_count(data)
            self.lines = [SubstanceForm(data, prefix=f"line-{place}") for place in range(count)]

    def redraw(self, *, another: bool = False, without: str = "") -> None:
        """Start again with what was typed, unchecked: with more lines, or without one."""
        rows = [
            {name: line[name].value() for name in line.fields}
            for place, line in enumerate(self.lines)
            if str(place) != without
        ]
        first_new = len(rows)
        if another or not rows:
            rows += [{} for _ in range(min(LINES_AT_ONCE, MOST_LINES - len(rows)))]
        kept = [name for name in self.head.fields if name != "document"]
        self.head = CertificateForm(initial={name: self.head[name].value() for name in kept})
        self._fill(rows)
        focus = self.lines[min(first_new, len(rows) - 1)]
        focus.fields["name"].widget.attrs["autofocus"] = True

    def _fill(self, rows: list[dict[str, Any]]) -> None:
        self.lines = [SubstanceForm(prefix=f"line-{place}", initial=row) for place, row in enumerate(rows)]

    def is_valid(self) -> bool:
        """Lines that were left blank do not count."""
        good = self.head.is_valid()
        for line in self.filled:
            good = line.is_valid() and good
        return good

    @property
    def filled(self) -> list[SubstanceForm]:
        return [line for line in self.lines if not line.is_blank]

    @property
    def full(self) -> bool:
        return len(self.lines) >= MOST_LINES

    @property
    def has_errors(self) -> bool:
        return self.head.is_bound and (bool(self.head.errors) or any(line.errors for line in self.filled))

    @property
    def said(self) -> dict[str, Any]:
        """What the services take, all but the material or certificate and the key. Only of valid forms."""
        head = self.head.cleaned_data
        return {
            **{name: head[name] for name in CertificateFields.__annotations__},
            "upload": head["document"],
            "substances": [line.listed() for line in self.filled],
        }


def _head_of(certificate: Certificate | None) -> dict[str, Any]:
    if certificate is None:
        return {}
    return {name: getattr(certificate, name) for name in (*CertificateFields.__annotations__, "key")}


def _lines_of(certificate: Certificate | None) -> list[dict[str, Any]]:
    if certificate is None:
        return []
    names = SubstanceForm.base_fields
    return [{name: getattr(line, name) for name in names} for line in certificate.substances.all()]


def _line_count(data: Mapping[str, Any]) -> int:
    """How many lines were sent; nonsense counts as one."""
    sent = str(data.get("lines", ""))
    count = int(sent) if re.fullmatch("[0-9]{1,3}", sent) else 1
    return min(max(count, 1), MOST_LINES)
