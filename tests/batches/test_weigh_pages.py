from __future__ import annotations

from decimal import Decimal

import pytest

from batches.models import Batch, Weighing
from batches.queries.weighing import bench as bench_of
from inventory.models import Lot, Movement
from recipes.formulation import Size
from shared.saponification import Verdict
from tests.batches.bench import bench, recipe
from tests.batches.pages import NO_WEIGHTS, address, line_of, old_lot, weigh, weigh_all, words
from tests.factories import LotFactory, MaterialFactory, WorkshopFactory

pytestmark = pytest.mark.django_db


def verdict_of(batch: Batch) -> Verdict:
    return bench_of(batch).safety.verdict


def use_up(batch: Batch) -> None:
    """Leaves of each material what the batch has weighed of it, or still wants."""
    for line in batch.lines.prefetch_related("weighings"):
        weighed = sum(weighing.quantity for weighing in line.weighings.all())
        Lot.objects.filter(material=line.material_id).update(on_hand=weighed or line.planned)


# --- one thing at a time --------------------------------------------------------------------------


def test_the_bench_shows_the_next_thing_to_weigh_its_lot_and_where_it_stands(client_of):
    shop = bench()
    Lot.objects.filter(pk=shop.lots["Olive oil"].pk).update(place="shelf A1")
    page = words(client_of(shop.maker).get(address("weigh", shop.plan())))

    assert "Now weigh, 1 of 7 Olive oil 450 g" in page
    assert f"from {shop.lots['Olive oil'].code} shelf A1" in page
    assert "As shown" in page
    assert "Other weight" in page


def test_the_screen_stays_awake_on_the_bench(client_of):
    shop = bench()

    assert "data-wake-lock" in client_of(shop.maker).get(address("weigh", shop.plan())).content.decode()


def test_as_shown_notes_the_weight_and_goes_on_to_the_next(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)

    answer = weigh(client, batch, "Olive oil")

    assert answer.url == address("weigh", batch)
    assert Weighing.objects.get().quantity == 450
    assert "Now weigh, 2 of 7 Coconut oil" in words(client.get(answer.url))


def test_nothing_leaves_stock_while_it_is_only_weighed(client_of):
    shop = bench()
    weigh_all(client_of(shop.maker), shop.plan())

    assert shop.on_hand("Olive oil") == 5000
    assert not Movement.objects.filter(kind=Movement.Kind.POURED).exists()


def test_each_step_comes_in_its_turn_fats_liquid_lye_mixing_then_the_rest(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil", "Water", "Lye"):
        assert f" {name} " in words(client.get(address("weigh", batch)))
        weigh(client, batch, name)

    assert client.get(address("weigh", batch)).url == address("lye", batch)
    assert client.post(address("lye", batch)).url == address("weigh", batch)
    assert " Scent " in words(client.get(address("weigh", batch)))
    weigh(client, batch, "Scent")
    assert client.get(address("weigh", batch)).url == address("confirm", batch)


def test_the_safety_range_stands_at_the_foot_once_the_first_fat_is_weighed(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)

    assert "superfat likely" not in words(client.get(address("weigh", batch)))
    weigh(client, batch, "Olive oil")
    assert "Safe with 143 g lye: superfat likely" in words(client.get(address("weigh", batch)))


def test_any_line_of_the_card_can_be_weighed_out_of_turn(client_of):
    shop = bench()
    batch = shop.plan()
    line = line_of(batch, "Castor oil")

    page = client_of(shop.maker).get(address("weigh", batch), {"line": line.pk})

    assert page.context["item"].line == line
    assert f"?line={line.pk}" in page.content.decode()


@pytest.mark.parametrize("line", ["", "nothing", "-1", "99999999999999999999999", "٣", "\0"])
def test_a_line_that_does_not_exist_gives_the_next(client_of, line):
    shop = bench()
    page = client_of(shop.maker).get(address("weigh", shop.plan()), {"line": line, "lot": line})

    assert page.context["item"].line.material.name == "Olive oil"


# --- other weight, other lot ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "grams"),
    [("447", "447"), ("447.5", "447.5"), ("0,45 kg", "450"), ("1 lb", "453.59"), ("447 g", "447")],
)
def test_another_weight_is_taken_in_any_unit_of_weight(client_of, typed, grams):
    shop = bench()
    batch = shop.plan()

    assert weigh(client_of(shop.maker), batch, "Olive oil", typed).status_code == 302
    assert Weighing.objects.get().quantity == Decimal(grams)


