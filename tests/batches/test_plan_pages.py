from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, State
from inventory.models import Lot, Movement
from recipes.formulation import Size
from recipes.models import Version
from tests.batches.bench import bench, recipe
from tests.batches.pages import NO_WEIGHTS, address, text_of, weigh
from tests.factories import LotFactory, MaterialFactory, UserFactory

pytestmark = pytest.mark.django_db


def plan_address(version: Version) -> str:
    return reverse("batches:plan", args=[version.pk])


def plan(client, version, **changed):
    sent = {
        "size": "recipe",
        "amount": "",
        "planned_for": timezone.localdate().isoformat(),
        "code": "",
        "note": "",
        "key": str(uuid4()),
        "do": "weigh",
        **changed,
    }
    return client.post(plan_address(version), sent)


# --- where a pour starts --------------------------------------------------------------------------


def test_an_empty_workshop_is_led_to_its_first_recipe(client_of, maker):
    answer = client_of(maker).get(reverse("batches:pour"))

    assert "Nothing to pour yet" in text_of(answer)
    assert reverse("recipes:add") in answer.content.decode()


def test_the_pour_page_offers_every_recipe_to_plan_from_and_every_open_batch_to_go_on_with(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")

    page = client.get(reverse("batches:pour"))

    assert plan_address(shop.version) in page.content.decode()
    assert address("weigh", batch) in page.content.decode()
    assert "1 of 7 weighed" in text_of(page)


def test_recipes_are_found_by_their_name(client_of):
    shop = bench()
    recipe(shop.materials, by=shop.maker, name="Coal Barge")

    found = text_of(
        client_of(shop.maker).get(reverse("batches:pour"), {"q": "barge"}, headers={"HX-Request": "true"})
    )

    assert "Coal Barge" in found
    assert "Four oils" not in found


@pytest.mark.parametrize("words", ["<script>alert(1)</script>", "🧼", "\0", "x" * 10_000, "%"])
def test_any_words_can_be_searched_for(client_of, words):
    shop = bench()

    answer = client_of(shop.maker).get(reverse("batches:pour"), {"q": words})

    assert answer.status_code == 200
    assert "<script>alert" not in answer.content.decode()


def test_a_viewer_sees_what_is_on_the_bench_but_cannot_plan(client_of, viewer):
    shop = bench()
    batch = shop.plan()
    client = client_of(viewer)

    assert batch.code in text_of(client.get(reverse("batches:pour")))
    assert client.get(plan_address(shop.version)).status_code == 403
    assert plan(client, shop.version).status_code == 403


# --- the plan -------------------------------------------------------------------------------------


def test_the_plan_shows_the_card_the_safety_range_and_that_all_is_in_stock(client_of):
    shop = bench()

    words = text_of(client_of(shop.maker).get(plan_address(shop.version)))

    assert "10 bars" in words
    assert "143 g" in words  # of lye, as worked out by hand in the reference tests
    assert "Safe" in words
    assert "All in stock" in words


@pytest.mark.parametrize(
    ("size", "amount", "olive"),
    [
        ("recipe", "", "450 g"),
        ("bars", "20", "900 g"),
        ("fats", "2 kg", "900 g"),
        ("fats", "2,5 kg", "1 125 g"),
        ("fats", "4 lb", "816 g"),
    ],
)
def test_the_size_is_worked_out_while_it_is_typed(client_of, size, amount, olive):
    shop = bench()
    sent = {"size": size, "amount": amount, "planned_for": "2026-11-25", "key": str(uuid4())}

    answer = client_of(shop.maker).post(plan_address(shop.version), sent, headers={"HX-Request": "true"})

    assert olive in text_of(answer).replace("\u202f", " ").replace("\xa0", " ")
    assert "<html" not in answer.content.decode()
    assert not Batch.objects.exists()


def test_the_batter_comes_to_what_was_asked_for(client_of):
    shop = bench()

    plan(client_of(shop.maker), shop.version, size="batter", amount="3 kg")

    assert sum(line.planned for line in Batch.objects.get().lines.all()) == pytest.approx(3000, abs=4)


def test_what_is_short_is_said_beside_its_line_with_how_much(client_of):
    shop = bench()

    words = text_of(
        client_of(shop.maker).get(plan_address(shop.version), {"size": "fats", "amount": "12 kg"})
    )

    assert "400 g short" in words.replace("\xa0", " ")  # 5 400 g of olive oil wanted, 5 000 g there


def test_lots_past_their_best_before_do_not_count_as_stock(client_of):
    shop = bench()
    oil = MaterialFactory(name="Old oil")
    long_ago, yesterday = (timezone.localdate() - timedelta(days=days) for days in (90, 1))
    LotFactory(material=oil, received_on=long_ago, best_before=yesterday)
    old = recipe({**shop.materials, "Olive oil": oil}, by=shop.maker, name="Out of old oil")

    words = text_of(client_of(shop.maker).get(plan_address(old)))

    assert "Old oil, 450 g" in words.replace("\xa0", " ")
    assert "All in stock" not in words


def test_a_plan_without_javascript_is_worked_out_by_a_button_and_keeps_what_was_typed(client_of):
    shop = bench()
    client = client_of(shop.maker)

    answer = plan(client, shop.version, size="bars", amount="20", note="for the fair", do="work_out")
    page = client.get(answer.url)

    assert answer.status_code == 302
    assert "900 g" in text_of(page).replace("\xa0", " ")
    assert "for the fair" in page.content.decode()
    assert not Batch.objects.exists()


def test_start_weighing_plans_the_batch_and_leads_to_the_bench(client_of):
    shop = bench()

    answer = plan(client_of(shop.maker), shop.version, size="bars", amount="20", note="for the fair")

    batch = Batch.objects.get()
    assert answer.url == address("weigh", batch)
    assert (batch.bars_planned, batch.note, batch.state) == (20, "for the fair", State.PLANNED)
    assert not Movement.objects.filter(kind=Movement.Kind.POURED).exists()


def test_poured_as_planned_leads_straight_to_the_last_look(client_of):
    shop = bench()

    answer = plan(client_of(shop.maker), shop.version, do="as_planned")

    assert answer.url == address("confirm", Batch.objects.get()) + "?as_planned=on"


def test_short_stock_can_be_planned_but_not_poured_as_planned(client_of):
    shop = bench()
    client = client_of(shop.maker)
    large = {"size": "fats", "amount": "12 kg"}

    refused = plan(client, shop.version, do="as_planned", **large)
    assert refused.status_code == 422
    assert not Batch.objects.exists()

    assert plan(client, shop.version, do="weigh", **large).status_code == 302
    assert Batch.objects.count() == 1


def test_a_plan_sent_twice_is_one_batch(client_of):
    shop = bench()
    client, key = client_of(shop.maker), str(uuid4())

    first, second = (plan(client, shop.version, key=key) for _ in range(2))

    assert first.url == second.url
    assert Batch.objects.count() == 1


def test_a_batch_number_that_exists_is_refused_beside_its_field_and_nothing_typed_is_lost(client_of):
    shop = bench()
    client = client_of(shop.maker)
    plan(client, shop.version, code="Fair-1")

    answer = plan(client, shop.version, code="fair-1", note="second try", size="bars", amount="20")

    form = answer.context["form"]
    assert answer.status_code == 422
    assert "There is a batch fair-1 already." in form.errors["code"]
    assert 'aria-invalid="true"' in str(form["code"])
    assert (form["note"].value(), form["amount"].value()) == ("second try", "20")
    assert Batch.objects.count() == 1


@pytest.mark.parametrize("size", ["bars", "batter", "fats"])
@pytest.mark.parametrize("amount", [*NO_WEIGHTS, "5 pounds of soap", "12; drop table"])
def test_no_size_that_is_none_gets_through(client_of, size, amount):
    shop = bench()

    answer = plan(client_of(shop.maker), shop.version, size=size, amount=amount)

    form = answer.context["form"]
    assert answer.status_code == 422
    assert form.errors["amount"] or form.non_field_errors()
    assert form["amount"].value() == amount
    assert not Batch.objects.exists()


@pytest.mark.parametrize("bars", ["2001", "1.5", "1 bar"])
def test_bars_are_whole_and_not_too_many(client_of, bars):
    shop = bench()

    answer = plan(client_of(shop.maker), shop.version, size="bars", amount=bars)

    assert answer.status_code == 422
    assert answer.context["form"].errors["amount"]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("size", "enormous"),
        ("planned_for", "soon"),
        ("planned_for", ""),
        ("planned_for", "0001-01-01"),
        ("planned_for", "9999-12-31"),
        ("planned_for", "2026-02-30"),
        ("code", "x" * 21),
        ("code", "<b>"),
        ("code", "🧼"),
        ("code", "a\0b"),
        ("note", "x" * 10_000),
        ("note", "a\0b"),
        ("key", "not a key"),
        ("key", ""),
    ],
)
def test_what_cannot_be_meant_is_refused_beside_its_field(client_of, field, value):
    shop = bench()

    answer = plan(client_of(shop.maker), shop.version, **{field: value})

    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert not Batch.objects.exists()


