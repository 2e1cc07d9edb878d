"""Connecting a phone to the secure address. Asks for no sign-in: the phone is not signed in yet."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from soapshop.authority import Authority
from soapshop.core.addresses import place_of


@login_not_required
def connect(request: HttpRequest) -> HttpResponse:
    """What a phone gains, how to do it, and what it means. Nothing of it is private."""
    place = place_of(request)
    authority = Authority(settings.TLS_DIR)
    in_use = settings.SECURE_PORT and authority.exists
    context = {
        "place": place,
        "here": f"{place.plain}{reverse('core:connect')}",
        "fingerprint": authority.fingerprint().splitlines() if in_use else [],
        "device": device_of(request.headers.get("User-Agent", "")),
    }
    return render(request, "account/connect.html", context)


def device_of(user_agent: str) -> str:
    """Which steps to show first; an iPad may call itself a Mac, so the others stay at hand."""
    if "Android" in user_agent:
        return "android"
    return "ios" if "iPhone" in user_agent or "iPad" in user_agent else "computer"


@login_not_required
def authority(request: HttpRequest) -> HttpResponse:
    """The certificate that a phone is told to trust; not attached, or iOS only files it (from memory)."""
    kept = Authority(settings.TLS_DIR)
    if not kept.exists:
        raise Http404("This workshop has no authority of its own.")
    response = HttpResponse(kept.certificate(), content_type="application/x-x509-ca-cert")
    response.headers["Content-Disposition"] = 'inline; filename="soapshop-authority.crt"'
    return response