def test_a_workshop_that_weighs_in_ounces_means_ounces(client_of):
    WorkshopFactory(units="us")
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)

    assert "15.87 oz" in words(client.get(address("weigh", batch)))
    weigh(client, batch, "Olive oil", "16")
    assert Weighing.objects.get().quantity == Decimal("453.59")


def test_a_volume_is_taken_where_the_density_is_known(client_of):
    shop = bench()
    batch = shop.plan()

    assert weigh(client_of(shop.maker), batch, "Water", "300 ml").status_code == 302
    assert Weighing.objects.get().quantity == Decimal("299.46")  # 0.9982 g/mL


@pytest.mark.parametrize("typed", NO_WEIGHTS)
def test_what_no_scale_shows_is_refused_beside_its_field(client_of, typed):
    shop = bench()
    batch = shop.plan()

    answer = weigh(client_of(shop.maker), batch, "Olive oil", typed)

    form = answer.context["form"]
    assert answer.status_code == 422
    assert form.errors["quantity"]
    assert form["quantity"].value() == typed
    assert 'aria-invalid="true"' in answer.content.decode()
    assert not Weighing.objects.exists()


def test_more_than_the_lot_holds_is_refused_with_what_is_short(client_of):
    shop = bench()
    batch = shop.plan()

    answer = weigh(client_of(shop.maker), batch, "Olive oil", "5001")

    assert answer.status_code == 422
    assert "1 g short" in answer.context["form"].errors["quantity"][0].replace("\xa0", " ")
    assert not Weighing.objects.exists()


def test_a_lot_past_its_best_before_is_shown_but_not_taken(client_of):
    shop = bench()
    batch = shop.plan()
    old = old_lot(shop.materials["Olive oil"])
    client = client_of(shop.maker)

    page = client.get(address("weigh", batch), {"show": "lots"})
    answer = weigh(client, batch, "Olive oil", lot=old.pk)

    assert "past its best-before, not to be used" in words(page)
    assert f"lot={old.pk}" not in page.content.decode()
    assert answer.status_code == 422
    assert "past its best-before" in words(answer)
    assert not Weighing.objects.exists()


def test_a_lot_of_another_material_is_refused(client_of):
    shop = bench()
    batch = shop.plan()

    answer = weigh(client_of(shop.maker), batch, "Olive oil", lot=shop.lots["Palm oil"].pk)

    assert answer.status_code == 422
    assert "is Palm oil, not Olive oil" in words(answer)
    assert not Weighing.objects.exists()


@pytest.mark.parametrize("lot", ["", "99", "-1", "lot", "9" * 40, "\0"])
def test_a_lot_that_does_not_exist_is_refused(client_of, lot):
    shop = bench()
    batch = shop.plan()

    assert weigh(client_of(shop.maker), batch, "Olive oil", lot=lot).status_code == 422
    assert not Weighing.objects.exists()


def test_another_lot_can_be_chosen(client_of):
    shop = bench()
    batch = shop.plan()
    other = shop.lot("Olive oil")
    client = client_of(shop.maker)
    line = line_of(batch, "Olive oil")

    assert other.code in words(client.get(address("weigh", batch), {"show": "lots"}))
    page = client.get(address("weigh", batch), {"line": line.pk, "lot": other.pk})
    assert page.context["item"].lot == other


