"""From a form to the service that keeps it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.forms import Form

from batches.forms.errors import add_error

T = TypeVar("T")


def keep(form: Form, service: Callable[..., T], **fields: Any) -> T | None:
    """Calls a service with what a valid form holds, and with `fields`; returns what it returns.

    What the service refuses is put beside the field that it names: afterwards `form.is_valid()` tells whether
    it was kept.
    """
    if not form.is_valid():
        return None
    try:
        return service(**form.cleaned_data, **fields)
    except ValidationError as error:
        add_error(form, error)
        return None
