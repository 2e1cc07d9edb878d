from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, State, Weighing
from batches.queries.remedy import remedy
from batches.queries.weighing import bench as bench_of
from batches.services.plan import Size
from batches.services.pour import pour
from inventory.models import Lot, Movement
from shared.saponification import Verdict
from tests.batches.bench import bench, recipe
from tests.batches.pages import NO_WEIGHTS, address, line_of, text_of, weigh, weigh_all
from tests.factories import LotFactory, MaterialFactory, WorkshopFactory

pytestmark = pytest.mark.django_db


def words(answer) -> str:
    """The words of a page, with plain spaces."""
    return text_of(answer).replace("\xa0", " ").replace("\u202f", " ")


def verdict_of(batch: Batch) -> Verdict:
    return bench_of(batch).safety.verdict


def old_lot(material, quantity: int = 5000) -> Lot:
    """A lot that went past its best-before yesterday."""
    long_ago, yesterday = (timezone.localdate() - timedelta(days=days) for days in (90, 1))
    return LotFactory(material=material, quantity=quantity, received_on=long_ago, best_before=yesterday)


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


def test_the_scale_is_said_to_read_what_is_in_the_pot_already_and_this(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "447")

    assert "scale should read 697 g" in words(client.get(address("weigh", batch)))  # 447 and 250 of coconut


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


# --- slips ----------------------------------------------------------------------------------------


