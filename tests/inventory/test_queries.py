"""What the pages and the other apps are told of the stock, in few queries."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
import time_machine

from inventory import queries
from inventory.models import Kind, Movement
from inventory.queries import Show
from inventory.services import ledger
from inventory.services.materials import archive_material
from inventory.shelf import WIDTH
from tests.factories import LotFactory, MaterialFactory, SupplierFactory

pytestmark = pytest.mark.django_db

TODAY = date(2026, 5, 3)


@pytest.fixture(autouse=True)
def _third_of_may():
    with time_machine.travel("2026-05-03 09:00 +0000", tick=False):
        yield


def in_days(days):
    return TODAY + timedelta(days=days)


def room(**kwargs):
    return queries.stockroom(today=TODAY, warn_days=60, **kwargs)


def names(stock):
    return [shelf.material.name for shelf in stock.rows]


def empty(lot, maker):
    ledger.discard(lot=lot, quantity=lot.on_hand, reason="used", key=f"empty {lot.pk}", by=maker)


# Lots for the bench


def test_lots_go_first_to_expire_and_those_without_a_date_last():
    oil = MaterialFactory()
    undated = LotFactory(material=oil)
    late = LotFactory(material=oil, best_before=in_days(300))
    early = LotFactory(material=oil, best_before=in_days(30))
    assert queries.lots_to_use([oil.pk], TODAY) == {oil.pk: [early, late, undated]}


def test_of_two_with_one_date_the_one_that_came_first_goes_first():
    oil, date_ = MaterialFactory(), in_days(30)
    newer = LotFactory(material=oil, best_before=date_)
    older = LotFactory(material=oil, best_before=date_, received_on=in_days(-20))
    assert queries.lots_to_use([oil.pk], TODAY)[oil.pk] == [older, newer]


def test_a_lot_is_good_on_its_last_day_and_not_on_the_next():
    oil = MaterialFactory()
    lot = LotFactory(material=oil, best_before=in_days(10))
    assert queries.lots_to_use([oil.pk], in_days(10)) == {oil.pk: [lot]}
    assert queries.lots_to_use([oil.pk], in_days(11)) == {}


def test_empty_lots_and_other_materials_are_left_out(maker):
    oil = MaterialFactory()
    empty(LotFactory(material=oil), maker)
    LotFactory()
    assert queries.lots_to_use([oil.pk], TODAY) == {}


def test_lots_of_many_materials_take_one_query(django_assert_num_queries):
    oils = [LotFactory().material for _ in range(20)]
    with django_assert_num_queries(1):
        found = queries.lots_to_use([oil.pk for oil in oils], TODAY)
        assert {lots[0].material.name for lots in found.values()} == {oil.name for oil in oils}


def test_the_last_price_is_that_of_the_lot_that_came_last(django_assert_num_queries):
    oil, other = MaterialFactory(), MaterialFactory()
    LotFactory(material=oil, cost=40, quantity=5000, received_on=in_days(-1))
    LotFactory(material=oil, cost=99, quantity=5000, received_on=in_days(-90))
    with django_assert_num_queries(1):
        assert queries.last_prices([oil.pk, other.pk]) == {oil.pk: Decimal("0.008")}


def test_what_goes_off_is_told_soonest_first_with_what_is_past():
    past = LotFactory(best_before=in_days(-3), received_on=in_days(-30))
    LotFactory(best_before=in_days(61))
    LotFactory()
    edge = LotFactory(best_before=in_days(60))
    assert list(queries.expiring(TODAY, 60)) == [past, edge]


# The stockroom


def test_low_is_at_the_level_or_below_it():
    at, above = (
        MaterialFactory(name="At", reorder_level=5000),
        MaterialFactory(name="Above", reorder_level=4999),
    )
    LotFactory(material=at)
    LotFactory(material=above)
    MaterialFactory(name="None", reorder_level=0)
    MaterialFactory(name="No level")
    assert [each.name for each in queries.low_stock(TODAY)] == ["At", "None"]


def test_what_is_past_its_date_does_not_count_against_low():
    oil = MaterialFactory(reorder_level=1000)
    LotFactory(material=oil, best_before=in_days(-1), received_on=in_days(-30))
    [shelf] = room().rows
    assert (shelf.on_hand, shelf.usable, shelf.low, shelf.first) == (5000, 0, True, None)
    assert list(queries.low_stock(TODAY)) == [oil]


def test_the_stockroom_shows_what_is_there_or_wanted_and_all_if_asked(maker):
    LotFactory(material=MaterialFactory(name="There"))
    MaterialFactory(name="Wanted", reorder_level=500)
    MaterialFactory(name="Neither")
    gone = LotFactory(material=MaterialFactory(name="Put away"))
    empty(gone, maker)
    archive_material(material=gone.material, by=maker)
    assert names(room()) == ["There", "Wanted"]
    assert names(room(show=Show.ALL)) == ["Neither", "There", "Wanted"]
    assert room().shelf_count == 1


def test_fats_come_before_alkalis_and_packaging_last():
    for trait in ("packaging", "naoh", "fragrance"):
        MaterialFactory(name=trait, **{trait: True})
    MaterialFactory(name="oil")
    assert names(room(show=Show.ALL)) == ["oil", "naoh", "fragrance", "packaging"]
    assert names(room(show=Show.ALL, kind=Kind.ALKALI)) == ["naoh"]


def test_what_goes_off_is_shown_soonest_first_with_the_lot_to_look_at():
    for name, days in (("Later", 50), ("Sooner", 5), ("Fine", 200)):
        LotFactory(material=MaterialFactory(name=name), best_before=in_days(days))
    stock = room(show=Show.EXPIRING)
    assert names(stock) == ["Sooner", "Later"]
    assert stock.rows[0].due.best_before == in_days(5)
    assert stock.expiring_count == 2


@pytest.mark.parametrize("search", ["plum", "PRUNUS", "pk-0007"])
def test_a_material_is_found_by_name_label_name_or_lot(search):
    LotFactory(material=MaterialFactory(name="Plum kernel oil", inci_name="Prunus Domestica"), code="PK-0007")
    LotFactory()
    assert names(room(search=search)) == ["Plum kernel oil"]


def test_a_page_that_does_not_exist_is_the_nearest_that_does():
    for _ in range(3):
        LotFactory()
    assert room(page="99", per_page=2).page.number == 2
    assert room(page="-1", per_page=2).page.number == 2
    assert room(page="🧼", per_page=2).page.number == 1


# The picture


def bar_of(*lots, **material):
    oil = MaterialFactory(**material)
    for quantity, days in lots:
        LotFactory(material=oil, quantity=quantity, best_before=in_days(days), received_on=in_days(-30))
    return room(show=Show.ALL).rows[0].bar


def test_the_reorder_level_stands_at_a_third():
    bar = bar_of((1000, 300), reorder_level=1000)
    assert bar.level_x == pytest.approx(WIDTH / 3, abs=0.1)
    assert bar.segments[0].width == pytest.approx(WIDTH / 3, abs=2.1)


def test_plenty_fills_the_whole_width():
    bar = bar_of((6000, 300), (4000, 310), reorder_level=1000)
    assert bar.level_x == pytest.approx(WIDTH / 10)
    assert [segment.x for segment in bar.segments] == [0, pytest.approx(WIDTH * 0.6)]


def test_without_a_level_the_bar_shows_how_much_is_left_of_what_came(maker):
    lot = LotFactory(quantity=1000)
    ledger.take(lot=lot, quantity=Decimal(750), kind=Movement.Kind.POURED, key="p", by=maker)
    [shelf] = room().rows
    assert shelf.bar.level_x is None
    assert shelf.bar.segments[0].width == pytest.approx(WIDTH / 4, abs=2.1)


def test_the_last_spoonful_is_still_seen():
    assert min(segment.width for segment in bar_of((9999, 300), (1, 310)).segments) == 3


def test_lots_are_drawn_as_good_going_off_or_past():
    states = [segment.state for segment in bar_of((100, -1), (100, 0), (100, 60), (100, 61)).segments]
    assert states == ["soon", "soon", "good", "expired"]


def test_nothing_is_drawn_of_nothing():
    bar = bar_of()
    assert (bar.segments, bar.level_x) == ((), None)


# Counting queries: ten against twenty


def fill(count):
    for n in range(count):
        oil = MaterialFactory(reorder_level=6000, supplier=SupplierFactory())
        LotFactory(material=oil, best_before=in_days(n))
        LotFactory(material=oil)


def read_stockroom():
    stock = room(per_page=100)
    return [(shelf.material.name, shelf.first, shelf.due) for shelf in stock.rows], names(stock), stock.low


def read_ledger():
    page = queries.ledger(per_page=100)
    return [(row.lot.material.name, row.by.name, row.can_be_taken_back, row.reverses) for row in page]


def read_deliveries():
    return [(row.supplier.name, row.lot_count) for row in queries.deliveries(per_page=100)]


def read_suppliers():
    return [(row.name, row.delivery_count, row.last_delivery) for row in queries.suppliers(per_page=100)]


@pytest.mark.parametrize(
    ("read", "most"), [(read_stockroom, 6), (read_ledger, 2), (read_deliveries, 2), (read_suppliers, 2)]
)
def test_twenty_rows_take_no_more_queries_than_ten(read, most, django_assert_max_num_queries):
    fill(10)
    with django_assert_max_num_queries(most) as ten:
        read()
    fill(10)
    with django_assert_max_num_queries(len(ten)):
        read()


def test_the_pages_of_a_material_and_of_a_lot_take_few_queries(maker, django_assert_max_num_queries):
    oil = MaterialFactory()
    lots = [LotFactory(material=oil) for _ in range(20)]
    for n in range(20):
        ledger.take(lot=lots[0], quantity=Decimal(1), kind=Movement.Kind.POURED, key=f"{n}", by=maker)
    with django_assert_max_num_queries(4):
        page = queries.material_page(oil, today=TODAY, warn_days=60)
        assert [(row.by.name, row.lot.material.name) for row in page.movements]
    with django_assert_max_num_queries(4):
        page = queries.lot_page(lots[0], today=TODAY, warn_days=60)
        assert len([(row.by.name, row.lot.material.name) for row in page.movements]) == 21