def test_words_are_shown_as_words(client_of):
    shop = bench()
    client = client_of(shop.maker)
    plan(client, shop.version, note="<script>alert('soap')</script> 🧼")

    page = client.get(address("batch", Batch.objects.get()))

    assert "<script>alert" not in page.content.decode()
    assert "🧼" in page.content.decode()


def test_a_recipe_that_does_not_exist_is_not_found(client_of, maker):
    assert client_of(maker).get(reverse("batches:plan", args=[99])).status_code == 404


def test_a_recipe_that_cannot_be_made_any_more_says_why(client_of):
    shop = bench()
    oil = shop.materials["Olive oil"]
    oil.sap_low = oil.sap_nominal = oil.sap_high = None
    oil.save()
    client = client_of(shop.maker)

    assert "has no saponification value" in text_of(client.get(plan_address(shop.version)))
    assert plan(client, shop.version).status_code == 422
    assert not Batch.objects.exists()


# --- dropping -------------------------------------------------------------------------------------


def test_a_batch_is_dropped_with_a_reason_and_leaves_the_list(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)

    assert client.post(address("drop", batch), {"reason": ""}).status_code == 422
    answer = client.post(address("drop", batch), {"reason": "No time today"})

    batch.refresh_from_db()
    assert answer.url == reverse("batches:pour")
    assert (batch.state, batch.closed_reason) == (State.DROPPED, "No time today")
    assert client.get(address("drop", batch)).url == address("batch", batch)


