"""The look holds: contrasts, icons that exist, nothing inline, and a first visit that is light."""

import gzip
import re
from itertools import product
from pathlib import Path

import django_htmx
import pytest
from django.conf import settings

from soapshop.core import pdf

STATIC = Path(settings.BASE_DIR) / "soapshop" / "static" / "soapshop"
TEMPLATE_FOLDER = Path(settings.BASE_DIR) / "templates"
TEMPLATES = sorted(TEMPLATE_FOLDER.rglob("*.html"))
TOKENS = (STATIC / "css" / "tokens.css").read_text()
FIRST_VISIT_BYTES = 90_000

Palette = dict[str, str]


def colours(selector: str) -> list[Palette]:
    """Every set of colour tokens that stands under a selector in tokens.css."""
    blocks = re.findall(rf"^\s*{re.escape(selector)} \{{(.*?)\}}", TOKENS, re.S | re.M)
    found = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block)) for block in blocks]
    return [palette for palette in found if palette]


LIGHT = colours(":root")[0]
DARK = colours(':root[data-theme="dark"]')[0]
PALETTES = pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    channels = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2 (https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_measured_as_the_standard_says() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@PALETTES
def test_words_can_be_read_on_whatever_they_stand_on(palette: Palette) -> None:
    grounds = [palette[name] for name in ("paper", "sheet")]
    for name in ("ink", "clay", "olive", "amber", "oxide", "slate"):
        assert all(contrast(palette[name], ground) >= 4.5 for ground in grounds), name
    for wash, name in product(("olive-wash", "amber-wash", "oxide-wash"), ("ink", "oxide", "slate")):
        assert contrast(palette[name], palette[wash]) >= 4.5, (name, wash)
    assert contrast(palette["on-clay"], palette["clay"]) >= 4.5
    assert contrast(palette["on-clay"], palette["clay-deep"]) >= 4.5


@PALETTES
def test_weights_can_be_read_at_arms_length(palette: Palette) -> None:
    assert all(contrast(palette["ink"], palette[ground]) >= 7 for ground in ("paper", "sheet"))


@PALETTES
def test_edges_of_controls_can_be_seen(palette: Palette) -> None:
    for name in ("rule", "slate", "clay"):
        assert all(contrast(palette[name], palette[ground]) >= 3 for ground in ("paper", "sheet")), name


def test_dark_is_the_same_by_the_systems_wish_and_by_the_switch() -> None:
    assert colours(':root[data-theme="auto"]') == [DARK]
    assert DARK.keys() == LIGHT.keys()


def test_every_icon_that_is_asked_for_is_in_the_sprite() -> None:
    sprite = set(re.findall(r'<symbol id="([\w-]+)"', (STATIC / "icons.svg").read_text()))
    pages = "".join(page.read_text() for page in TEMPLATES)
    asked = set(re.findall(r'{% icon "([\w-]+)"', pages) + re.findall(r'(?:key|icon)="([\w-]+)"', pages))
    assert asked
    assert asked <= sprite


@pytest.mark.parametrize("page", TEMPLATES, ids=lambda page: page.name)
def test_pages_have_nothing_that_the_content_policy_forbids(page: Path) -> None:
    source = re.sub(r"{%.*?%}", "", page.read_text())
    if "print" in page.parts:  # made into PDF on the server, never sent to a browser
        return
    assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=|javascript:|hx-on", source)


def test_every_style_sheet_is_linked_by_a_page() -> None:
    pages = "".join(page.read_text() for page in TEMPLATES)
    for_paper = Path(pdf.STYLE).name
    assert [sheet.name for sheet in STATIC.glob("css/*") if f"css/{sheet.name}" not in pages] == [for_paper]


def test_a_first_visit_is_light() -> None:
    """Everything every page brings along but its own HTML, as sent: fonts as they are, text compressed."""
    pages = [TEMPLATE_FOLDER / name for name in ("base.html", "components/stylesheets.html")]
    named = set(re.findall(r'static "soapshop/([^"]+)"', "".join(page.read_text() for page in pages)))
    htmx = Path(django_htmx.__file__).parent / "static/django_htmx/htmx-2.min.js"
    files = [htmx, STATIC / "icons.svg", *(STATIC / name for name in named)]

    assert len(files) > 12
    assert sum(map(bytes_sent, files)) < FIRST_VISIT_BYTES


def bytes_sent(file: Path) -> int:
    content = file.read_bytes()
    return len(content if file.suffix in {".woff2", ".png"} else gzip.compress(content))
