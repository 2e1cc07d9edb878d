from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import Batch, Cure, CureNote, State, Weighing
from batches.services.cure import cut
from batches.services.errors import AlreadyCut, NotOpen, NotSafe, StillToWeigh
from batches.services.pour import pour, undo_pour
from batches.services.weighing import add_to_pot, weigh
from inventory.models import Lot, Movement
from inventory.services.ledger import NotEnough
from inventory.services.lots import update_lot
from inventory.services.reconcile import reconcile
from recipes.formulation import Size
from recipes.models import Version
from tests.batches.bench import bench, recipe
from tests.core.pictures import jpeg, upload
from tests.factories import OwnerFactory, ViewerFactory

pytestmark = pytest.mark.django_db


def poured(shop, **fields) -> Batch:
    return pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True, **fields)


def test_a_pour_takes_exactly_the_planned_weights_out_of_each_lot():
    shop = bench()

    poured(shop)

    assert {name: shop.on_hand(name) for name in shop.lots} == {
        "Olive oil": Decimal(4550),
        "Coconut oil": Decimal(4750),
        "Palm oil": Decimal(4750),
        "Castor oil": Decimal(4950),
        "Lye": Decimal(4857),
        "Water": Decimal(4709),
        "Scent": Decimal(4980),
    }
    assert reconcile() == []


def test_a_pour_takes_exactly_what_the_scale_showed():
    shop = bench()
    batch = shop.plan()
    for line in batch.lines.select_related("material"):
        shown = line.planned + 3 if line.material.name == "Olive oil" else line.planned
        weigh(line=line, lot=shop.lots[line.material.name], quantity=shown, key=uuid4(), by=shop.maker)

    pour(batch=batch, key=uuid4(), by=shop.maker)

    assert shop.on_hand("Olive oil") == Decimal(4547)
    assert shop.on_hand("Coconut oil") == Decimal(4750)


def test_a_pour_opens_one_cure_record_with_its_ready_day():
    shop = bench()

    batch = poured(shop)

    cure = Cure.objects.get()
    assert (cure.batch, cure.started_on) == (batch, timezone.localdate())
    # 28 days from the cut, which is expected on the day after the pour.
    assert cure.ready_on == timezone.localdate() + timedelta(days=29)


def test_the_first_photo_and_words_become_the_first_note():
    batch = poured(bench(), words="Smooth, light trace", photo=upload(jpeg()))

    note = CureNote.objects.get()
    assert (note.cure, note.words) == (batch.cure, "Smooth, light trace")
    assert note.photo is not None


def test_a_file_that_is_no_picture_stops_the_pour_and_nothing_is_written():
    shop = bench()

    with pytest.raises(ValidationError) as refused:
        poured(shop, photo=upload(b"these are words"))

    assert "photo" in refused.value.message_dict
    assert not Cure.objects.exists()
    assert shop.on_hand("Olive oil") == Decimal(5000)


def test_a_pour_sent_twice_counts_once():
    shop, key = bench(), uuid4()
    batch = shop.plan()

    first = pour(batch=batch, key=key, by=shop.maker, as_planned=True)
    second = pour(batch=batch, key=key, by=shop.maker, as_planned=True)

    assert first == second
    assert shop.on_hand("Olive oil") == Decimal(4550)
    assert Cure.objects.count() == 1


def test_a_batch_that_another_phone_poured_is_refused():
    shop = bench()
    batch = shop.plan()
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    with pytest.raises(NotOpen, match="poured"):
        pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)


def test_lines_without_a_weight_are_named():
    shop = bench()
    batch = shop.plan()
    line = batch.lines.get(material__name="Olive oil")
    weigh(line=line, lot=shop.lots["Olive oil"], quantity=line.planned, key=uuid4(), by=shop.maker)

    with pytest.raises(StillToWeigh, match="Coconut oil, Palm oil, Castor oil, Water, Lye, Scent"):
        pour(batch=batch, key=uuid4(), by=shop.maker)


