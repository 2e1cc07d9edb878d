"""QR codes (ISO/IEC 18004) as drawings for pages and for paper."""

from __future__ import annotations

from io import BytesIO

import segno
from django.utils.safestring import SafeString, mark_safe

QUIET = 4  # modules of white around the code, as the standard asks


def qr_svg(text: str, *, title: str) -> SafeString:
    """The text as an inline SVG, black on white in light and dark; `title` says what it leads to.

    It is the smallest code that mends 15 % of damage, and more wherever that costs no room.
    """
    drawing = BytesIO()
    segno.make_qr(text, error="m").save(
        drawing,
        kind="svg",
        border=QUIET,
        dark="#000",
        light="#fff",
        title=title,
        svgclass="qr",
        lineclass=None,
        omitsize=True,
        xmldecl=False,
        svgns=False,
        nl=False,
    )
    # segno escapes the title; the rest is its own drawing.
    return mark_safe(drawing.getvalue().decode())  # noqa: S308
