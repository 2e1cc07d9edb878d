"""Pages for paper. WeasyPrint and its system libraries are loaded only when a PDF is asked for."""

from __future__ import annotations

from typing import Any

from django.contrib.staticfiles import finders
from django.http import HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from soapshop.core.access import SignedInRequest

STYLE = "soapshop/css/print.css"

# 8.5 in by 11 in (ANSI/ASME Y14.1, size A) and 210 mm by 297 mm (ISO 216, size A4).
PAPER = {"us": "letter", "metric": "a4"}


class PdfUnavailable(RuntimeError):
    """WeasyPrint cannot be loaded: Pango is not installed on this computer."""


def render_pdf(template: str, context: dict[str, Any], *, units: str) -> bytes:
    """A template of templates/print/ as a PDF, on A4, or on US Letter for a workshop that works in ounces.

    Raises PdfUnavailable.
    """
    try:
        from weasyprint import CSS, HTML
        from weasyprint.text.fonts import FontConfiguration
    except (ImportError, OSError) as problem:
        raise PdfUnavailable(str(problem)) from problem
    page = render_to_string(template, context)
    fonts = FontConfiguration()
    style = CSS(filename=finders.find(STYLE), font_config=fonts)
    size = CSS(string=f"@page {{ size: {PAPER[units]} }}")
    return bytes(HTML(string=page).write_pdf(stylesheets=[style, size], font_config=fonts))


def pdf_answer(
    request: SignedInRequest, template: str, context: dict[str, Any], *, name: str, back: str
) -> HttpResponse:
    """The PDF to look at and print; where none can be made, a page that says why and leads `back`."""
    workshop = request.workshop
    try:
        pdf = render_pdf(template, {**context, "workshop": workshop}, units=workshop.units)
    except PdfUnavailable:
        return render(request, "core/no_pdf.html", {"back": back}, status=503)
    shown = f'inline; filename="{name}.pdf"'
    return HttpResponse(pdf, content_type="application/pdf", headers={"Content-Disposition": shown})