def test_a_lot_that_runs_out_is_followed_by_the_next_to_expire():
    shop = bench()
    update_lot(
        lot=shop.lots["Olive oil"], by=shop.maker, best_before=timezone.localdate() + timedelta(days=90)
    )
    small = shop.lot("Olive oil", quantity=300, best_before=timezone.localdate() + timedelta(days=9))

    batch = poured(shop)

    used = [
        (w.lot, w.quantity)
        for w in Weighing.objects.filter(line__material__name="Olive oil", line__batch=batch)
    ]
    assert sorted(used, key=lambda use: use[1]) == [(shop.lots["Olive oil"], 150), (small, 300)]


def test_an_expired_lot_is_not_used():
    shop = bench()
    Lot.objects.filter(pk=shop.lots["Olive oil"].pk).update(
        best_before=timezone.localdate() - timedelta(days=1)
    )

    with pytest.raises(ValidationError, match="no Olive oil"):
        poured(shop)


def test_a_pour_larger_than_the_stock_is_refused_and_nothing_is_taken():
    shop = bench(quantity=400)

    with pytest.raises(NotEnough, match="Olive oil"):
        poured(shop)

    assert not Movement.objects.filter(kind=Movement.Kind.POURED).exists()
    assert not Cure.objects.exists()


def test_the_version_is_closed_to_changes_by_its_first_pour():
    shop = bench()

    poured(shop)
    poured(shop)

    version = Version.objects.get(pk=shop.version.pk)
    assert (version.is_poured, version.pours) == (True, 2)


def test_the_record_keeps_lots_weights_values_and_cost():
    shop = bench()

    batch = poured(shop)

    frozen = FrozenRecipe.from_json(batch.frozen)
    olive = next(line for line in frozen.lines if line.name == "Olive oil")
    assert (olive.planned, olive.used[0].quantity, olive.used[0].lot) == (
        450,
        450,
        shop.lots["Olive oil"].code,
    )
    # Every lot is 5 kg for 40.00; 1,454 g went in.
    assert batch.cost == Decimal("11.63")


def test_the_superfat_of_what_is_in_the_pot_is_kept():
    shop = bench()
    batch = shop.plan()
    for line in batch.lines.select_related("material"):
        shown = line.planned - 5 if line.material.name == "Lye" else line.planned
        weigh(line=line, lot=shop.lots[line.material.name], quantity=shown, key=uuid4(), by=shop.maker)

    batch = pour(batch=batch, key=uuid4(), by=shop.maker)

    # By hand: 1 - 138 · 0.985 / 39.997 · 56.106 · 1000 / 208575 = 0.0858
    assert float(batch.superfat) == pytest.approx(8.58, abs=0.01)


def test_a_lye_heavy_pot_is_not_poured_by_a_maker_even_with_a_reason():
    shop = bench(superfat=-2)

    with pytest.raises(NotSafe):
        poured(shop, stop_reason="Laundry soap")

    assert shop.on_hand("Olive oil") == Decimal(5000)


def test_an_owner_may_pour_a_lye_heavy_pot_with_a_reason_that_is_kept():
    shop = bench(superfat=-2)
    owner = OwnerFactory()

    with pytest.raises(NotSafe):
        pour(batch=shop.plan(), key=uuid4(), by=owner, as_planned=True)
    batch = pour(batch=shop.plan(), key=uuid4(), by=owner, as_planned=True, stop_reason="Laundry soap")

    assert (batch.verdict, batch.stop_reason) == ("stop", "Laundry soap")


