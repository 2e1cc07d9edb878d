"""Where every gram went, of lines and jugs that nobody has saved: what is put in is found again."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from batches.models import Batch, Cure, Line
from batches.queries.balance import balance
from batches.queries.weighing import bench as board_of
from batches.services.jugs import add_jug, fill_jug
from batches.services.weighing import weigh
from batches.splitting import Splitting
from recipes.models import Destination, Stage
from tests.batches.bench import Bench
from tests.batches.split import FIVE, jug, split_bench, to_take, with_batter
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db

LOST = "Lost: water, and what stuck to mould and tools"


def lines_of(batch: Batch) -> list[Line]:
    return list(batch.lines.select_related("material").prefetch_related("weighings"))


def split_of(batch: Batch) -> Splitting | None:
    return board_of(Batch.objects.get(pk=batch.pk)).split


def went(batch: Batch, cure: Cure | None = None) -> dict[str, Decimal]:
    found = balance(lines_of(batch), split_of(batch), cure)
    assert found is not None
    assert sum(one.grams for one in found.went) == found.put_in
    return {one.where: one.grams for one in found.went}


def weighed(shop: Bench) -> Batch:
    batch = shop.plan()
    for line in batch.lines.select_related("material"):
        lot = shop.lots[line.material.name]
        weigh(line=line, lot=lot, quantity=line.planned, key=uuid4(), by=shop.maker)
    return batch


def cut(bars: str | None, trimmings: str | None = None) -> Cure:
    return Cure(
        bars_weight=None if bars is None else Decimal(bars),
        trimmings=None if trimmings is None else Decimal(trimmings),
    )


def test_before_anything_is_weighed_there_is_none(shop):
    assert balance(lines_of(shop.plan()), None, None) is None


def test_before_the_cut_all_is_in_the_mould(shop):
    batch = weighed(shop)
    assert went(batch) == {"In the mould": sum(line.planned for line in lines_of(batch))}


def test_bars_that_were_not_weighed_leave_it_open(shop):
    batch = weighed(shop)
    found = balance(lines_of(batch), None, cut(None, "40"))
    assert found is not None
    assert found.open
    assert went(batch, cut(None, "40")).keys() == {"In the mould"}


def test_weighed_bars_and_trimmings_tell_what_was_lost(shop):
    batch = weighed(shop)
    whole = sum(line.planned for line in lines_of(batch))
    assert went(batch, cut("1200", "40.25")) == {
        "Bars, fresh": Decimal(1200),
        "Ends and trimmings": Decimal("40.25"),
        LOST: whole - Decimal("1240.25"),
    }


def test_without_trimmings_there_were_none(shop):
    assert went(weighed(shop), cut("1200"))["Ends and trimmings"] == 0


def test_what_goes_on_top_counts_by_weight_and_pieces_by_what_one_weighs(shop):
    batch = weighed(shop)
    before = went(batch)["In the mould"]
    for position, (material, quantity) in enumerate(
        ((MaterialFactory(embed=True, piece_grams=Decimal(12)), 10), (MaterialFactory(topping=True), 7)), 50
    ):
        line = batch.lines.create(material=material, planned=quantity, position=position, stage=Stage.TOP)
        lot = LotFactory(material=material, quantity=100, by=shop.maker)
        weigh(line=line, lot=lot, quantity=Decimal(quantity), key=uuid4(), by=shop.maker)
    assert went(batch)["In the mould"] == before + 120 + 7


class TestSplit:
    @pytest.fixture
    def shop(self, db) -> Bench:
        return split_bench()

    @pytest.fixture
    def batch(self, shop: Bench) -> Batch:
        return with_batter(shop)

    def fill(self, batch: Batch, *names: str, **grams: str) -> None:
        for name in names:
            amount = Decimal(grams[name]) if name in grams else to_take(batch)[name] or Decimal(0)
            fill_jug(jug=jug(batch, name), grams=amount, key=uuid4(), by=batch.planned_by)

    def test_what_is_not_in_a_jug_yet_is_in_the_bucket(self, batch):
        self.fill(batch, "Dark")
        found = went(batch)
        assert found["In the mould"] == 430 + 9
        assert found["Left in the bucket and on the tools"] == 1434 - 430

    def test_all_jugs_filled_nothing_is_left_over(self, batch):
        self.fill(batch, *FIVE)
        assert went(batch).keys() == {"In the mould", "Kept, kept back"}

    def test_each_jug_that_leads_elsewhere_stands_by_itself(self, batch, shop):
        self.fill(batch, "Kept")
        add_jug(
            batch=batch,
            name="Tester",
            grams=Decimal("12.34"),
            key=uuid4(),
            by=shop.maker,
            destination=Destination.OTHER,
        )
        found = went(batch)
        assert found["Tester, another mould"] == Decimal("12.34")
        assert found["Kept, kept back"] == 145

    def test_two_scales_that_disagree_show_as_less_than_nothing_left(self, batch):
        self.fill(batch, "Dark", "White", "Green", "Kept")
        fill_jug(jug=jug(batch, "Top"), grams=Decimal(295), key=uuid4(), by=batch.planned_by)
        assert (
            went(batch)["More in the jugs than was weighed in: scales never agree to the gram"] == 287 - 295
        )
