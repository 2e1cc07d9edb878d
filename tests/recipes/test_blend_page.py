"""The page of the blend finder: what is asked, what is found, what clashes, and what it refuses."""

from datetime import date, timedelta
from decimal import Decimal
from urllib.parse import parse_qs, urlsplit

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from inventory.models import Material
from recipes.blending import acid_bar, amounts_of, fat_of
from recipes.views import blend as blend_view
from shared.blend import Group
from shared.blend import programme as programmes
from shared.fats import reference_fats
from tests.bad_input import EVERYTHING, SCRIPT
from tests.factories import LotFactory, MaterialFactory, VersionFactory, WorkshopFactory, design, part
from tests.recipes.catalogue import fat
from tests.recipes.typed import rows

pytestmark = pytest.mark.django_db

BLEND = reverse("recipes:blend")


def days_ago(days: int) -> date:
    return timezone.localdate() - timedelta(days=days)


@pytest.fixture
def olive() -> Material:
    return fat("olive", 8)


@pytest.fixture
def coconut() -> Material:
    return fat("coconut", 5)


@pytest.fixture
def palm() -> Material:
    return fat("palm", 2)


def ask(client, *fats: Material, limits: list[tuple[str, str, str]] = (), **asked: object):
    """What the page answers to a wish."""
    what, side, value = zip(*limits, strict=True) if limits else ((), (), ())
    wish = {"find": "1", "goal": "cheapest", "fat": [each.pk for each in fats]} | asked
    wish |= {"limit-what": what, "limit-side": side, "limit-value": value}
    return client.get(BLEND, wish)


def shares(answer) -> dict[str, Decimal]:
    return {share.fat.name: share.percent for share in answer.context["found"].best.shares}


def test_fats_in_stock_are_ticked_and_the_catalogue_is_not(client_of, viewer, olive):
    shea = fat("shea_butter")

    form = client_of(viewer).get(BLEND).context["form"]

    assert [(each.name, ticked) for each, ticked in form.in_stock] == [(olive.name, True)]
    assert [(each.name, ticked) for each, ticked in form.to_buy] == [(shea.name, False)]


def test_the_cheapest_blend_keeps_the_limits_and_says_what_they_cost(client_of, maker, olive, palm, coconut):
    limits = [(f"fat:{olive.pk}", "at_least", "40"), ("group:short_saturated", "at_least", "10")]

    answer = ask(client_of(maker), olive, palm, coconut, limits=limits)

    found = answer.context["found"]
    assert shares(answer)[olive.name] == 40
    assert sum(shares(answer).values()) == 100
    assert any(f"39 % {olive.name} saves 0.06\u00a0EUR a kg" in price for price in found.prices)
    assert "Begin a recipe with this blend" in answer.text
    assert "fat:" not in "".join(found.prices)


def test_no_palm_is_told_by_the_catalogue(client_of, maker, olive, palm):
    assert shares(ask(client_of(maker), olive, palm)) == {palm.name: 100}
    assert shares(ask(client_of(maker), olive, palm, no_palm="on")) == {olive.name: 100}


def test_no_palm_is_told_by_the_maker_first(client_of, maker, olive, palm):
    palm.origin = "plant"
    palm.save()
    assert shares(ask(client_of(maker), olive, palm, no_palm="on")) == {palm.name: 100}


def test_no_animal_fat_is_told_by_the_catalogue(client_of, maker, olive):
    lard = fat("lard", 1)

    assert shares(ask(client_of(maker), olive, lard, no_animal="on")) == {olive.name: 100}


def test_a_fat_of_unknown_origin_in_the_blend_is_named(client_of, maker):
    own = MaterialFactory(name="Tin of something")
    LotFactory(material=own, quantity=1000, cost=1)
    acid = fat("stearic_acid", 2)

    for each in (own, acid):
        answer = ask(client_of(maker), each, no_palm="on")

        assert answer.context["found"].best.unknown_origin == each.name
        assert "count as neither: " in answer.text


def test_every_fat_from_palm_or_animals_is_known_as_such():
    kinds = {"palm": set(), "animal": set()}
    for key, reference in reference_fats().items():
        material = Material(kind="fat", name=reference.name, reference=key)
        candidate = fat_of(material, [], None, day=timezone.localdate(), warn_days=9).candidate()
        kinds["palm"] |= {key} if candidate.palm else set()
        kinds["animal"] |= {key} if candidate.animal else set()

    assert kinds["palm"] == {"palm", "palm_kernel", "palm_olein", "palm_stearin", "palm_high_oleic"}
    assert kinds["animal"] == {
        *("tallow_beef", "tallow_mutton", "lard", "goose_fat", "duck_fat", "emu_oil", "milk_fat"),
        *("beeswax", "lanolin"),
    }


