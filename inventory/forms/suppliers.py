"""The form of a supplier."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from soapshop.core.fields import PlainTextField


class SupplierForm(forms.Form):
    name = PlainTextField(max_length=80, label=_("Name"))
    contact = PlainTextField(max_length=120, required=False, label=_("Who to ask for"))
    email = forms.EmailField(max_length=254, required=False, label=_("E-mail"))
    phone = PlainTextField(
        max_length=40,
        required=False,
        label=_("Phone"),
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
    )
    website = forms.URLField(max_length=200, required=False, label=_("Website"), assume_scheme="https")
    note = PlainTextField(max_length=2000, lines=3, required=False, label=_("Note"))