def test_the_same_tap_twice_counts_once(client_of):
    shop = bench()
    batch = shop.plan()
    client, key = client_of(shop.maker), str(uuid4())

    answers = [weigh(client, batch, "Olive oil", key=key) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Weighing.objects.count() == 1


def test_a_second_phone_that_is_late_is_told_and_weighs_nothing_twice(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")

    late = weigh(client, batch, "Olive oil")

    assert Weighing.objects.count() == 1
    assert "Olive oil has been weighed already" in words(client.get(late.url))


def test_the_last_weight_is_undone_in_one_tap_and_its_line_comes_back(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    page = client.get(address("weigh", batch))
    last = page.context["board"].last

    answer = client.post(address("weigh_undo", batch), {"weighing": last.pk})
    again = client.post(address("weigh_undo", batch), {"weighing": last.pk})

    assert "Undo Olive oil, 450 g" in words(page)
    assert not Weighing.objects.exists()
    assert "Now weigh, 1 of 7 Olive oil" in words(client.get(answer.url))
    assert again.status_code == 302


def test_an_earlier_weight_can_be_undone_from_the_card(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    weigh(client, batch, "Coconut oil")
    olive = line_of(batch, "Olive oil")

    page = client.get(address("weigh", batch), {"line": olive.pk})
    assert f'name="weighing" value="{olive.weighings.get().pk}"' in page.content.decode()
    client.post(address("weigh_undo", batch), {"weighing": olive.weighings.get().pk})

    assert [weighing.line.material.name for weighing in Weighing.objects.all()] == ["Coconut oil"]


@pytest.mark.parametrize("weighing", ["", "0", "x", "9" * 30])
def test_undoing_what_does_not_exist_changes_nothing(client_of, weighing):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")

    assert client.post(address("weigh_undo", batch), {"weighing": weighing}).status_code == 302
    assert Weighing.objects.count() == 1


def test_the_weight_of_another_batch_is_not_undone(client_of):
    shop = bench()
    mine, other = shop.plan(), shop.plan()
    client = client_of(shop.maker)
    weigh(client, other, "Olive oil")

    client.post(address("weigh_undo", mine), {"weighing": Weighing.objects.get().pk})

    assert Weighing.objects.count() == 1


# --- what is not safe, and the way back -----------------------------------------------------------


def test_too_little_fat_is_stopped_and_the_way_back_makes_it_safe(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")
    assert verdict_of(batch) == Verdict.STOP

    page = client.get(address("weigh", batch))
    ways = {addition.lot.material.name: addition for addition in page.context["remedy"].additions}
    assert "Stop" in words(page)
    olive = ways["Olive oil"]
    sent = {"lot": olive.lot.pk, "quantity": f"{olive.grams} g", "key": str(olive.key)}
    answers = [client.post(address("add_to_pot", batch), sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert line_of(batch, "Olive oil").weighings.count() == 2
    assert verdict_of(batch) == Verdict.SAFE


def test_what_is_still_to_be_weighed_is_offered_as_more_of_it_not_as_an_addition(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")

    waits = {each.lot.material.name: each.waits for each in remedy(bench_of(batch)).additions}

    assert waits.pop("Olive oil") is False
    assert set(waits.values()) == {True}


def test_the_way_back_comes_out_of_fats_that_can_still_give_it(client_of):
    shop = bench(quantity=460)
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")

    found = remedy(bench_of(batch)).additions

    wanted = {"Olive oil": 350, "Coconut oil": 250, "Palm oil": 250}
    assert found
    assert all(each.lot.on_hand - wanted[each.lot.material.name] >= each.grams for each in found)


def test_a_fat_beyond_the_card_helps_where_the_card_has_none_left(client_of):
    shop = bench()
    other = LotFactory(material=MaterialFactory(name="Rice bran oil"))
    batch = shop.plan()
    client = client_of(shop.maker)
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil"):
        weigh(client, batch, name, "300" if name == "Olive oil" else None)
    use_up(batch)

    (way,) = remedy(bench_of(batch)).additions
    client.post(
        address("add_to_pot", batch), {"lot": way.lot.pk, "quantity": f"{way.grams}", "key": str(uuid4())}
    )

    assert way.lot == other
    assert line_of(batch, "Rice bran oil").extra
    assert verdict_of(batch) == Verdict.SAFE


def test_a_pot_that_is_too_fat_is_offered_lye_with_its_liquid(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil", "Water", "Lye"):
        weigh(client, batch, name, "500" if name == "Olive oil" else None)

    found = remedy(bench_of(batch))
    assert found.more_lye
    assert {each.lot.material.name for each in found.additions} == {"Lye", "Water"}
    for each in found.additions:
        sent = {"lot": each.lot.pk, "quantity": f"{each.grams}", "key": str(each.key)}
        assert client.post(address("add_to_pot", batch), sent).status_code == 302

    safety = bench_of(batch).safety
    assert safety.verdict == Verdict.SAFE
    assert safety.nominal == pytest.approx(5, abs=0.7)
    assert not remedy(bench_of(batch)).additions


def test_where_no_fat_helps_the_foot_says_so(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil", "350")
    use_up(batch)

    assert "no fat on hand puts it right" in words(client.get(address("weigh", batch)))


def test_so_much_acid_that_no_lye_is_left_is_said_and_can_be_undone(client_of):
    shop = bench()
    acid = MaterialFactory(name="Citric acid", additive=True, acid="citric")
    LotFactory(material=acid)
    materials = shop.materials
    version = recipe(materials, by=shop.maker, name="Sour")
    version.ingredients.create(material=acid, amount=1, position=20)
    batch = shop.plan(version=version)
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    weigh(client, batch, "Citric acid", "4000")

    page = client.get(address("weigh", batch))

    assert page.status_code == 200
    assert "take up all the lye" in words(page)


@pytest.mark.parametrize("typed", NO_WEIGHTS)
def test_nothing_is_added_without_a_weight(client_of, typed):
    shop = bench()
    batch = shop.plan()
    sent = {"lot": shop.lots["Scent"].pk, "quantity": typed, "key": str(uuid4())}

    answer = client_of(shop.maker).post(address("add_to_pot", batch), sent)

    assert answer.status_code == 422
    assert answer.context["form"].errors["quantity"]
    assert answer.context["form"]["quantity"].value() == typed
    assert not Weighing.objects.exists()


def test_more_than_there_is_is_not_added(client_of):
    shop = bench()
    batch = shop.plan()
    other = LotFactory(material=MaterialFactory(name="Rice bran oil"), quantity=100)
    sent = {"lot": other.pk, "quantity": "101", "key": str(uuid4())}

    answer = client_of(shop.maker).post(address("add_to_pot", batch), sent)

    assert answer.status_code == 422
    assert "1 g short" in words(answer)
    assert batch.lines.count() == 7


def test_a_lot_past_its_best_before_is_not_added(client_of):
    shop = bench()
    batch = shop.plan()
    old = old_lot(MaterialFactory(name="Rice bran oil"))
    client = client_of(shop.maker)

    answer = client.post(address("add_to_pot", batch), {"lot": old.pk, "quantity": "10", "key": str(uuid4())})

    assert answer.status_code == 422
    assert old.code not in client.get(address("add_to_pot", batch)).content.decode()


def test_what_is_on_the_card_is_weighed_before_more_of_it_is_added(client_of):
    shop = bench()
    batch = shop.plan()
    sent = {"lot": shop.lots["Olive oil"].pk, "quantity": "10", "key": str(uuid4())}

    answer = client_of(shop.maker).post(address("add_to_pot", batch), sent)

    assert answer.status_code == 422
    assert "Weigh the Olive oil of the card first" in words(answer)


# --- the lye --------------------------------------------------------------------------------------


def lye_page(client, batch):
    for name in ("Olive oil", "Coconut oil", "Palm oil", "Castor oil", "Water", "Lye"):
        weigh(client, batch, name)
    return client.get(address("lye", batch))


def test_the_lye_step_gives_the_cautions_and_what_was_weighed(client_of):
    shop = bench()
    page = words(lye_page(client_of(shop.maker), shop.plan()))

    for caution in (
        "Goggles, gloves",
        "Fresh air",
        "Children and animals out",
        "Never aluminium",
        "into the liquid",
        "slowly",
        "Never liquid onto lye",
        "Vinegar is no first aid",
        "running water",
        "poison centre",
        "safety data sheet of your supplier, and the law where you work",
    ):
        assert caution in page
    assert "143 g Lye" in page
    assert "291 g Water" in page


@pytest.mark.parametrize(("liquid", "heat"), [(33, "It can boil and spit"), (20, "It may reach")])
def test_the_lye_step_says_how_hot_it_may_get(client_of, liquid, heat):
    shop = bench()
    shop.version.liquid_value = Decimal(liquid)
    shop.version.save()
    batch = shop.plan()

    page = words(lye_page(client_of(shop.maker), batch))

    assert heat in page
    if not batch.frozen["lye_boils"]:
        assert f"{batch.frozen['lye_peak']:.0f} °C" in page


def test_the_lye_waits_until_all_that_reacts_is_weighed(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)

    assert client.get(address("lye", batch)).url == address("weigh", batch)
    assert client.post(address("lye", batch)).url == address("weigh", batch)
    batch.refresh_from_db()
    assert batch.lye_mixed_at is None


def test_the_lye_is_mixed_once(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    lye_page(client, batch)
    client.post(address("lye", batch))
    batch.refresh_from_db()
    mixed_at = batch.lye_mixed_at

    client.post(address("lye", batch))

    batch.refresh_from_db()
    assert batch.lye_mixed_at == mixed_at
    assert "The lye is mixed" in words(client.get(address("lye", batch)))


# --- who and when ---------------------------------------------------------------------------------


@pytest.mark.parametrize("page", ["weigh", "add_to_pot", "lye", "confirm", "drop"])
def test_only_makers_work_at_the_bench(client_of, viewer, page):
    shop = bench()

    assert client_of(viewer).get(address(page, shop.plan())).status_code == 403


@pytest.mark.parametrize("page", ["weigh_undo", "leave"])
def test_a_deed_is_not_done_by_looking(client_of, page):
    shop = bench()

    assert client_of(shop.maker).get(address(page, shop.plan())).status_code == 405


@pytest.mark.parametrize("page", ["weigh", "add_to_pot", "lye", "confirm", "drop"])
def test_a_batch_that_is_poured_leads_to_its_record(client_of, page):
    shop = bench()
    batch = shop.plan()
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
    client = client_of(shop.maker)

    assert client.get(address(page, batch)).url == address("batch", batch)
    assert client.post(address(page, batch), {}).url == address("batch", batch)


def test_nothing_is_undone_or_left_out_of_a_batch_that_is_poured(client_of):
    shop = bench()
    batch = shop.plan()
    client = client_of(shop.maker)
    weigh(client, batch, "Olive oil")
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    client.post(address("weigh_undo", batch), {"weighing": Weighing.objects.order_by("pk")[0].pk})
    client.post(address("leave", batch), {"line": line_of(batch, "Scent").pk, "open": "on"})

    batch.refresh_from_db()
    assert batch.state == State.POURED
    assert Weighing.objects.count() == 7
    assert line_of(batch, "Scent").done


def test_a_batch_that_does_not_exist_is_not_found(client_of, maker):
    client = client_of(maker)

    for page in ("weigh", "add_to_pot", "lye", "confirm", "drop", "undo", "batch"):
        assert client.get(reverse(f"batches:{page}", args=[99])).status_code == 404


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
