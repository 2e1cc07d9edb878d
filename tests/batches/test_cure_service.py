from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from batches.models import BarMovement, Batch, Cure, CureNote, State, WeighIn
from batches.services.bars import bring_back, recount, take_bars
from batches.services.cure import add_note, cut, unmould, weigh_in
from batches.services.errors import AlreadyCut
from batches.services.pour import pour, undo_pour
from recipes.models import Stage
from tests.core.pictures import jpeg, upload
from tests.factories import LotFactory, MaterialFactory, ViewerFactory

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate
SOLD = BarMovement.Kind.SOLD


@pytest.fixture
def cure(shop) -> Cure:
    """Poured two days ago."""
    poured_at = timezone.now() - timedelta(days=2)
    return pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True, at=poured_at).cure


@pytest.fixture
def cut_cure(shop, cure) -> Cure:
    """Cut yesterday into ten bars."""
    yesterday = TODAY() - timedelta(days=1)
    return cut(cure=cure, on=yesterday, bars=10, trimmings=Decimal(40), key=uuid4(), by=shop.maker)


def test_the_cure_days_count_from_the_cut(shop, cure):
    late = cut(cure=cure, on=TODAY(), bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)

    assert late.ready_on == TODAY() + timedelta(days=28)
    assert (late.bars_cut, late.bars_left, late.unmoulded_on) == (10, 10, TODAY())
    assert Batch.objects.get().state == State.CUT


def test_a_cut_sent_twice_counts_once(shop, cure):
    key = uuid4()
    for _ in range(2):
        cut(cure=cure, on=TODAY(), bars=10, trimmings=Decimal(0), key=key, by=shop.maker)

    assert Cure.objects.get().bar_movements.total() == 10


def test_a_batch_is_cut_once(shop, cut_cure):
    with pytest.raises(AlreadyCut):
        cut(cure=cut_cure, on=TODAY(), bars=9, trimmings=Decimal(0), key=uuid4(), by=shop.maker)


@pytest.mark.parametrize("days", [-3, 1])
def test_a_day_before_the_pour_or_in_the_future_is_refused(shop, cure, days):
    day = TODAY() + timedelta(days=days)

    with pytest.raises(ValidationError) as refused:
        unmould(cure=cure, on=day, by=shop.maker)
    assert "on" in refused.value.message_dict
    with pytest.raises(ValidationError):
        cut(cure=cure, on=day, bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)


def test_a_cut_without_bars_is_refused(shop, cure):
    with pytest.raises(ValidationError) as refused:
        cut(cure=cure, on=TODAY(), bars=0, trimmings=Decimal(0), key=uuid4(), by=shop.maker)

    assert "bars" in refused.value.message_dict


@pytest.mark.parametrize(("beyond", "taken"), [(-1, True), (1, False)])
def test_pieces_on_top_count_by_what_they_weigh(shop, batch, beyond, taken):
    material = MaterialFactory(embed=True, piece_grams=Decimal(12))
    lot = LotFactory(material=material, quantity=100, by=shop.maker)
    batch.lines.create(material=material, planned=10, position=50, stage=Stage.TOP)
    poured = pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
    assert lot.movements.count() == 2
    pot = sum(line.planned for line in batch.lines.exclude(stage=Stage.TOP))
    weight = pot + 10 * 12 + beyond
    sent = {"on": TODAY(), "bars": 10, "trimmings": Decimal(0), "key": uuid4(), "by": shop.maker}

    if taken:
        assert cut(cure=poured.cure, bars_weight=weight, **sent).bars_weight == weight
    else:
        with pytest.raises(ValidationError) as caught:
            cut(cure=poured.cure, bars_weight=weight, **sent)
        assert "bars_weight" in caught.value.message_dict


def test_a_note_stands_when_its_photo_was_taken_if_that_was_in_the_cure(shop, cure):
    note = add_note(cure=cure, words="", photo=upload(jpeg()), key=uuid4(), by=shop.maker)

    assert note.photo is not None
    assert note.at == note.photo.taken_at


def test_a_note_sent_twice_counts_once(shop, cure):
    key = uuid4()
    for _ in range(2):
        add_note(cure=cure, words="Darker", photo=upload(jpeg()), key=key, by=shop.maker)

    assert CureNote.objects.count() == 1