def test_a_fat_added_at_the_bench_leaves_stock_and_stands_in_the_record():
    shop = bench()
    batch = shop.plan()
    extra = shop.lots["Castor oil"]
    for line in batch.lines.select_related("material"):
        weigh(line=line, lot=shop.lots[line.material.name], quantity=line.planned, key=uuid4(), by=shop.maker)
    add_to_pot(batch=batch, lot=extra, quantity=Decimal(25), key=uuid4(), by=shop.maker)

    batch = pour(batch=batch, key=uuid4(), by=shop.maker)

    assert shop.on_hand("Castor oil") == Decimal(4925)
    castor = next(line for line in FrozenRecipe.from_json(batch.frozen).lines if line.name == "Castor oil")
    assert sum(use.quantity for use in castor.used) == 75


def test_a_pour_logged_afterwards_stands_at_its_own_time():
    shop = bench()
    yesterday = timezone.now() - timedelta(days=1)

    batch = poured(shop, at=yesterday)

    assert batch.poured_at == yesterday
    assert batch.cure.started_on == timezone.localdate(yesterday)
    assert {m.at for m in Movement.objects.filter(kind=Movement.Kind.POURED)} == {yesterday}


def test_a_pour_in_the_future_is_refused():
    with pytest.raises(ValidationError, match="not come yet"):
        poured(bench(), at=timezone.now() + timedelta(hours=1))


def test_undoing_a_pour_puts_everything_back_and_closes_the_cure():
    shop = bench()
    batch = undo_pour(batch=poured(shop), reason="Wrong recipe", by=shop.maker)

    assert {name: shop.on_hand(name) for name in shop.lots} == dict.fromkeys(shop.lots, Decimal(5000))
    assert batch.state == State.UNDONE
    assert Cure.objects.get().ended_at is not None
    assert reconcile() == []


def test_undoing_twice_puts_back_once():
    shop = bench()
    batch = poured(shop)

    undo_pour(batch=batch, reason="Wrong recipe", by=shop.maker)
    undo_pour(batch=batch, reason="Wrong recipe", by=shop.maker)

    assert shop.on_hand("Olive oil") == Decimal(5000)


def test_an_undone_version_stays_closed_to_changes_but_counts_no_pour():
    shop = bench()
    undo_pour(batch=poured(shop), reason="Wrong recipe", by=shop.maker)

    version = Version.objects.get(pk=shop.version.pk)
    assert (version.is_poured, version.pours) == (True, 0)


def test_a_batch_that_is_cut_cannot_be_undone():
    shop = bench()
    batch = poured(shop)
    cut(cure=batch.cure, on=timezone.localdate(), bars=10, trimmings=Decimal(30), key=uuid4(), by=shop.maker)

    with pytest.raises(AlreadyCut):
        undo_pour(batch=batch, reason="Wrong recipe", by=shop.maker)


def test_viewers_neither_pour_nor_undo():
    shop = bench()
    viewer = ViewerFactory()

    with pytest.raises(PermissionDenied):
        pour(batch=shop.plan(), key=uuid4(), by=viewer, as_planned=True)
    with pytest.raises(PermissionDenied):
        undo_pour(batch=poured(shop), reason="Why not", by=viewer)


def test_a_part_weighed_lot_is_not_counted_twice_when_the_rest_is_filled_in_as_planned():
    shop = bench()
    small = shop.lot("Olive oil", quantity=300, best_before=timezone.localdate() + timedelta(days=9))
    batch = shop.plan()
    line = batch.lines.get(material__name="Olive oil")
    weigh(line=line, lot=small, quantity=Decimal(300), key=uuid4(), by=shop.maker, more_to_come=True)

    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    assert Lot.objects.get(pk=small.pk).on_hand == 0
    assert shop.on_hand("Olive oil") == Decimal(4850)


def test_two_recipes_share_a_shelf():
    shop = bench()
    other = recipe(shop.materials, by=shop.maker, name="The same again", fats=500)

    poured(shop)
    pour(batch=shop.plan(version=other, size=Size()), key=uuid4(), by=shop.maker, as_planned=True)

    assert shop.on_hand("Olive oil") == Decimal(5000 - 450 - 225)
