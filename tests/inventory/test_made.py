"""Lots made here of other lots: how they come onto the shelf, are taken back, and what is in them."""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import queries
from inventory.models import Lot, LotPart, Movement
from inventory.services import ledger
from inventory.services.ledger import NotReversible
from inventory.services.made import make_lot, unmake_lot
from inventory.services.reconcile import reconcile
from soapshop.core.queries import history_of
from tests.factories import LotFactory, MadeLotFactory, MaterialFactory

pytestmark = pytest.mark.django_db


def make(by, parts, **changed):
    said = {
        "material": changed.pop("material", None) or MaterialFactory(batter=True, name="Batter of Moss"),
        "quantity": Decimal(400),
        "cost": Decimal("3.207"),
        "key": "pour 1",
        "at": timezone.now(),
    }
    return make_lot(parts=parts, by=by, **{**said, **changed})


def pour(lot, quantity, by, key="pour 2"):
    return ledger.take(
        lot=lot,
        quantity=Decimal(quantity),
        kind=Movement.Kind.POURED,
        document="26-0007",
        key=key,
        by=by,
    )


# Making


def test_a_lot_made_here_stands_on_the_shelf_with_its_movement_and_its_parts(maker):
    oil, lye = LotFactory(quantity=5000), LotFactory(quantity=900)
    lot = make(maker, [(oil, Decimal(250)), (lye, Decimal("36.5"))], document="26-0001", place="Shelf B2")
    assert (lot.on_hand, lot.quantity, lot.cost, lot.place) == (400, 400, Decimal("3.21"), "Shelf B2")
    assert lot.code == "BO-0001"
    assert lot.delivery is None
    assert list(lot.parts.values_list("of", "quantity")) == [(oil.pk, 250), (lye.pk, Decimal("36.50"))]
    movement = lot.movements.get()
    assert (movement.kind, movement.quantity, movement.document) == ("made", 400, "26-0001")
    assert [line.what for line in history_of(lot)] == ["made lot BO-0001"]


def test_the_stock_of_its_parts_is_not_touched(maker):
    oil = LotFactory(quantity=5000)
    make(maker, [(oil, Decimal(250))])
    assert Lot.objects.get(pk=oil.pk).on_hand == 5000
    assert reconcile() == []


def test_the_same_deed_sent_twice_makes_one_lot(maker):
    oil = LotFactory()
    first = make(maker, [(oil, Decimal(250))])
    assert make(maker, [(oil, Decimal(250))], material=first.material) == first
    assert LotPart.objects.count() == 1


def test_its_code_comes_from_the_same_series_as_those_that_came_by_delivery(maker):
    petals = MaterialFactory(topping=True, name="Dried petals")
    LotFactory(material=petals)
    assert make(maker, [(LotFactory(), Decimal(1))], material=petals).code == "DP-0002"


def test_it_counts_from_the_day_on_which_it_was_made(maker):
    at = datetime(2026, 5, 3, 14, 30, tzinfo=timezone.get_current_timezone())
    lot = make(maker, [(LotFactory(), Decimal(1))], at=at, best_before=at.date() + timedelta(days=30))
    assert lot.received_on == at.date()
    assert lot.movements.get().at == at


def test_a_lot_that_is_named_twice_counts_with_both_amounts(maker):
    oil = LotFactory()
    lot = make(maker, [(oil, Decimal(100)), (oil, Decimal("50.5"))])
    assert lot.parts.get().quantity == Decimal("150.50")


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("quantity", {"quantity": Decimal(0)}),
        ("quantity", {"quantity": Decimal(-1)}),
        ("quantity", {"quantity": Decimal("NaN")}),
        ("quantity", {"quantity": Decimal("Infinity")}),
        ("quantity", {"quantity": Decimal("1e12")}),
        ("cost", {"cost": Decimal(-1)}),
        ("cost", {"cost": Decimal("NaN")}),
        ("parts", {"parts": []}),
        ("best_before", {"best_before": timezone.localdate() - timedelta(days=2)}),
    ],
)
def test_a_lot_that_cannot_be_is_refused_at_its_field(maker, field, changed):
    oil = LotFactory()
    with pytest.raises(ValidationError) as refused:
        make(maker, changed.pop("parts", [(oil, Decimal(1))]), **changed)
    assert list(refused.value.message_dict) == [field]
    assert Lot.objects.get() == oil


@pytest.mark.parametrize("held", ["0", "-1", "NaN", "1e12"])
def test_a_part_that_is_no_amount_is_refused(maker, held):
    with pytest.raises(ValidationError):
        make(maker, [(LotFactory(), Decimal(held))])
    assert Lot.objects.count() == 1


def test_embeds_are_made_in_whole_pieces(maker):
    suns = MaterialFactory(embed=True, name="Sun disc")
    with pytest.raises(ValidationError, match="Sun disc is counted in whole pieces"):
        make(maker, [(LotFactory(), Decimal(1))], material=suns, quantity=Decimal("10.5"))
    assert make(maker, [(LotFactory(), Decimal(1))], material=suns, quantity=Decimal(40)).on_hand == 40