def test_an_empty_note_is_refused(shop, cure):
    with pytest.raises(ValidationError) as refused:
        add_note(cure=cure, words="", photo=None, key=uuid4(), by=shop.maker)

    assert "words" in refused.value.message_dict


def test_bars_are_weighed_once_they_are_cut(shop, cure):
    fields = {"on": TODAY(), "grams": Decimal(300), "bars": 3, "by": shop.maker}
    with pytest.raises(ValidationError, match="cut"):
        weigh_in(cure=cure, key=uuid4(), **fields)

    cut(cure=cure, on=TODAY(), bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)
    key = uuid4()
    for _ in range(2):
        weigh_in(cure=cure, key=key, **fields)

    assert WeighIn.objects.get().bar_weight == 100


@pytest.mark.parametrize("bars", [0, 11])
def test_no_more_bars_are_weighed_than_there_are(shop, cut_cure, bars):
    with pytest.raises(ValidationError) as refused:
        weigh_in(cure=cut_cure, on=TODAY(), grams=Decimal(300), bars=bars, key=uuid4(), by=shop.maker)

    assert "bars" in refused.value.message_dict


def test_nothing_is_added_to_the_cure_of_an_undone_pour(shop, cure):
    undo_pour(batch=cure.batch, reason="Wrong mould", by=shop.maker)

    with pytest.raises(ValidationError, match="undone"):
        cut(cure=cure, on=TODAY(), bars=10, trimmings=Decimal(0), key=uuid4(), by=shop.maker)
    with pytest.raises(ValidationError, match="undone"):
        add_note(cure=cure, words="Still here", photo=None, key=uuid4(), by=shop.maker)


def test_bars_leave_the_shelf_once_and_can_come_back_once(shop, cut_cure):
    key = uuid4()
    for _ in range(2):
        sold = take_bars(cure=cut_cure, count=4, kind=SOLD, key=key, by=shop.maker)
    assert Cure.objects.get().bars_left == 6

    for _ in range(2):
        bring_back(movement=sold, key=uuid4(), by=shop.maker, reason="Returned")
    assert Cure.objects.get().bars_left == 10
    assert cut_cure.bar_movements.total() == 10


@pytest.mark.parametrize("count", [0, -1, 11])
def test_no_more_bars_leave_than_there_are(shop, cut_cure, count):
    with pytest.raises(ValidationError) as refused:
        take_bars(cure=cut_cure, count=count, kind=SOLD, key=uuid4(), by=shop.maker)

    assert "count" in refused.value.message_dict
    assert Cure.objects.get().bars_left == 10


def test_counting_again_books_the_difference(shop, cut_cure):
    recount(cure=cut_cure, counted=8, reason="Two broke", key=uuid4(), by=shop.maker)

    assert Cure.objects.get().bars_left == 8
    assert recount(cure=cut_cure, counted=8, reason="Sure", key=uuid4(), by=shop.maker) is None
    with pytest.raises(ValidationError):
        recount(cure=cut_cure, counted=-1, reason="Less than none", key=uuid4(), by=shop.maker)


def test_the_cut_itself_cannot_be_brought_back(shop, cut_cure):
    with pytest.raises(ValidationError):
        bring_back(movement=cut_cure.bar_movements.get(), key=uuid4(), by=shop.maker, reason="Hm")


def test_viewers_change_nothing_on_the_rack(cut_cure):
    viewer = ViewerFactory()

    with pytest.raises(PermissionDenied):
        unmould(cure=cut_cure, on=TODAY(), by=viewer)
    with pytest.raises(PermissionDenied):
        add_note(cure=cut_cure, words="Hello", photo=None, key=uuid4(), by=viewer)
    with pytest.raises(PermissionDenied):
        weigh_in(cure=cut_cure, on=TODAY(), grams=Decimal(300), bars=1, key=uuid4(), by=viewer)
    with pytest.raises(PermissionDenied):
        take_bars(cure=cut_cure, count=1, kind=SOLD, key=uuid4(), by=viewer)
    with pytest.raises(PermissionDenied):
        recount(cure=cut_cure, counted=1, reason="Why", key=uuid4(), by=viewer)
