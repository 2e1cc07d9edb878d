"""The placing strip: what is asked of it, and what of it can be measured on paper."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from html import escape
from itertools import pairwise

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Material
from recipes.models import Ingredient, Mould, Shape, Version
from recipes.strip import MOST_DRAWN
from tests.bad_input import EVERYTHING
from tests.factories import MaterialFactory, MouldFactory, VersionFactory, WorkshopFactory
from tests.printed import DOTS_PER_INCH, pictures, words
from tests.recipes.measured import MARGIN, measured

pytestmark = pytest.mark.django_db

WITHIN = 0.2  # mm
PAPERS = ["a4", "letter"]
SIZE = {"a4": (297, 210), "letter": (279.4, 215.9)}  # mm, on its side: ISO 216, ANSI/ASME Y14.1
FIELDS = ["length", "bars", "thickness", "trim", "kerf", "which", "number", "embed", "distance", "paper"]


@pytest.fixture
def star() -> Material:
    return MaterialFactory(embed=True, name="Star", piece_length=Decimal(6))


@pytest.fixture
def version(star) -> Version:
    """Ten bars out of a loaf of 250 mm, two stars in each."""
    made = VersionFactory(name="Winter orange")
    made.mould = beech()
    made.save()
    Ingredient.objects.create(version=made, material=star, amount=2)
    return made


@pytest.fixture
def client(client_of, viewer) -> Client:
    signed_in: Client = client_of(viewer)
    return signed_in


def beech(**said: object) -> Mould:
    """A mould of 250 mm between its liners, whose loaves lose 5 mm at each end and 1 mm to each cut."""
    figures = {"length": 254, "liner": 2, "trim": 5, "kerf": 1} | said
    return MouldFactory(**{"name": "Beech loaf"} | figures)


def url(version: Version, name: str = "strip") -> str:
    return reverse(f"recipes:{name}", args=[version.recipe_id, version.number])


def bars_of(length: float, bars: int, trim: float, kerf: float) -> tuple[float, list[float]]:
    """Thickness of a bar, and where each begins."""
    thickness = (length - 2 * (trim + kerf) - (bars - 1) * kerf) / bars
    return thickness, [trim + kerf + bar * (thickness + kerf) for bar in range(bars)]


# On paper


def printed(client: Client, version: Version, **asked: object) -> bytes:
    answer = client.get(url(version, "strip_pdf"), asked)
    assert answer["Content-Type"] == "application/pdf"
    return bytes(answer.content)


@pytest.mark.parametrize("paper", PAPERS)
def test_cuts_and_embeds_lie_where_they_belong_to_a_fifth_of_a_millimetre(client, version, paper):
    (page,) = measured(printed(client, version, paper=paper))

    thickness, starts = bars_of(250, 10, trim=5, kerf=1)
    assert page.size == pytest.approx(SIZE[paper], abs=WITHIN)
    assert page.cuts == pytest.approx([5.5, *(start + thickness + 0.5 for start in starts)], abs=WITHIN)
    kerfs = [5, 6, *(start + thickness + side for start in starts for side in (0, 1))]
    assert page.kerfs == pytest.approx(kerfs, abs=WITHIN)
    middles = [start + share * thickness for start in starts for share in (1 / 4, 3 / 4)]
    assert page.centres == pytest.approx(middles, abs=WITHIN)
    sides = [middle + half for middle in middles for half in (-3, 3)]
    assert page.embeds == pytest.approx(sides, abs=WITHIN)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("length", [250, 600])
def test_every_page_has_a_line_of_100_mm(client, version, paper, length):
    for page in measured(printed(client, version, paper=paper, length=length)):
        assert [wide for wide, thick in page.level if wide == pytest.approx(100, abs=WITHIN)]


@pytest.mark.parametrize("paper", PAPERS)
def test_a_strip_over_several_pages_joins_mark_on_mark(client, version, paper):
    pages = measured(printed(client, version, paper=paper, length=600, bars=20, number=1, embed=15))

    assert len(pages) == 3
    assert [len(page.marks) for page in pages] == [1, 2, 1]
    shifts = [0.0]
    for left, right in pairwise(pages):
        shifts.append(shifts[-1] + left.marks[-1] - right.marks[0])
    thickness, starts = bars_of(600, 20, trim=5, kerf=1)
    cuts = sorted(x + shift for page, shift in zip(pages, shifts, strict=True) for x in page.cuts)
    middles = sorted(x + shift for page, shift in zip(pages, shifts, strict=True) for x in page.centres)
    assert _once(cuts) == pytest.approx([5.5, *(start + thickness + 0.5 for start in starts)], abs=WITHIN)
    assert _once(middles) == pytest.approx([start + thickness / 2 for start in starts], abs=WITHIN)


def _once(places: list[float]) -> list[float]:
    """Places that two pages show, once."""
    return places[:1] + [right for left, right in pairwise(places) if right - left > WITHIN]


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_is_drawn_beyond_what_a_printer_reaches(client, version, paper):
    for page in measured(printed(client, version, paper=paper, length=2000, bars=80)):
        room = SIZE[paper][0] - 2 * MARGIN + 0.01
        assert all(0 <= x <= room for x in page.marks)
        assert all(-0.01 <= x <= room for x in page.cuts)


def test_the_cuts_are_measured_in_the_picture_of_the_page(client, version, tmp_path):
    pdf = printed(client, version, trim=0, kerf=0, which="", number="", embed="")
    picture = pictures(pdf, tmp_path)[0].convert("L")

    both_ends_and_cuts = [row for row in range(picture.height) if len(_dark(picture, row)) == 11]
    row = both_ends_and_cuts[len(both_ends_and_cuts) // 2]
    places = [dot * 25.4 / DOTS_PER_INCH - MARGIN for dot in _dark(picture, row)]
    assert places == pytest.approx([25 * cut for cut in range(11)], abs=WITHIN)


def _dark(picture, row: int) -> list[float]:
    """The middle of each dark run of a row, in dots."""
    dots = [x for x in range(picture.width) if picture.getpixel((x, row)) < 160]
    runs: list[list[int]] = []
    for dot in dots:
        if runs and dot == runs[-1][-1] + 1:
            runs[-1].append(dot)
        else:
            runs.append([dot])
    return [(run[0] + run[-1] + 1) / 2 for run in runs]


def test_the_paper_says_what_it_is_for(client, version):
    text = words(printed(client, version))

    for said in ("Winter orange", "version 1", "Beech loaf", "page 1 of 1", "10 bars of 22.9", "Star"):
        assert said in text
    for said in ("left end", "right end", "Measure this: 100 mm", "100 %", "10.2"):
        assert said in text


def test_every_bar_and_every_embed_is_named_on_one_of_the_pages(client, version):
    text = words(printed(client, version, length=600, bars=20, number=1, embed=15)).split()

    for bar in range(1, 21):
        assert text.count(str(bar)) >= 2, bar
    assert {"A", "B"} <= set(text)
    assert "C" not in text


def test_an_end_that_is_left_over_is_told(client, version):
    assert "7 mm left over at the right end" in words(
        printed(client, version, trim=0, kerf=0, thickness=27)
    ).replace("\N{NO-BREAK SPACE}", " ")


def test_a_strip_of_cuts_alone_says_nothing_of_embeds(client, version):
    pdf = printed(client, version, which="", number="", embed="")

    assert measured(pdf)[0].embeds == []
    assert "from the nearest cut" not in words(pdf)


@pytest.mark.parametrize(("units", "paper"), [("metric", "a4"), ("us", "letter")])
def test_the_paper_follows_the_units_of_the_workshop(client, version, units, paper):
    WorkshopFactory(units=units)

    assert measured(printed(client, version))[0].size == pytest.approx(SIZE[paper], abs=WITHIN)


def test_without_pango_the_page_says_how_to_install_it(client, version, monkeypatch):
    from soapshop.core import pdf

    def unavailable(*_args, **_kwargs):
        raise pdf.PdfUnavailable("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr("soapshop.core.pdf.render_pdf", unavailable)
    answer = client.get(url(version, "strip_pdf"), {"bars": 8})

    assert answer.status_code == 503
    assert "libpango" in answer.text
    assert f"{url(version)}?bars=8" in answer.text


# The page


def test_a_recipe_leads_to_its_strip(client, version):
    assert url(version) in client.get(reverse("recipes:recipe", args=[version.recipe_id])).text


def test_the_page_draws_what_mould_and_recipe_say(client, version):
    answer = client.get(url(version))

    assert answer.status_code == 200
    assert answer.context["strip"].length == 250
    assert len(answer.context["drawing"].bars) == 10
    assert len(answer.context["drawing"].embeds) == 20
    assert answer.context["drawing"].cuts[0].middle == "2.200%"
    assert 'placeholder="2"' in answer.text
    assert 'placeholder="6"' in answer.text
    assert url(version, "strip_pdf") in answer.text


@pytest.mark.parametrize(
    ("mould", "length", "bars"),
    [
        ({}, "250", "10"),
        ({"shape": Shape.SLAB, "bars": 4, "rows": 3}, "250", "4"),
        ({"shape": Shape.TUBE, "diameter": 70, "length": None, "depth": 302}, "300", "10"),
        ({"shape": Shape.CAVITIES, "cavities": 6, "millilitres": 90}, None, "10"),
    ],
)
def test_the_length_is_that_of_the_mould_between_its_liners(client, version, mould, length, bars):
    version.mould = beech(name="Another", **mould)
    version.save()

    form = client.get(url(version)).context["form"]

    assert (form["length"].value(), form["bars"].value()) == (length, bars)


def test_a_tube_is_as_long_as_it_is_filled(client, version):
    version.mould = beech(name="Tube", shape=Shape.TUBE, diameter=70, length=None, depth=300)
    version.mould_height = Decimal(280)
    version.save()

    assert client.get(url(version)).context["form"]["length"].value() == "280"


def test_without_a_mould_the_length_is_that_of_the_recipe(client, version):
    version.mould, version.mould_length = None, Decimal(200)
    version.save()

    answer = client.get(url(version))

    assert answer.context["strip"].length == 200
    assert answer.context["strip"].plan.kerfs_mm == 0


def test_where_no_length_is_known_the_page_asks_for_it(client):
    version = VersionFactory()

    page = client.get(url(version))
    pdf = client.get(url(version, "strip_pdf"))

    assert (page.status_code, page.context["strip"]) == (200, None)
    assert not page.context["form"].errors
    assert pdf.status_code == 302
    assert "which" not in page.context["form"].fields


def test_a_thickness_goes_before_the_number_of_bars(client, version):
    strip = client.get(url(version), {"thickness": "3 cm", "trim": 0, "kerf": 0}).context["strip"]

    assert len(strip.plan.bars) == 8
    assert strip.plan.leftover_mm == pytest.approx(10)


def test_warnings_stand_on_the_page_and_on_paper(client, version):
    asked = {"number": 3, "embed": 9}

    page, paper = client.get(url(version), asked).text, words(printed(client, version, **asked))

    for text in (page, paper):
        assert "Placed like this, cuts go through embeds." in text
        assert "there are only 7.6 mm for each" in text
    assert "a cut goes through" in page


def test_what_fits_is_not_warned_of(client, version):
    answer = client.get(url(version), {"number": 1})

    assert "cuts go through" not in answer.text
    assert answer.context["strip"].placing.nearest_mm == pytest.approx((22.9 - 6) / 2)


def test_what_is_typed_goes_before_the_recipe(client, version):
    wanted = client.get(url(version), {"number": 1, "embed": "8.5"}).context["strip"].wanted

    assert (wanted.number, wanted.embed) == (1, 8.5)


def test_half_an_embed_is_asked_for_whole(client, version, star):
    Ingredient.objects.filter(version=version).update(amount=Decimal("0.5"))

    answer = client.get(url(version))

    assert answer.status_code == 422
    assert "The recipe says 0.5 to a bar" in answer.text
    assert client.get(url(version), {"number": 1}).status_code == 200


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({"which": "", "number": 2}, "embed", "how much of the loaf"),
        ({"which": "", "embed": 6}, "number", "how many of them"),
        ({"trim": 130}, "trim", "Trimming both ends leaves nothing"),
        ({"kerf": 30}, "kerf", "What a cut takes must lie between"),
        ({"bars": 300}, "bars", "thinner than 1 mm"),
        ({"thickness": 400}, "thickness", "too short for one bar"),
        ({"length": 2000, "bars": 200, "number": 100, "embed": 1}, "number", f"more than {MOST_DRAWN}"),
        ({"length": ""}, "length", "Please fill this in."),
        ({"paper": "a0"}, "paper", "Choose one of those"),
        ({"which": "999"}, "which", "Choose one of those"),
    ],
)
def test_what_cannot_be_stands_beside_its_field(client, version, asked, field, words):
    answer = client.get(url(version), asked)
    pdf = client.get(url(version, "strip_pdf"), asked)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert words in answer.text
    assert pdf.status_code == 302
    assert client.get(pdf["Location"]).status_code == 422


def test_an_embed_of_unknown_length_is_asked_for(client, version, star):
    Material.objects.filter(pk=star.pk).update(piece_length=None)

    assert list(client.get(url(version)).context["form"].errors) == ["embed"]
    assert client.get(url(version), {"embed": 6}).status_code == 200


@pytest.mark.parametrize("name", FIELDS)
def test_whatever_is_typed_is_answered_and_kept(client, version, name):
    for typed in EVERYTHING:
        answer = client.get(url(version), {name: typed})
        assert answer.status_code in {200, 422}, typed
        if answer.status_code == 422:
            assert client.get(url(version, "strip_pdf"), {name: typed}).status_code == 302, typed
        if name not in {"which", "paper"} and "\0" not in typed:
            assert f'value="{escape(typed)}"' in answer.text or not typed, typed


def test_the_longest_strip_of_the_thinnest_bars_is_drawn(client, version):
    asked = {"length": 2000, "bars": 2000, "trim": 0, "kerf": 0, "which": "", "number": ""}

    answer = client.get(url(version), asked)

    assert len(answer.context["drawing"].cuts) == 1999
    assert sum(bool(bar.name) for bar in answer.context["drawing"].bars) <= 15


def test_the_page_takes_a_constant_number_of_queries(
    client, version, django_assert_max_num_queries: Callable
):
    with django_assert_max_num_queries(10):
        client.get(url(version))


@pytest.mark.parametrize("name", ["strip", "strip_pdf"])
def test_a_version_that_does_not_exist_is_not_found(client, version, name):
    for pk, number in [(version.recipe_id, 2), (version.recipe_id, 10**30), (10**30, 1)]:
        assert client.get(reverse(f"recipes:{name}", args=[pk, number])).status_code == 404
