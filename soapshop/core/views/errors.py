"""Pages for what went wrong. Django itself finds 400.html, 403.html, 404.html and 500.html."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Shown when a form comes from a page that is too old, or from a browser that keeps no cookies."""
    return render(request, "core/csrf_failure.html", status=403)
