"""The pages of moulds: the list, a mould with its cut, and the form that writes one down."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from recipes.models import Mould
from recipes.services.moulds import archive_mould, note_fill
from tests.bad_input import EMOJI, EVERYTHING, NO_POSITIVE_NUMBERS, NUL, SCRIPT, TOO_LONG
from tests.factories import MouldFactory, VersionFactory

pytestmark = pytest.mark.django_db

LIST, ADD = reverse("recipes:moulds"), reverse("recipes:mould_add")
LOAF = {"name": "Oak box", "shape": "loaf", "length": "250", "width": "8 cm", "depth": "65", "bars": "10"}
SLAB = {
    "name": "Tray",
    "shape": "slab",
    "length": "400",
    "width": "300",
    "depth": "40",
    "bars": "5",
    "rows": "4",
}
TUBE = {"name": "Pipe", "shape": "tube", "diameter": "3 in", "depth": "300", "bars": "11"}
HEARTS = {"name": "Hearts", "shape": "cavities", "cavities": "6", "millilitres": "102", "depth": "35"}
OTHER = {"name": "Tin", "shape": "other", "millilitres": "1.83 kg", "depth": "60", "bars": "12"}
FIGURES = ["length", "width", "depth", "liner", "bars", "thickness", "trim", "kerf"]


@pytest.fixture
def phone(client_of, maker, workshop):
    return client_of(maker)


def url(mould: Mould, name: str = "mould") -> str:
    return reverse(f"recipes:{name}", args=[mould.pk])


def text(response) -> str:
    return " ".join(response.content.decode().replace("\u202f", " ").replace("\u00a0", " ").split())


def errors(response) -> dict[str, list[str]]:
    assert response.status_code == 422, text(response)[:300]
    assert SCRIPT not in response.content.decode()
    return response.context["form"].errors


# --- the list -----------------------------------------------------------------------------------------------


def test_the_list_says_what_each_holds_and_leads_to_it(phone):
    mould = MouldFactory(name="Oak box")

    page = text(phone.get(LIST))

    assert f'href="{url(mould)}">Oak box' in page
    assert "Loaf · 1 300&nbsp;mL" in page
    assert "10 <small>bars</small>" in page


def test_a_mould_that_is_put_away_stands_in_the_other_list(phone, maker):
    archive_mould(mould=MouldFactory(name="Oak box"), archived=True, by=maker)

    assert "Oak box" not in text(phone.get(LIST))
    assert "Oak box" in text(phone.get(LIST, {"archived": ""}))


def test_an_empty_list_offers_the_first_to_makers_only(phone, viewer, client_of):
    assert ADD in text(phone.get(LIST))
    assert ADD not in text(client_of(viewer).get(LIST))


def test_recipes_and_settings_lead_to_the_moulds(client_of, owner, workshop):
    for name in ("recipes:list", "core:settings"):
        assert f'href="{LIST}"' in text(client_of(owner).get(reverse(name)))


# --- the form -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", [LOAF, SLAB, TUBE, HEARTS, OTHER], ids=lambda typed: typed["shape"])
def test_a_mould_of_any_shape_is_added(phone, typed):
    answer = phone.post(ADD, typed)

    mould = Mould.objects.get()
    assert answer["Location"] == url(mould)
    assert (mould.name, mould.shape) == (typed["name"], typed["shape"])
    assert f"{mould.name} is among your moulds." in text(phone.get(url(mould)))


def test_inches_and_kilograms_of_water_are_understood(phone):
    phone.post(ADD, TUBE)
    phone.post(ADD, OTHER)

    assert Mould.objects.get(name="Pipe").diameter == Decimal("76.2")
    assert Mould.objects.get(name="Tin").millilitres == 1830


@pytest.mark.parametrize(
    ("shape", "missing"),
    [
        ("loaf", {"length", "width", "bars"}),
        ("slab", {"length", "width", "bars"}),
        ("tube", {"diameter", "bars"}),
        ("cavities", {"cavities", "millilitres"}),
        ("other", {"millilitres", "bars"}),
    ],
)
def test_each_shape_asks_for_its_own_measures(phone, shape, missing):
    answer = phone.post(ADD, {"shape": shape})

    assert errors(answer).keys() == missing | {"name", "depth"}
    assert not Mould.objects.exists()


def test_what_stands_in_fields_of_another_shape_is_not_looked_at(phone):
    phone.post(
        ADD, HEARTS | {"length": SCRIPT, "bars": "-1", "liner": "NaN", "rows": TOO_LONG, "kerf": "9 m"}
    )

    assert Mould.objects.get().bars == 6


def test_a_thickness_stands_for_the_number_of_bars(phone):
    phone.post(ADD, LOAF | {"bars": "", "thickness": "1 in", "trim": "3"})

    assert Mould.objects.get().bars == 9


def test_a_number_and_a_thickness_that_agree_are_both_taken(phone):
    phone.post(ADD, LOAF | {"bars": "10", "thickness": "25"})

    assert Mould.objects.get().bars == 10


def test_a_number_and_a_thickness_that_differ_are_not(phone):
    answer = phone.post(ADD, LOAF | {"bars": "12", "thickness": "25"})

    assert errors(answer) == {"thickness": ["Bars of 25 mm are 10, not 12. Leave one of the two empty."]}


@pytest.mark.parametrize(("typed", "field"), [({"thickness": "300"}, "thickness"), ({"trim": "125"}, "trim")])
def test_a_thickness_that_there_is_no_room_for_is_refused(phone, typed, field):
    assert errors(phone.post(ADD, LOAF | {"bars": "", "thickness": "25"} | typed)).keys() == {field}


def test_a_thickness_waits_until_the_other_measures_are_right(phone):
    assert errors(phone.post(ADD, LOAF | {"bars": "", "thickness": "25", "length": "x"})).keys() == {"length"}


def test_a_name_that_is_taken_is_refused_and_stays_typed(phone):
    MouldFactory(name="OAK BOX")

    answer = phone.post(ADD, LOAF)

    assert errors(answer) == {"name": ["There is a mould called Oak box already."]}
    assert 'value="8 cm"' in text(answer)


def test_sent_twice_it_is_there_once(phone):
    assert phone.post(ADD, LOAF).status_code == 302
    assert phone.post(ADD, LOAF).status_code == 422
    assert Mould.objects.count() == 1


def test_a_change_starts_from_what_is_known_and_is_kept(phone):
    mould = MouldFactory(name="Oak box", trim=Decimal(3))
    shown = text(phone.get(url(mould, "mould_edit")))
    assert all(f'name="{name}" value="{value}"' in shown for name, value in [("width", 80), ("trim", 3)])
    assert "Change Oak box" in shown

    answer = phone.post(url(mould, "mould_edit"), LOAF | {"name": "Pine box", "trim": "0"})

    mould.refresh_from_db()
    assert answer["Location"] == url(mould)
    assert (mould.name, mould.trim) == ("Pine box", 0)


def test_a_thickness_typed_beside_the_old_number_changes_it(phone):
    mould = MouldFactory()

    phone.post(url(mould, "mould_edit"), LOAF | {"bars": "10", "thickness": "50"})

    mould.refresh_from_db()
    assert mould.bars == 5


def test_measures_that_a_past_pour_speaks_against_are_refused(phone):
    mould = MouldFactory()
    said = {"grams": Decimal(1000), "height": Decimal(50), "at": timezone.now()}
    note_fill(batch="L001", version=VersionFactory(), mould=mould, **said)

    answer = phone.post(url(mould, "mould_edit"), LOAF | {"depth": "40"})

    [[words]] = errors(answer).values()
    assert "Batch L001 stood 50.0 mm high in this mould" in words


def test_a_mould_is_put_away_and_brought_back(phone):
    mould = MouldFactory(name="Oak box")

    away = text(phone.post(url(mould, "mould_archive"), follow=True))
    back = text(phone.post(url(mould, "mould_archive"), {"back": ""}, follow=True))

    assert "Oak box is put away." in away
    assert 'name="back"' in away
    assert "Oak box is among your moulds again." in back


@pytest.mark.parametrize("value", [value for value in NO_POSITIVE_NUMBERS if value.strip()])
@pytest.mark.parametrize("field", FIGURES)
def test_no_figure_that_makes_no_sense_is_taken(phone, field, value):
    answer = phone.post(ADD, LOAF | {field: value})

    assert field in errors(answer)
    assert not Mould.objects.exists()


@pytest.mark.parametrize("field", ["length", "width", "depth", "bars", "thickness"])
def test_nothing_is_no_measure(phone, field):
    assert field in errors(phone.post(ADD, LOAF | {field: "0"}))


@pytest.mark.parametrize("value", [NUL, TOO_LONG, "", "   "])
def test_a_mould_needs_a_name_that_can_be_kept(phone, value):
    assert "name" in errors(phone.post(ADD, LOAF | {"name": value}))


@pytest.mark.parametrize("value", [EMOJI, SCRIPT])
def test_any_name_is_shown_as_it_was_typed(phone, value):
    phone.post(ADD, LOAF | {"name": value})

    page = phone.get(LIST)
    assert Mould.objects.get().name == value
    assert SCRIPT not in page.content.decode()


@pytest.mark.parametrize("value", EVERYTHING)
def test_a_shape_that_there_is_not_is_refused(phone, value):
    assert "shape" in errors(phone.post(ADD, LOAF | {"shape": value}))


# --- the mould ----------------------------------------------------------------------------------------------


def test_a_mould_shows_what_it_holds_at_each_quarter(phone):
    page = text(phone.get(url(MouldFactory(depth=Decimal(60)))))

    for row in ("¼ · 15 mm", "½ · 30 mm", "¾ · 45 mm", "full · 60 mm", "300 mL", "600 g"):
        assert row in page


def test_a_height_is_turned_into_grams(phone):
    answer = phone.get(url(MouldFactory()), {"height": "5 cm", "loss": "20 %"})

    page = text(answer)
    assert "Up to 50&nbsp;mm stand 1 000 g of batter, give or take 36 g." in page
    assert "Of the mould filled to 50 mm." in page
    assert "A bar after the cure, 20 % lighter</dt><dd>80 g" in page


def test_left_empty_the_figures_are_the_usual_ones(phone):
    page = text(phone.get(url(MouldFactory()), {"height": "", "loss": ""}))

    assert "Of the mould filled to the brim." in page
    assert "A bar after the cure, 12 % lighter</dt><dd>114 g" in page


@pytest.mark.parametrize("field", ["height", "loss"])
@pytest.mark.parametrize("value", ["-1", "66", "0.5", "NaN", "1e400", EMOJI, SCRIPT, NUL, TOO_LONG, "100"])
def test_a_figure_that_cannot_be_is_refused_and_the_page_still_stands(phone, field, value):
    if (field, value) in {("loss", "66"), ("loss", "0.5")}:
        return
    answer = phone.get(url(MouldFactory()), {field: value})

    assert field in errors(answer)
    assert "Of the mould filled to the brim." in text(answer)
    assert "Up to" not in text(answer)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({}, "From above, to scale: 10 bars, each 25.0 mm thick."),
        ({"bars": 1}, "From above, to scale: 1 bar, 250.0 mm thick."),
        (
            {"shape": "tube", "diameter": Decimal(75)},
            "Lying on its side, to scale: 10 bars, each 6.5 mm thick.",
        ),
        (
            {"shape": "slab", "bars": 5, "rows": 2},
            "From above, to scale: 5 along the length, 2 across the width, each 50.0 by 40.0 mm.",
        ),
    ],
)
def test_the_cut_is_drawn_with_its_words(phone, said, words):
    page = text(phone.get(url(MouldFactory(**said))))

    assert words in page
    assert page.count('<path class="cut-plan-cut"') == (5 if "rows" in said else said.get("bars", 10) - 1)
    assert "Ends and trimmings, fresh" in page


@pytest.mark.parametrize("said", [{"shape": "cavities", "cavities": 6}, {"shape": "other", "bars": 6}])
def test_what_is_not_cut_by_measure_has_no_drawing(phone, said):
    page = text(phone.get(url(MouldFactory(**said, millilitres=Decimal(600)))))

    assert "<h2>The bars</h2>" in page
    assert "cut-plan" not in page
    assert "Ends and trimmings" not in page


def test_a_mould_tells_what_it_has_learned(phone):
    mould, version = MouldFactory(), VersionFactory(name="Gravel Lane")
    assert "No pour has told yet." in text(phone.get(url(mould)))

    for number, grams in enumerate([970, 990, 980]):
        said = {"grams": Decimal(grams), "height": Decimal(50), "at": timezone.now()}
        note_fill(batch=f"L{number:03}", version=version, mould=mould, **said)

    page = text(phone.get(url(mould)))
    assert "Batter: 0.98 g/mL ± 0.02 from 3 pours" in page
    assert "L002, Gravel Lane" in page
    assert "Before any pour a batter counts as 1.00 g/mL" in page


def test_of_several_recipes_each_is_told(phone):
    mould = MouldFactory()
    for number in range(2):
        said = {"grams": Decimal(980), "height": Decimal(50), "at": timezone.now()}
        note_fill(batch=f"L{number:03}", version=VersionFactory(), mould=mould, **said)

    assert text(phone.get(url(mould))).count("from 1 pour<") == 2


def test_who_may_only_look_sees_the_mould_but_no_way_to_change_it(client_of, viewer, workshop):
    mould, eyes = MouldFactory(), client_of(viewer)

    page = text(eyes.get(url(mould)))

    assert url(mould, "mould_edit") not in page
    assert url(mould, "mould_archive") not in page
    assert eyes.post(ADD, LOAF).status_code == 403
    assert eyes.post(url(mould, "mould_edit"), LOAF).status_code == 403
    assert eyes.post(url(mould, "mould_archive")).status_code == 403
