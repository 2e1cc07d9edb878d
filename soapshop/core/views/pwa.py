"""What makes the app one that is installed: its manifest, its service worker, and a page for no network.

None of them asks for a sign-in, and none holds anything private.
"""

from __future__ import annotations

import json
import re
from hashlib import sha256
from uuid import uuid4

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from soapshop.core import queries

PAPER = "#faf6ee"  # as in tokens.css
LONGEST_SHORT_NAME = 12  # characters: what fits under an icon

SHORTCUTS = (
    (_("Pour"), "batches:pour", "pour"),
    (_("Rack"), "batches:rack", "rack"),
    (_("Shelf"), "batches:shelf", "shelf"),
    (_("Stock"), "inventory:stockroom", "stock"),
)
OF_THE_WORKER = (
    "soapshop/vendor/workbox-core.js",
    "soapshop/vendor/workbox-routing.js",
    "soapshop/vendor/workbox-strategies.js",
    "soapshop/vendor/workbox-precaching.js",
    "soapshop/vendor/idb.js",
    "soapshop/js/pocket/database.js",
    "soapshop/js/service-worker.js",
)


@login_not_required
def manifest(request: HttpRequest) -> HttpResponse:
    """The web app manifest (W3C, https://www.w3.org/TR/appmanifest/)."""
    name = queries.workshop().name
    icons = [_icon("app-192", 192), _icon("app-512", 512), _icon("app-maskable-512", 512, "maskable")]
    content = {
        "id": "/",
        "name": name,
        "short_name": name if len(name) <= LONGEST_SHORT_NAME else "Soapshop",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": PAPER,
        "icons": icons,
        "shortcuts": [
            {"name": word, "url": reverse(page), "icons": [_icon(f"shortcut-{picture}", 96)]}
            for word, page, picture in SHORTCUTS
        ],
    }
    return JsonResponse(content, content_type="application/manifest+json")


def _icon(name: str, size: int, purpose: str = "any") -> dict[str, str]:
    return {
        "src": static(f"soapshop/icons/{name}.png"),
        "sizes": f"{size}x{size}",
        "type": "image/png",
        "purpose": purpose,
    }


@login_not_required
def service_worker(request: HttpRequest) -> HttpResponse:
    """The worker: what it has to know of this server, then the scripts that it is made of.

    A browser takes a worker for new when this text has changed; the names of the scripts tell their content.
    """
    page = render_to_string("offline.html")
    # In a debugging server files change under the same names: then every visit brings a new worker.
    version = uuid4().hex if settings.DEBUG else sha256(page.encode()).hexdigest()[:12]
    known = {"offline": reverse("core:offline"), "version": version, "files": files_of(page)}
    scripts = ", ".join(json.dumps(static(name)) for name in OF_THE_WORKER)
    text = f"self.soapshop = {json.dumps(known)};\nimportScripts({scripts});\n"
    return HttpResponse(text, content_type="text/javascript")


def files_of(page: str) -> list[str]:
    """The static files that a page names."""
    return sorted(set(re.findall(rf'(?:href|src)="({settings.STATIC_URL}[^"#]+)', page)))


@login_not_required
def offline(request: HttpRequest) -> HttpResponse:
    """What is shown where there is no network: which batches are kept on this phone."""
    return render(request, "offline.html")