def test_no_more_is_taken_than_is_on_hand_once_the_batch_is_known(client_of, maker, olive, palm):
    answer = ask(client_of(maker), olive, palm, grams="2 kg")

    assert shares(answer) == {olive.name: 50, palm.name: 50}
    assert {share.grams for share in answer.context["found"].best.shares} == {Decimal(1000)}


def test_what_is_not_in_stock_can_be_bought(client_of, maker, olive):
    babassu = fat("babassu")
    gone_off = {"received_on": days_ago(30), "best_before": days_ago(3)}
    LotFactory(material=babassu, quantity=500, cost=1, **gone_off)

    answer = ask(client_of(maker), olive, babassu, grams="1000")

    assert shares(answer) == {babassu.name: 100}
    assert "to buy" in answer.text


def test_what_goes_off_soon_is_used_first(client_of, maker, olive):
    hemp = fat("hemp", 20, quantity=300, best_before=days_ago(-5))

    answer = ask(client_of(maker), olive, hemp, goal="expiring", grams="1000")

    assert shares(answer) == {olive.name: 70, hemp.name: 30}
    assert answer.context["found"].best.aim == "30.0\u00a0% goes off soon"


def test_a_blend_comes_near_to_a_profile(client_of, maker, olive, palm):
    answer = ask(client_of(maker), olive, palm, goal="profile", oleic="55")

    assert set(shares(answer)) == {olive.name, palm.name}
    assert answer.context["found"].best.aim.endswith("points off")


def test_a_blend_keeps_near_to_a_recipe_given_by_weight(client_of, maker, olive, palm, coconut):
    version = VersionFactory(
        design=design(
            part(300, olive),
            part(100, palm),
            part(100, naoh=True),
            part(100, liquid=True),
            size_by="weights",
        )
    )
    client = client_of(maker)

    begun = client.get(BLEND, {"recipe": version.recipe_id}).context["form"]
    near = ask(client, olive, palm, coconut, goal="recipe", recipe=version.recipe_id)
    without = ask(client, olive, coconut, goal="recipe", recipe=version.recipe_id)

    assert begun["goal"].value() == "recipe"
    assert shares(near) == {olive.name: 75, palm.name: 25}
    assert without.context["found"].best.aim == "25.0\u00a0% changed"


def test_limits_that_clash_are_named_with_how_far_each_would_have_to_give(client_of, maker, olive, coconut):
    limits = [(f"fat:{olive.pk}", "at_least", "80"), (f"fat:{coconut.pk}", "at_least", "30")]

    answer = ask(client_of(maker), olive, coconut, limits=limits)

    found = answer.context["found"]
    assert found.best is None
    assert {clash.to for clash in found.clash} == {
        f"at least 70 % {olive.name}",
        f"at least 20 % {coconut.name}",
    }
    assert "No blend keeps all of these" in answer.text


def test_a_fat_without_a_price_is_left_out_and_says_so(client_of, maker, olive):
    shea = fat("shea_butter")

    answer = ask(client_of(maker), olive, shea)

    assert answer.context["found"].left_out == (f"{shea.name}: its price is not known",)
    assert "1 fat could not be considered" in answer.text


def test_a_recipe_begins_with_the_blend_that_was_found(client_of, maker, olive, palm):
    MaterialFactory(name="Sodium hydroxide", naoh=True)
    MaterialFactory(name="Water", liquid=True)
    client = client_of(maker)
    begin = ask(client, olive, palm, grams="2000").context["found"].best.begin

    page = client.get(f"{reverse('recipes:add')}?{begin}")

    form = page.context["form"]
    assert sorted(rows(form, "fats")) == sorted([(str(olive.pk), "50"), (str(palm.pk), "50")])
    assert form["size_grams"].value() == "2000"
    assert page.context["result"].sheet.worked_out.fat_grams == 2000


def test_only_a_maker_is_offered_to_begin_a_recipe(client_of, viewer, olive):
    assert "Begin a recipe" not in ask(client_of(viewer), olive).text