def test_a_viewer_makes_nothing_and_takes_nothing_back(maker, viewer):
    with pytest.raises(PermissionDenied):
        make(viewer, [(LotFactory(), Decimal(1))])
    with pytest.raises(PermissionDenied):
        unmake_lot(lot=MadeLotFactory(), reason="why", by=viewer)


def test_the_database_keeps_a_lot_from_holding_itself(maker):
    lot = MadeLotFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        LotPart.objects.create(lot=lot, of=lot, quantity=1)
    assert str(lot.parts.get()) == f"{lot.parts.get().of_id} in {lot.pk}"


# Taking back


def test_a_lot_taken_back_stays_in_the_books_and_holds_nothing(maker):
    lot = MadeLotFactory(document="26-0001")
    back = unmake_lot(lot=lot, reason="wrong jug", by=maker)
    assert (back.kind, back.quantity, back.document, back.reason) == (
        "reversed",
        -500,
        "26-0001",
        "wrong jug",
    )
    assert Lot.objects.get(pk=lot.pk).on_hand == 0
    assert not LotPart.objects.exists()
    assert history_of(lot)[0].what == f"took back lot {lot.code}"
    assert reconcile() == []


def test_taking_it_back_twice_counts_once(maker):
    lot = MadeLotFactory()
    first = unmake_lot(lot=lot, reason="wrong jug", by=maker)
    assert unmake_lot(lot=lot, reason="wrong jug", by=maker) == first
    assert lot.movements.count() == 2


def test_a_lot_of_which_some_was_poured_is_not_taken_back(maker):
    lot = MadeLotFactory()
    pour(lot, 120, maker)
    with pytest.raises(NotReversible, match=r"120.*g of .* went into 26-0007"):
        unmake_lot(lot=lot, reason="wrong jug", by=maker)
    assert Lot.objects.get(pk=lot.pk).on_hand == 380
    assert lot.parts.exists()


def test_once_that_pour_is_undone_it_can_be_taken_back(maker):
    lot = MadeLotFactory()
    ledger.reverse_all(movements=[pour(lot, 120, maker)], reason="undone", by=maker)
    unmake_lot(lot=lot, reason="wrong jug", by=maker)
    assert Lot.objects.get(pk=lot.pk).on_hand == 0


@pytest.mark.parametrize("counted", [450, 550])
def test_a_lot_whose_stock_was_corrected_is_not_taken_back(maker, counted):
    lot = MadeLotFactory()
    ledger.correct(lot=lot, counted=Decimal(counted), reason="weighed", key="c", by=maker)
    with pytest.raises(NotReversible, match="was corrected since"):
        unmake_lot(lot=lot, reason="wrong jug", by=maker)


def test_a_lot_that_came_by_delivery_was_not_made_here(maker):
    with pytest.raises(NotReversible, match="was not made here"):
        unmake_lot(lot=LotFactory(), reason="wrong jug", by=maker)


def test_taking_back_needs_a_reason(maker):
    lot = MadeLotFactory()
    with pytest.raises(ValidationError, match="why"):
        unmake_lot(lot=lot, reason="  ", by=maker)
    assert lot.parts.exists()


def test_what_was_made_is_not_taken_back_by_hand(maker, client_of, workshop):
    movement = MadeLotFactory().movements.get()
    assert not movement.can_be_taken_back
    with pytest.raises(NotReversible, match="made here"):
        ledger.reverse(movement=movement, reason="oops", key="r", by=maker)
    page = client_of(maker).get(reverse("inventory:reverse", args=[movement.pk])).content.decode()
    assert "Undo the batch that made it" in page


# What is in it


def test_a_lot_that_came_by_delivery_is_its_own_base():
    oil = LotFactory(quantity=5000)
    assert queries.base_parts(oil) == [(oil, 5000)]
    assert queries.share(oil, Decimal(12)) == [(oil, 12)]
    assert queries.shares([]) == []


def test_lots_within_lots_are_scaled_down_to_what_was_bought():
    oil, lye, mica = LotFactory(), LotFactory(), LotFactory()
    batter = MadeLotFactory(quantity=500, parts=[(oil, 300), (lye, 60)])
    embeds = MadeLotFactory(
        material=MaterialFactory(embed=True), quantity=40, parts=[(batter, 250), (mica, 2), (oil, 10)]
    )
    assert queries.base_parts(embeds) == [(oil, 160), (lye, 30), (mica, 2)]
    assert queries.share(embeds, Decimal(10)) == [(oil, 40), (lye, Decimal("7.5")), (mica, Decimal("0.5"))]
    both = queries.shares([(embeds, Decimal(10)), (batter, Decimal(50))])
    assert both == [(oil, 70), (lye, Decimal("13.5")), (mica, Decimal("0.5"))]


