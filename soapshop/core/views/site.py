"""What belongs to no page: the theme, photos and documents, and whether the app is alive."""

from __future__ import annotations

from typing import Literal
from uuid import UUID

from django.contrib.auth.decorators import login_not_required
from django.db import connection
from django.db.models.fields.files import FieldFile
from django.http import (
    FileResponse,
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseRedirect,
)
from django.shortcuts import get_object_or_404, redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import condition, require_POST

from soapshop.core.access import SignedInRequest
from soapshop.core.models import Document, Photo

THEMES = ("auto", "light", "dark")
YEAR = 60 * 60 * 24 * 365


@login_not_required
@require_POST
def theme(request: HttpRequest) -> HttpResponse:
    """Light, dark, or as the device has it; kept in a cookie of this device."""
    target = request.POST.get("next", "")
    # redirect() would take a word that is no path for the name of a view.
    here = target.startswith("/") and url_has_allowed_host_and_scheme(target, allowed_hosts=None)
    response = HttpResponseRedirect(target if here else "/")
    chosen = request.POST.get("theme", "")
    if chosen in THEMES:
        response.set_cookie("theme", chosen, max_age=YEAR, samesite="Lax", secure=request.is_secure())
    return response


def _photo_tag(request: HttpRequest, pk: UUID, size: str) -> str:
    return f'"{pk}-{size}"'  # a stored picture never changes


@condition(etag_func=_photo_tag)
def photo(request: SignedInRequest, pk: UUID, size: Literal["full", "thumb"]) -> HttpResponseBase:
    """A picture, to the signed-in; their browser may keep it."""
    row = get_object_or_404(Photo, pk=pk)
    file: FieldFile | None = {"full": row.full, "thumb": row.thumb}.get(size)
    if not file or not file.storage.exists(str(file.name)):
        raise Http404("No such picture.")
    response = FileResponse(file.open(), content_type="image/jpeg")
    response.headers["Cache-Control"] = f"private, max-age={YEAR}, immutable"
    return response


def document(request: SignedInRequest, pk: UUID) -> HttpResponseBase:
    """A PDF file to be kept or opened elsewhere, or the picture in its stead; to the signed-in."""
    row = get_object_or_404(Document, pk=pk)
    if row.photo_id:
        return redirect("core:photo", row.photo_id, "full")
    if not row.file.storage.exists(str(row.file.name)):
        raise Http404("No such document.")
    # Never shown in the page's own place: what a stranger wrote into it stays outside of the app.
    response = FileResponse(
        row.file.open(), as_attachment=True, filename=row.name, content_type="application/pdf"
    )
    response.headers["Cache-Control"] = f"private, max-age={YEAR}, immutable"
    return response


@login_not_required
def health(request: HttpRequest) -> HttpResponse:
    """For whatever watches over the server: 'ok' when the app and its database answer."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("ok", content_type="text/plain")