def test_opening_the_page_loads_the_solver_and_a_search_need_not(client_of, viewer, olive, monkeypatch):
    loaded = []
    monkeypatch.setattr(blend_view, "warm_up", lambda: loaded.append("solver"))

    ask(client_of(viewer), olive)
    assert loaded == []

    client_of(viewer).get(BLEND)
    assert loaded == ["solver"]


def test_a_row_is_added_and_taken_away_with_all_that_was_typed(client_of, maker, olive):
    client = client_of(maker)
    typed = {"goal": "expiring", "grams": "12x", "oleic": "40", "no_palm": "on", "fat": [olive.pk]}
    typed |= {
        "limit-what": ["iodine", "cost"],
        "limit-side": ["at_most", "at_least"],
        "limit-value": ["6o", "3"],
    }

    more = client.get(BLEND, typed | {"add": "limit", "find": "1"}).context["form"]
    less = client.get(BLEND, typed | {"remove": "0"}).context["form"]

    assert [row["value"].value() for row in more.limits] == ["6o", "3", None]
    assert [row["what"].value() for row in less.limits] == ["cost"]
    assert (more["grams"].value(), more["oleic"].value(), more["no_palm"].value()) == ("12x", "40", "on")
    assert more.chosen == {str(olive.pk)}
    assert more.errors == {}


def test_while_typing_only_the_limits_are_sent(client_of, maker, olive):
    answer = client_of(maker).get(BLEND, {"add": "limit"}, headers={"HX-Request": "true"})

    assert answer.text.strip().startswith('<section class="limits" id="limits"')


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (("", "at_most", "5"), "Choose what to limit"),
        (("iodine", "at_most", ""), "Give the value."),
        (("iodine", "at_most", "NaN"), "This is not a number."),
        (("iodine", "at_most", "401"), "This must lie between 0 and 400."),
        (("group:oleic", "at_most", "-1"), "At least 0."),
        (("count", "at_most", "0"), "This must lie between 1 and 1000."),
        (("count", "at_most", "1.5"), "Give a whole number."),
        (("count", "at_least", "2"), "This can only be limited by “at most”."),
        (("smallest", "at_most", "2"), "This can only be limited by “at least”."),
        (("fat:99999", "at_most", "2"), "Choose one of those in the list."),
        (("moved", "at_most", "2"), "Say which recipe to keep near to."),
    ],
)
def test_a_slip_in_a_limit_is_told_beside_it(client_of, maker, olive, limit, words):
    answer = ask(client_of(maker), olive, limits=[limit])

    assert answer.context["found"] is None
    assert words in answer.text
    assert answer.context["form"].limits[0]["value"].value() == limit[2]


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({"fat": []}, "fat", "Choose at least one fat."),
        ({"fat": ["123456"]}, "fat", "One of these fats is no longer in the stockroom."),
        ({"goal": "recipe"}, "recipe", "Say which recipe to keep near to."),
        ({"goal": "recipe", "recipe": "77"}, "recipe", "Choose one of those in the list."),
        ({"goal": "expiring"}, "grams", "Say how large the batch is, so that stock can be counted."),
        ({"goal": "expiring", "grams": "1000"}, "goal", "Nothing among these fats goes off soon."),
        ({"goal": "profile"}, "short_saturated", "Give the share of at least one group."),
        ({"goal": "profile", "oleic": "60", "ricinoleic": "41"}, "short_saturated", "more than the whole."),
        ({"grams": "-3"}, "grams", "A quantity cannot be below zero."),
    ],
)
def test_a_slip_in_the_wish_is_told_beside_its_field(client_of, maker, olive, asked, field, words):
    answer = ask(client_of(maker), olive, **asked)

    assert answer.status_code == 200
    assert words in answer.context["form"].errors[field][0]
    assert answer.context["found"] is None


def test_a_limit_on_a_fat_that_is_not_ticked_is_told(client_of, maker, olive, palm):
    answer = ask(client_of(maker), olive, limits=[(f"fat:{palm.pk}", "at_most", "5")])

    assert f"{palm.name} is not among the fats to choose from." in answer.text


def test_without_any_price_the_cheapest_cannot_be_found(client_of, maker):
    answer = ask(client_of(maker), fat("olive"))

    assert "No fat is left to choose from" in answer.context["form"].errors["fat"][0]


