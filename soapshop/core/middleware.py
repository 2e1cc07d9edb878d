"""The headers that every page carries, and the workshop that every page belongs to."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.core.exceptions import MiddlewareNotUsed
from django.http import HttpRequest, HttpResponse
from django.middleware.gzip import GZipMiddleware
from django.utils import timezone
from django.utils.cache import patch_vary_headers

from soapshop.core import queries

GetResponse = Callable[[HttpRequest], HttpResponse]
OWN_COOKIE = "__Host-"

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


# Pictures and PDF files are compressed as they are.
COMPRESSED_WELL = ("text/", "application/json", "image/svg+xml")


class CompressionMiddleware(GZipMiddleware):
    """Pages are a quarter of their size on the wire. Django pads them at random against BREACH."""

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:  # type: ignore[override]
        if response.headers.get("Content-Type", "").startswith(COMPRESSED_WELL):
            return super().process_response(request, response)  # type: ignore[return-value]
        return response


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


class SecureCookiesMiddleware:
    """At the workshop's secure address, cookies of their own that never travel unencrypted.

    Browsers share cookies between http://host:8000 and https://host:8443, and after that refuse to let the
    plain address change a cookie marked as secure: signing in there would fail for no visible reason. With
    the prefix __Host- (RFC 6265bis) the two addresses do not meet. The app itself sees the ordinary names.
    """

    def __init__(self, get_response: GetResponse) -> None:
        if settings.TLS:  # there is no plain address beside it
            raise MiddlewareNotUsed
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.is_secure():
            return self.get_response(request)
        mine = {name for name in request.COOKIES if name.startswith(OWN_COOKIE)}
        request.COOKIES = {name.removeprefix(OWN_COOKIE): request.COOKIES[name] for name in mine}
        response = self.get_response(request)
        for name in list(response.cookies):
            cookie = response.cookies.pop(name)
            response.cookies[OWN_COOKIE + name] = cookie.value
            response.cookies[OWN_COOKIE + name].update({**cookie, "secure": True, "path": "/"})
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
