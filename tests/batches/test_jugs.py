"""Splitting the batter at the bench: what is filled counts as weighed, the rest is solved anew."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from batches.models import Batch, Jug, Weighing
from batches.queries.weighing import Step
from batches.services.errors import AlreadyWeighed, NotOpen
from batches.services.jugs import add_jug, empty_jug, fill_jug, leave_out, top_up
from batches.services.plan import drop_batch
from inventory.services.ledger import NotEnough
from recipes.models import Destination, Stage
from tests.batches.bench import Bench
from tests.batches.split import FIVE, jug, look, planned, split_bench, to_take, with_batter
from tests.factories import ViewerFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(db: None) -> Bench:
    return split_bench()


@pytest.fixture
def batch(shop: Bench) -> Batch:
    return with_batter(shop)


def fill(batch: Batch, name: str, grams: object = None, **more: object) -> Jug:
    amount = Decimal(str(grams)) if grams is not None else to_take(batch)[name]
    return fill_jug(jug=jug(batch, name), grams=amount, key=uuid4(), by=batch.planned_by, **more)


class TestThePlan:
    def test_a_batch_gets_a_jug_for_each_portion_in_the_order_of_pouring(self, batch: Batch) -> None:
        assert [one.name for one in batch.jugs.all()] == list(FIVE)
        assert jug(batch, "Kept").destination == Destination.KEPT

    def test_the_jugs_are_planned_to_take_all_the_batter(self, batch: Batch) -> None:
        split = look(batch).split
        assert split is not None
        assert sum(one.planned or 0 for one in batch.jugs.all()) == split.batter == Decimal(1434)

    def test_what_goes_into_jugs_is_weighed_there_and_not_before(self, shop: Bench, batch: Batch) -> None:
        into_jugs = batch.lines.filter(stage=Stage.JUG).values_list("material__name", flat=True)
        assert set(into_jugs) == {"Scent", "Coal", "Leaf"}
        assert not batch.lines.filter(stage=Stage.JUG, done=True).exists()

    def test_the_fragrance_is_worked_out_on_the_fats_of_what_carries_it(self, shop: Bench) -> None:
        """2 % of the fats in 75 % of the batter: 0.02 * 1000 * 0.75 = 15 g."""
        scent = planned(shop).lines.get(material__name="Scent")
        assert scent.planned == Decimal(15)


class TestFilling:
    def test_as_planned_books_batter_and_what_is_stirred_in(self, batch: Batch) -> None:
        filled = fill(batch, "Dark")
        assert filled.grams == filled.planned == Decimal(430)
        weighed = {one.line.material.name: one.quantity for one in filled.weighings.all()}
        assert weighed == {"Scent": Decimal(6), "Coal": Decimal(3)}

    def test_more_batter_takes_more_colour_and_leaves_less_for_the_rest(self, batch: Batch) -> None:
        before = to_take(batch)
        fill(batch, "Dark", 500)
        after = to_take(batch)
        assert after["White"] == before["White"]  # its share of the whole is stated
        assert after["Top"] == (before["Top"] or 0) - 70  # the rest takes what remains
        assert Weighing.objects.get(jug__name="Dark", line__material__name="Coal").quantity == Decimal(3)
        assert Weighing.objects.get(jug__name="Dark", line__material__name="Scent").quantity == Decimal(7)

    def test_what_was_stirred_in_counts_as_weighed(self, batch: Batch) -> None:
        line = batch.lines.get(material__name="Coal")
        fill(batch, "Dark", 430, stirred_in={line.pk: Decimal("4.5")})
        assert Weighing.objects.get(jug__name="Dark", line=line).quantity == Decimal("4.5")

    def test_nothing_stirred_in_is_no_weighing(self, batch: Batch) -> None:
        line = batch.lines.get(material__name="Coal")
        fill(batch, "Dark", 430, stirred_in={line.pk: Decimal(0)})
        assert not Weighing.objects.filter(line=line).exists()

    def test_out_of_the_lot_that_was_chosen(self, shop: Bench, batch: Batch) -> None:
        other = shop.lot("Coal", quantity=50)
        line = batch.lines.get(material__name="Coal")
        fill(batch, "Dark", 430, lots={line.pk: other.pk})
        assert Weighing.objects.get(line=line).lot == other

    def test_a_line_is_done_when_no_jug_waits_for_it(self, batch: Batch) -> None:
        fill(batch, "Dark")
        assert batch.lines.get(material__name="Coal").done
        assert not batch.lines.get(material__name="Scent").done

    def test_sent_twice_it_counts_once(self, batch: Batch) -> None:
        key = uuid4()
        for _ in range(2):
            fill_jug(jug=jug(batch, "Dark"), grams=Decimal(430), key=key, by=batch.planned_by)
        assert Weighing.objects.filter(jug__name="Dark").count() == 2

    def test_a_second_filling_is_refused(self, batch: Batch) -> None:
        fill(batch, "Dark")
        with pytest.raises(AlreadyWeighed):
            fill(batch, "Dark", 10)

    @pytest.mark.parametrize("grams", ["0", "-1", "NaN", "Infinity", "1450"])
    def test_what_cannot_be_is_refused_beside_the_field(self, batch: Batch, grams: str) -> None:
        with pytest.raises(ValidationError) as caught:
            fill(batch, "Dark", grams)
        assert "grams" in caught.value.message_dict

    def test_two_scales_may_disagree_by_a_hundredth(self, batch: Batch) -> None:
        assert fill(batch, "Dark", 1448).grams == Decimal(1448)

    @pytest.mark.parametrize("amount", ["-1", "NaN"])
    def test_an_amount_that_cannot_be_is_refused_beside_its_field(self, batch: Batch, amount: str) -> None:
        line = batch.lines.get(material__name="Coal")
        with pytest.raises(ValidationError) as caught:
            fill(batch, "Dark", 430, stirred_in={line.pk: Decimal(amount)})
        assert f"stir-{line.pk}" in caught.value.message_dict
        assert jug(batch, "Dark").is_open

    def test_more_than_the_shelf_holds_is_refused_and_nothing_is_kept(self, batch: Batch) -> None:
        line = batch.lines.get(material__name="Coal")
        with pytest.raises(NotEnough):
            fill(batch, "Dark", 430, stirred_in={line.pk: Decimal(101)})
        assert jug(batch, "Dark").is_open

    def test_what_is_not_in_stock_at_all_is_named(self, shop: Bench, batch: Batch) -> None:
        shop.lots["Coal"].movements.all()
        line = batch.lines.get(material__name="Coal")
        with pytest.raises(ValidationError, match="There is no Coal in stock"):
            fill(batch, "Dark", 430, lots={line.pk: shop.lots["Leaf"].pk})

    def test_before_the_lye_there_is_no_batter(self, shop: Bench) -> None:
        fresh = planned(shop)
        with pytest.raises(ValidationError, match="Mix the lye first"):
            fill_jug(jug=jug(fresh, "Dark"), grams=Decimal(430), key=uuid4(), by=shop.maker)

    def test_it_stands_at_the_time_when_it_was_filled(self, batch: Batch) -> None:
        earlier = timezone.now() - timedelta(minutes=5)
        assert fill(batch, "Dark", 430, at=earlier).filled_at == earlier

    def test_a_dropped_batch_takes_nothing(self, shop: Bench, batch: Batch) -> None:
        drop_batch(batch=batch, reason="Spilled", by=shop.maker)
        with pytest.raises(NotOpen):
            fill(batch, "Dark", 430)

    def test_a_viewer_fills_nothing(self, batch: Batch) -> None:
        with pytest.raises(PermissionDenied):
            fill_jug(jug=jug(batch, "Dark"), grams=Decimal(430), key=uuid4(), by=ViewerFactory())

    def test_when_all_are_filled_the_pour_may_follow(self, batch: Batch) -> None:
        for name in FIVE:
            assert look(batch).step == Step.SPLIT
            fill(batch, name)
        assert look(batch).step == Step.CONFIRM


class TestOtherwiseThanPlanned:
    def test_a_jug_left_out_goes_to_the_rest(self, batch: Batch) -> None:
        before = to_take(batch)
        leave_out(jug=jug(batch, "Green"), by=batch.planned_by)
        after = to_take(batch)
        assert after["Top"] == (before["Top"] or 0) + (before["Green"] or 0)
        assert batch.lines.get(material__name="Leaf").done
        assert leave_out(jug=jug(batch, "Green"), by=batch.planned_by).dropped  # a second time is the same

    def test_a_filled_jug_is_not_left_out(self, batch: Batch) -> None:
        fill(batch, "Green")
        with pytest.raises(AlreadyWeighed):
            leave_out(jug=jug(batch, "Green"), by=batch.planned_by)

    def test_emptied_it_is_as_before(self, batch: Batch) -> None:
        before = to_take(batch)
        fill(batch, "Dark", 600)
        empty_jug(jug=jug(batch, "Dark"), by=batch.planned_by)
        assert to_take(batch) == before
        assert not Weighing.objects.filter(jug__isnull=False).exists()
        assert not batch.lines.get(material__name="Coal").done
        assert empty_jug(jug=jug(batch, "Dark"), by=batch.planned_by).is_open  # nothing to take back

    def test_one_left_out_can_be_filled_after_all(self, batch: Batch) -> None:
        leave_out(jug=jug(batch, "Green"), by=batch.planned_by)
        empty_jug(jug=jug(batch, "Green"), by=batch.planned_by)
        assert fill(batch, "Green").grams == jug(batch, "Green").planned

    def test_plain_batter_makes_a_jug_lighter(self, batch: Batch) -> None:
        fill(batch, "Dark", 430)
        key = uuid4()
        for _ in range(2):
            top_up(jug=jug(batch, "Dark"), grams=Decimal(70), key=key, by=batch.planned_by)
        assert jug(batch, "Dark").grams == Decimal(500)
        assert Weighing.objects.get(jug__name="Dark", line__material__name="Coal").quantity == Decimal(3)

    def test_an_empty_jug_is_filled_before_it_is_made_lighter(self, batch: Batch) -> None:
        with pytest.raises(ValidationError, match="fill it first"):
            top_up(jug=jug(batch, "Dark"), grams=Decimal(70), key=uuid4(), by=batch.planned_by)

    def test_a_portion_that_nobody_planned(self, batch: Batch) -> None:
        before, key = to_take(batch), uuid4()
        for _ in range(2):
            added = add_jug(
                batch=batch,
                name="Tester",
                grams=Decimal(50),
                key=key,
                by=batch.planned_by,
                destination=Destination.OTHER,
                colour="#aabbcc",
            )
        assert batch.jugs.count() == 6
        assert to_take(batch) == {**before, "Top": (before["Top"] or 0) - 50, "Tester": Decimal(50)}
        empty_jug(jug=added, by=batch.planned_by)
        assert to_take(batch) == before

    @pytest.mark.parametrize(
        ("said", "field"),
        [
            ({"name": "  "}, "name"),
            ({"name": "dark"}, "name"),
            ({"grams": Decimal(-3)}, "grams"),
            ({"colour": "red"}, "colour"),
            ({"name": "x" * 41}, "name"),
        ],
    )
    def test_a_portion_that_cannot_be(self, batch: Batch, said: dict[str, object], field: str) -> None:
        fields = {"name": "Tester", "grams": Decimal(50), "colour": ""} | said
        with pytest.raises(ValidationError) as caught:
            add_jug(batch=batch, key=uuid4(), by=batch.planned_by, **fields)  # type: ignore[arg-type]
        assert field in caught.value.message_dict

    def test_jugs_that_nobody_can_keep_apart(self, batch: Batch) -> None:
        for number in range(19):
            add_jug(batch=batch, name=f"Cup {number}", grams=Decimal(1), key=uuid4(), by=batch.planned_by)
        with pytest.raises(ValidationError, match="keep apart"):
            add_jug(batch=batch, name="One more", grams=Decimal(1), key=uuid4(), by=batch.planned_by)

    def test_where_too_little_remains_the_reason_is_said(self, batch: Batch) -> None:
        fill(batch, "Dark", 1300)
        split = look(batch).split
        assert split is not None
        assert "does not suffice" in split.trouble
        assert to_take(batch)["White"] is None

    def test_a_batch_that_is_not_split_has_no_jugs_to_fill(self, batch: Batch) -> None:
        batch.frozen["split"] = None
        batch.save()
        with pytest.raises(ValidationError, match="not split"):
            fill(batch, "Dark", 10)