def test_lots_that_would_be_in_each_other_are_opened_once():
    oil = LotFactory()
    first = MadeLotFactory(quantity=100, parts=[(oil, 100)])
    second = MadeLotFactory(quantity=100, parts=[(first, 50), (oil, 50)])
    LotPart.objects.create(lot=first, of=second, quantity=20)
    assert queries.base_parts(first) == [(oil, 110), (first, 10)]


def test_a_level_of_lots_within_lots_takes_one_query(django_assert_num_queries):
    oils = [LotFactory() for _ in range(6)]
    batters = [MadeLotFactory(parts=[(oil, 10) for oil in oils]) for _ in range(4)]
    embeds = [MadeLotFactory(parts=[(batter, 10) for batter in batters]) for _ in range(3)]
    with django_assert_num_queries(3):
        found = queries.shares([(each, Decimal(50)) for each in embeds])
        assert {lot.material.name for lot, _ in found} == {oil.material.name for oil in oils}


def test_parts_of_many_lots_take_one_query(django_assert_num_queries):
    made = [MadeLotFactory() for _ in range(3)]
    bought = LotFactory()
    with django_assert_num_queries(1):
        found = queries.parts_of([lot.pk for lot in (*made, bought)])
        assert [part.of.material.kind for parts in found.values() for part in parts] == ["fat"] * 3
    assert bought.pk not in found


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    levels=st.lists(st.lists(st.integers(1, 900), min_size=1, max_size=3), min_size=1, max_size=4),
    taken=st.integers(1, 900),
)
def test_nothing_is_lost_or_gained_where_parts_add_up_to_their_lot(levels, taken):
    with transaction.atomic():
        below = [LotFactory(), LotFactory()]
        for grams in levels:
            parts = [(below[place % len(below)], held) for place, held in enumerate(grams)]
            below = [*below[-1:], MadeLotFactory(quantity=sum(grams), parts=parts)]
        found = queries.share(below[-1], Decimal(taken))
        assert abs(sum(quantity for _, quantity in found) - taken) < Decimal("1e-18")
        assert all(lot.delivery_id and quantity > 0 for lot, quantity in found)
        transaction.set_rollback(True)


# Its page


@pytest.fixture
def nest():
    """Embeds made of batter made of an oil."""
    oil = LotFactory(material=MaterialFactory(name="Olive oil"), code="OO-0001")
    batter = MadeLotFactory(material=MaterialFactory(batter=True, name="Batter of Moss"), parts=[(oil, 300)])
    suns = MaterialFactory(embed=True, name="Sun disc")
    return oil, batter, MadeLotFactory(material=suns, quantity=40, parts=[(batter, 250)])


def page_of(client, lot):
    return client.get(reverse("inventory:lot", args=[lot.pk])).content.decode()


def test_the_page_of_a_lot_shows_what_it_is_made_of_and_what_that_is_made_of(
    client_of, viewer, workshop, nest
):
    oil, batter, suns = nest
    page = page_of(client_of(viewer), suns)
    made_of = page[page.index("Made of") : page.index("In and out")]
    for lot in (oil, batter):
        assert reverse("inventory:lot", args=[lot.pk]) in made_of
    assert "250\N{NO-BREAK SPACE}g" in made_of
    assert "Itself made of:" in made_of
    assert "Went into" not in page
    assert "Made here" in page


def test_what_is_written_on_a_lot_made_here_names_no_supplier(client_of, maker, workshop, nest):
    suns, phone = nest[2], client_of(maker)
    edit = reverse("inventory:lot_edit", args=[suns.pk])
    assert "supplier_code" not in phone.get(edit).context["form"].fields
    assert phone.post(edit, {"cost": "5", "place": "Shelf C1"}).status_code == 302
    suns.refresh_from_db()
    assert (suns.cost, suns.place) == (5, "Shelf C1")


def test_the_page_of_a_lot_shows_what_it_went_into(client_of, viewer, workshop, nest):
    oil, batter, suns = nest
    page = page_of(client_of(viewer), oil)
    assert "Made of" not in page
    went_into = page[page.index("Went into") : page.index("In and out")]
    assert reverse("inventory:lot", args=[batter.pk]) in went_into
    assert "300\N{NO-BREAK SPACE}g" in went_into
    assert suns.code not in went_into


def test_raw_batter_carries_a_caution_on_its_page_and_its_label(client_of, viewer, workshop, nest):
    oil, batter, _ = nest
    assert "Raw soap burns skin and eyes" in page_of(client_of(viewer), batter)
    assert "Raw soap" not in page_of(client_of(viewer), oil)


def test_the_page_of_a_lot_of_many_parts_takes_few_queries(
    client_of, viewer, workshop, django_assert_max_num_queries
):
    lot = MadeLotFactory(parts=[(MadeLotFactory(), 10) for _ in range(12)])
    phone = client_of(viewer)
    with django_assert_max_num_queries(15):
        assert page_of(phone, lot).count("Itself made of:") == 12