@pytest.mark.parametrize("value", EVERYTHING)
def test_nothing_that_is_typed_breaks_the_finder(client_of, maker, olive, value):
    asked = dict.fromkeys(["goal", "recipe", "grams", "no_palm", "oleic"], value)
    limits = [("iodine", "at_most", value), (value, value, value)]

    for more in ({}, {"fat": [value]}, {"add": value}, {"remove": value}):
        answer = ask(client_of(maker), olive, limits=limits, **(asked | more))

        assert answer.status_code == 200
        assert SCRIPT not in answer.text


def test_two_hundred_fats_are_no_trouble(client_of, maker):
    materials = Material.objects.bulk_create(
        Material(kind="fat", name=f"Oil {number}", reference="") for number in range(200)
    )

    answer = ask(client_of(maker), *materials, limits=[("iodine", "at_most", "60")])

    assert "No fat is left to choose from" in answer.context["form"].errors["fat"][0]


@pytest.mark.parametrize("aim", [{"goal": "cheapest"}, {"goal": "profile", "oleic": "40"}])
def test_wax_alone_makes_no_blend(client_of, maker, aim):
    answer = ask(client_of(maker), fat("beeswax", 9), fat("lanolin", 9), **aim)

    assert "Wax alone makes no soap" in answer.context["form"].errors["fat"][0]
    assert 'id="id_fat_error"' in answer.text


def test_a_limit_whose_price_takes_too_long_is_named(client_of, maker, olive, palm, coconut, monkeypatch):
    monkeypatch.setattr(programmes, "BRIEFLY", 0.0)
    limits = [("group:short_saturated", "at_least", "12"), ("count", "at_most", "2")]

    answer = ask(client_of(maker), olive, palm, coconut, limits=limits)

    assert "What these cost would take too long to work out: " in answer.text
    assert "at least 12 % short saturated acids" in answer.context["found"].untold


def test_a_limit_that_no_fat_keeps_is_named_as_such(client_of, maker, olive, coconut):
    answer = ask(
        client_of(maker), olive, coconut, limits=[("iodine", "at_most", "2"), ("cost", "at_most", "9")]
    )

    assert "No blend of these fats keeps this limit" in answer.text
    assert [clash.limit for clash in answer.context["found"].clash] == ["iodine value at most 2"]


def test_a_range_the_wrong_way_round_is_told_as_a_clash(client_of, maker, olive, coconut):
    limits = [("iodine", "at_least", "70"), ("iodine", "at_most", "40")]

    found = ask(client_of(maker), olive, coconut, limits=limits).context["found"]

    assert [clash.limit for clash in found.clash] == ["iodine value at least 70", "iodine value at most 40"]
    assert all(clash.enough for clash in found.clash)


def test_the_database_is_asked_as_often_for_many_fats_as_for_few(client_of, maker, olive, palm):
    WorkshopFactory()
    version = VersionFactory(design=design(part(100, olive), part(100, naoh=True), part(100, liquid=True)))
    client = client_of(maker)

    def queries(*fats: Material) -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert ask(client, *fats, goal="recipe", recipe=version.recipe_id).context["found"].best
        return len(asked)

    few = queries(olive, palm)
    more = [fat(key, 3) for key in ("lard", "castor", "sunflower", "corn", "sesame", "hemp")]

    assert queries(olive, palm, *more) == few <= 15


def test_amounts_come_to_a_whole_to_the_last_thousandth():
    amounts = amounts_of({"one": 33.333333, "two": 33.333333, "three": 33.333333})

    assert sum(amounts.values()) == 100
    assert amounts_of({"all": 100.0, "dust": 0.0}) == {"all": 100}


def test_the_picture_shows_what_is_not_known_of_a_blend():
    bar = acid_bar({Group.OLEIC: 60.0, Group.RICINOLEIC: 0.0})

    assert [(one.label, one.width) for one in bar] == [
        ("oleic acid and its like", "60.00%"),
        ("not known", "40.00%"),
    ]
    assert [one.has_room for one in acid_bar({Group.OLEIC: 95.0, Group.RICINOLEIC: 5.0})] == [True, False]


def test_the_way_to_a_recipe_names_its_fats(client_of, maker, olive):
    best = ask(client_of(maker), olive).context["found"].best

    assert parse_qs(urlsplit(f"?{best.begin}").query) == {
        "fats-material": [str(olive.pk)],
        "fats-amount": ["100"],
    }