def test_an_empty_lot_cannot_be_chosen(client_of):
    shop = bench()
    other = shop.lot("Olive oil")
    Lot.objects.filter(pk=shop.lots["Olive oil"].pk).update(on_hand=0)

    page = client_of(shop.maker).get(address("weigh", shop.plan()), {"lot": shop.lots["Olive oil"].pk})

    assert page.context["item"].lot == other


def test_a_lot_that_holds_too_little_gives_what_it_holds_and_the_next_gives_the_rest(client_of):
    shop = bench(quantity=200)
    second = shop.lot("Olive oil")
    for name in shop.materials:
        shop.lot(name)
    batch = shop.plan()
    client = client_of(shop.maker)

    first = client.get(address("weigh", batch))
    assert (first.context["item"].amount, first.context["item"].rest) == (200, 250)
    assert 'name="more_to_come"' in first.content.decode()
    weigh(client, batch, "Olive oil", "200", more_to_come="on")

    rest = client.get(address("weigh", batch))
    assert rest.context["item"].lot == second
    assert rest.context["item"].amount == 250
    weigh(client, batch, "Olive oil", "250", lot=second.pk)
    assert line_of(batch, "Olive oil").done


def test_a_line_is_done_with_less_than_planned_unless_more_is_to_come(client_of):
    shop = bench()
    batch = shop.plan()

    weigh(client_of(shop.maker), batch, "Olive oil", "440")

    assert line_of(batch, "Olive oil").done


def test_nothing_more_comes_once_all_of_it_is_weighed(client_of):
    shop = bench()
    batch = shop.plan()

    weigh(client_of(shop.maker), batch, "Olive oil", "460", more_to_come="on")

    assert line_of(batch, "Olive oil").done


def test_where_there_is_none_the_bench_says_so_and_a_scent_can_be_left_out(client_of):
    shop = bench()
    batch = shop.plan()
    Lot.objects.filter(pk=shop.lots["Scent"].pk).update(on_hand=0)
    client = client_of(shop.maker)
    scent = line_of(batch, "Scent")

    page = words(client.get(address("weigh", batch), {"line": scent.pk}))
    client.post(address("leave", batch), {"line": scent.pk})

    assert "There is no Scent that can be used" in page
    assert line_of(batch, "Scent").done
    client.post(address("leave", batch), {"line": scent.pk, "open": "on"})
    assert not line_of(batch, "Scent").done


def test_a_fat_cannot_be_left_out(client_of):
    shop = bench()
    batch = shop.plan()

    client_of(shop.maker).post(address("leave", batch), {"line": line_of(batch, "Olive oil").pk})

    assert not line_of(batch, "Olive oil").done


# --- how many queries -----------------------------------------------------------------------------


def many_fats(shop, count: int):
    """A recipe of so many fats, each out of two lots."""
    share = Decimal(100) / count
    version = recipe(shop.materials, by=shop.maker, name=f"{count} fats")
    version.ingredients.filter(material__kind="fat").delete()
    for number in range(count):
        oil = MaterialFactory(name=f"Oil {count}-{number}")
        LotFactory(material=oil)
        LotFactory(material=oil)
        version.ingredients.create(material=oil, amount=share, position=number)
    return version


@pytest.mark.parametrize("page", ["weigh", "add_to_pot"])
def test_the_bench_asks_as_often_with_twenty_lines_as_with_ten(
    client_of, django_assert_max_num_queries, page
):
    shop = bench()
    client = client_of(shop.maker)
    counts = []
    for fats in (10, 20):
        batch = shop.plan(version=many_fats(shop, fats), size=Size(fats=Decimal(4000)))
        for number in range(fats - 1):
            weigh(client, batch, f"Oil {fats}-{number}", "150")
        with django_assert_max_num_queries(15) as asked:
            assert client.get(address(page, batch)).status_code == 200
        counts.append(len(asked))

    assert counts[0] == counts[1]
