from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from batches.models import Line, Weighing
from batches.services.errors import AlreadyWeighed
from batches.services.weighing import add_to_pot, undo_weighing, weigh
from inventory.models import Lot
from inventory.services.ledger import NotEnough
from tests.batches.bench import Bench, bench
from tests.factories import ViewerFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Bench:
    return bench()


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
