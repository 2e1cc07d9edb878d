"""Errors of services, shown where they belong on a form."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.forms import BaseForm


def add_error(form: BaseForm, error: ValidationError, *, beside: str | None = None) -> None:
    """Puts an error beside the field it names, else beside the given one, else on top of the form."""
    if not hasattr(error, "error_dict"):
        form.add_error(beside, error)
        return
    for name, errors in error.error_dict.items():
        form.add_error(name if name in form.fields else beside, errors)
