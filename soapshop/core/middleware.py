"""The headers that every page carries, and the workshop that every page belongs to."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.cache import patch_vary_headers

from soapshop.core import queries

GetResponse = Callable[[HttpRequest], HttpResponse]

CONTENT_SECURITY_POLICY = "; ".join(
    [
        "default-src 'self'",
        "img-src 'self' blob:",  # blob: shows a picture before it is sent
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    ]
)
PERMISSIONS_POLICY = "camera=(), geolocation=(), microphone=(), payment=(), usb=(), screen-wake-lock=(self)"


class PolicyHeadersMiddleware:
    """No foreign or inline script or style, and no copy of a page left behind on a shared device."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        response.headers.setdefault("Cache-Control", "private, no-store")
        patch_vary_headers(response, ["HX-Request"])
        return response


class WorkshopMiddleware:
    """Sets `request.workshop`, and times are shown and read in the workshop's own zone."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        workshop = queries.workshop()
        request.workshop = workshop  # type: ignore[attr-defined]
        with timezone.override(workshop.zone):
            return self.get_response(request)