# --- how many queries -----------------------------------------------------------------------------


def queries_of(django_assert_max_num_queries, client, url, **kwargs):
    with django_assert_max_num_queries(15) as asked:
        assert client.get(url, **kwargs).status_code == 200
    return len(asked)


def test_the_pour_page_asks_as_often_for_twenty_rows_as_for_ten(client_of, django_assert_max_num_queries):
    shop = bench()
    client = client_of(UserFactory())
    counts = []
    for first in (0, 10):
        for number in range(first, first + 10):
            shop.plan(version=recipe(shop.materials, by=shop.maker, name=f"Soap {number}"))
        counts.append(queries_of(django_assert_max_num_queries, client, reverse("batches:pour")))

    assert counts[0] == counts[1]


def test_the_plan_asks_as_often_with_many_lots_as_with_few(client_of, django_assert_max_num_queries):
    shop = bench()
    client = client_of(shop.maker)
    few = queries_of(django_assert_max_num_queries, client, plan_address(shop.version))
    for name in shop.materials:
        for _ in range(3):
            shop.lot(name, quantity=50)

    many = queries_of(django_assert_max_num_queries, client, plan_address(shop.version))

    assert Lot.objects.count() == 28
    assert few == many


def test_a_plan_by_size_does_not_outgrow_the_scale(client_of):
    shop = bench()
    batch = shop.plan(size=Size(bars=1))

    assert all(line.planned > 0 for line in batch.lines.all())


# --- to a mould, and to what is left ------------------------------------------------------------------------


@pytest.mark.parametrize("mould", ["250 × 80 × 60 mm", "25 x 8 x 6 cm", "1.2 l"])
def test_a_pour_is_planned_to_a_mould(client_of, mould):
    shop = bench()

    plan(client_of(shop.maker), shop.version, size="mould", amount=mould)

    assert 1120 < sum(line.planned for line in Batch.objects.get().lines.all()) < 1250


@pytest.mark.parametrize(
    "mould", ["", "250 × 80", "9 kg", "0 × 80 × 60", "1e9 l", "nan", "-2 l", "\U0001f9fc" * 9]
)
def test_a_mould_that_is_none_is_refused_beside_the_amount(client_of, mould):
    shop = bench()

    answer = plan(client_of(shop.maker), shop.version, size="mould", amount=mould)

    assert answer.status_code == 422
    assert answer.context["form"].errors["amount"]
    assert not Batch.objects.exists()


def test_a_pour_is_planned_to_what_is_left_of_a_fat(client_of):
    shop = bench()
    palm = shop.materials["Palm oil"]
    Lot.objects.filter(pk=shop.lots["Palm oil"].pk).update(on_hand=100)

    plan(client_of(shop.maker), shop.version, size="left", use_up=str(palm.pk))

    assert Batch.objects.get().lines.get(material=palm).planned == 100


def test_nothing_left_is_said_beside_the_material(client_of):
    shop = bench()
    palm = shop.materials["Palm oil"]
    Lot.objects.filter(pk=shop.lots["Palm oil"].pk).update(on_hand=0)

    answer = plan(client_of(shop.maker), shop.version, size="left", use_up=str(palm.pk))

    assert answer.status_code == 422
    assert "There is not enough Palm oil left" in answer.context["form"].errors["use_up"][0]


@pytest.mark.parametrize("material", ["0", "x", "99999999999999999999", "\u0000"])
def test_a_material_that_is_not_in_the_recipe_cannot_be_used_up(client_of, material):
    shop = bench()

    answer = plan(client_of(shop.maker), shop.version, size="left", use_up=material)

    assert answer.status_code == 422
    assert answer.context["form"].errors["use_up"]
