from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from batches.models import Line, Weighing
from batches.services.errors import AlreadyWeighed, VesselChanged
from batches.services.weighing import add_to_pot, leave, mix_lye, undo_weighing, weigh
from inventory.models import Kind, Lot
from inventory.services.ledger import NotEnough
from soapshop.core.queries import history_of
from tests.batches.bench import Bench
from tests.factories import ViewerFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def olive(shop) -> Line:
    return shop.plan().lines.get(material__name="Olive oil")


def weighed(shop: Bench, line: Line, quantity: str = "450", **fields) -> Weighing:
    fields = {"lot": shop.lots["Olive oil"], "key": uuid4(), "by": shop.maker, **fields}
    return weigh(line=line, quantity=Decimal(quantity), **fields)


def test_a_weight_sent_twice_counts_once(shop, olive):
    key = uuid4()

    assert weighed(shop, olive, key=key) == weighed(shop, olive, key=key)
    assert Weighing.objects.count() == 1


def test_a_line_that_is_weighed_takes_no_second_weight(shop, olive):
    weighed(shop, olive)

    with pytest.raises(AlreadyWeighed):
        weighed(shop, olive)


@pytest.mark.parametrize("quantity", ["0", "-3"])
def test_a_weight_of_nothing_is_refused(shop, olive, quantity):
    with pytest.raises(ValidationError) as refused:
        weighed(shop, olive, quantity)

    assert "quantity" in refused.value.message_dict


def test_a_lot_of_another_material_is_refused(shop, olive):
    with pytest.raises(ValidationError) as refused:
        weighed(shop, olive, lot=shop.lots["Palm oil"])

    assert "lot" in refused.value.message_dict


def test_an_expired_lot_is_refused(shop, olive):
    lot = shop.lots["Olive oil"]
    Lot.objects.filter(pk=lot.pk).update(best_before=timezone.localdate() - timedelta(days=1))

    with pytest.raises(ValidationError) as refused:
        weighed(shop, olive, lot=Lot.objects.get(pk=lot.pk))

    assert "lot" in refused.value.message_dict


def test_more_than_a_lot_holds_is_refused(shop, olive):
    with pytest.raises(NotEnough):
        weighed(shop, olive, "5001")


def test_a_weight_is_taken_back_once(shop, olive):
    noted = weighed(shop, olive)

    assert undo_weighing(batch=olive.batch, weighing=noted.pk, by=shop.maker) is not None
    assert undo_weighing(batch=olive.batch, weighing=noted.pk, by=shop.maker) is None
    assert not Line.objects.get(pk=olive.pk).done


def test_what_was_added_beyond_the_plan_leaves_no_line_behind(shop, olive):
    scent = shop.lots["Scent"]
    olive.batch.lines.filter(material__name="Scent").delete()
    added = add_to_pot(batch=olive.batch, lot=scent, quantity=Decimal(20), key=uuid4(), by=shop.maker)
    assert added.line.extra

    undo_weighing(batch=olive.batch, weighing=added.pk, by=shop.maker)

    assert not Line.objects.filter(pk=added.line_id).exists()


def test_viewers_weigh_nothing(shop, olive):
    with pytest.raises(PermissionDenied):
        weighed(shop, olive, by=ViewerFactory())


def test_a_weight_is_taken_back_by_the_key_that_a_phone_made(shop, olive):
    noted = weighed(shop, olive)

    assert undo_weighing(batch=olive.batch, key=uuid4(), by=shop.maker) is None
    assert undo_weighing(batch=olive.batch, key=noted.key, by=shop.maker) is not None


# --- by the clock of a phone ----------------------------------------------------------------------


@pytest.fixture
def earlier():
    return timezone.now() - timedelta(hours=3)


def test_each_step_is_noted_at_the_time_when_it_was_done(shop, olive, earlier):
    batch = olive.batch
    scent = shop.lots["Scent"]
    batch.lines.filter(material__name="Scent").delete()

    noted = weighed(shop, olive, at=earlier)
    added = add_to_pot(batch=batch, lot=scent, quantity=Decimal(20), key=uuid4(), by=shop.maker, at=earlier)
    mixed = mix_lye(batch=batch, by=shop.maker, at=earlier)
    leave(line=olive, by=shop.maker, at=earlier)

    assert {noted.at, added.at, mixed.lye_mixed_at} == {earlier}
    told = [entry.what for entry in history_of(batch) if entry.at == earlier]
    assert told == ["Went on without more Olive oil", "Mixed the lye", told[2]]
    assert told[2].startswith("Added 20")


def test_a_clock_that_is_ahead_means_now(shop, olive):
    ahead = timezone.now() + timedelta(days=1)

    assert weighed(shop, olive, at=ahead).at <= timezone.now()
    assert mix_lye(batch=olive.batch, by=shop.maker, at=ahead).lye_mixed_at <= timezone.now()


def test_a_clock_that_was_never_set_is_refused(shop, olive):
    with pytest.raises(ValidationError) as refused:
        weighed(shop, olive, at=timezone.now() - timedelta(days=732))

    assert "at" in refused.value.message_dict
    assert not Weighing.objects.exists()


# --- one on top of the other ----------------------------------------------------------------------


def test_what_goes_on_top_is_noted_by_the_difference_and_marked(shop, olive):
    coconut = olive.batch.lines.get(material__name="Coconut oil")
    first = weighed(shop, olive, on_top_of=Decimal(0))

    second = weighed(shop, coconut, "250", lot=shop.lots["Coconut oil"], on_top_of=Decimal(450))

    assert (first.on_top, second.on_top) == (True, True)
    assert Weighing.objects.in_vessel(olive.batch_id, Kind.FAT) == 700
    assert Weighing.objects.in_vessel(olive.batch_id, Kind.LIQUID) == 0


def test_what_was_weighed_with_a_zeroed_scale_does_not_lie_on_it(shop, olive):
    assert not weighed(shop, olive).on_top
    assert Weighing.objects.in_vessel(olive.batch_id, Kind.FAT) == 0


def test_a_phone_that_counts_on_another_sum_in_the_pot_notes_nothing(shop, olive):
    coconut = olive.batch.lines.get(material__name="Coconut oil")
    weighed(shop, olive, on_top_of=Decimal(0))

    with pytest.raises(VesselChanged):
        weighed(shop, coconut, "250", lot=shop.lots["Coconut oil"], on_top_of=Decimal(0))

    assert Weighing.objects.count() == 1
