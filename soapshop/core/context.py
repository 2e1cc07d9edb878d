"""What every template knows besides Django's own: the workshop, and whether its address is a plain one."""

from typing import Any

from django.http import HttpRequest

from soapshop.core import queries
from soapshop.core.addresses import is_trusted


def workshop(request: HttpRequest) -> dict[str, Any]:
    """The workshop set by the middleware; a page for an error raised before it reads it anew."""
    return {
        "workshop": getattr(request, "workshop", None) or queries.workshop(),
        "plain_address": not is_trusted(request),
    }
