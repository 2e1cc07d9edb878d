"""Bars become embeds, and embeds are counted wherever other things are weighed."""

import re
from dataclasses import replace
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse
from django.utils import timezone

from batches.models import BarMovement
from batches.services.bars import bring_back, make_embeds, recount, take_bars
from batches.services.cure import cut
from batches.services.deeds import Result, receive
from batches.services.pour import pour
from batches.services.told import Add, Told
from batches.services.weighing import add_to_pot, mix_lye
from batches.splitting import batter_of
from inventory.models import Kind, Lot, Material
from inventory.services.ledger import NotReversible
from recipes.design import Part
from recipes.models import Destination, Stage
from recipes.services import create_recipe
from tests.bad_input import SCRIPT
from tests.batches.kept import split_batch, split_design, weighed_in, within
from tests.batches.pages import address, line_of, weigh, words
from tests.factories import LotFactory, MaterialFactory, WorkshopFactory

pytestmark = pytest.mark.django_db

HUNDREDTH = Decimal("0.01")


@pytest.fixture
def star(db):
    return MaterialFactory(embed=True, name="Star")


@pytest.fixture
def cure(shop, batch):
    return cut_up(shop, pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True))


def cut_up(shop, batch):
    today = timezone.localdate()
    return cut(cure=batch.cure, on=today, bars=10, trimmings=Decimal(20), key=uuid4(), by=shop.maker)


def made(shop, cure, **changed):
    said = {"count": 2, "pieces": Decimal(30), "key": uuid4(), "by": shop.maker}
    return make_embeds(cure=cure, **{**said, **changed})


# Out of bars


def test_bars_leave_the_shelf_and_become_pieces_of_an_embed(shop, cure, star):
    lot = made(shop, cure, material=star)
    cure.refresh_from_db()
    assert cure.bars_left == 8
    movement = cure.bar_movements.first()
    assert (movement.kind, movement.count, movement.reason) == (BarMovement.Kind.EMBEDS, -2, "Star")
    assert (lot.material, lot.on_hand, lot.quantity) == (star, 30, 30)
    assert lot.movements.get().document == cure.batch.code


def test_every_lot_of_the_batch_is_in_them_in_proportion_with_its_cost(shop, cure, star):
    lot = made(shop, cure, material=star)
    put = weighed_in(cure.batch)
    inside = within(lot)
    assert inside.keys() == put.keys()
    assert all(abs(inside[code] - put[code] / 5) <= HUNDREDTH for code in put)
    assert lot.cost == pytest.approx(cure.batch.cost / 5, abs=HUNDREDTH * 2)


def test_what_was_kept_back_is_not_in_the_bars(shop, star):
    batch = split_batch(shop)
    lot = made(shop, cut_up(shop, batch), count=10, material=star)
    light = batch.jugs.get(name="Light")
    stirred_in = sum(weighing.quantity for weighing in light.weighings.all())
    assert abs(sum(within(lot).values()) - light.grams - stirred_in) < 1
    assert shop.lots["Charcoal"].code not in within(lot)


def test_what_went_on_top_of_the_bars_is_in_them(shop, star):
    flowers = MaterialFactory(embed=True, name="Flower")
    petals = LotFactory(material=flowers, quantity=100, by=shop.maker)
    batch = split_batch(shop, Part(flowers, Decimal(2)))
    lot = made(shop, cut_up(shop, batch), count=5, material=star)
    assert within(lot)[petals.code] == 10


def test_what_is_too_little_to_be_weighed_is_left_out(shop, batch, star):
    gold = LotFactory(material=MaterialFactory(colour_=True), quantity=5, by=shop.maker)
    add_to_pot(batch=batch, lot=gold, quantity=Decimal("0.04"), key=uuid4(), by=shop.maker)
    cure = cut_up(shop, pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True))
    assert gold.code not in within(made(shop, cure, count=1, material=star))
    assert gold.code in within(made(shop, cure, count=9, material=star))


def test_of_a_batch_that_all_went_into_other_moulds_the_bars_are_those(shop, star):
    batch = split_batch(shop)
    batch.jugs.filter(name="Light").update(destination=Destination.OTHER)
    lot = made(shop, cut_up(shop, batch), count=10, material=star)
    assert sum(within(lot).values()) > 1000


def test_a_new_embed_is_made_on_the_way(shop, cure):
    said = {"name": "Moon", "colour": "#c9a227", "piece_grams": Decimal(8), "piece_length": Decimal(20)}
    moon = made(shop, cure, **said).material
    assert (moon.kind, moon.name, moon.colour, moon.piece_grams) == (Kind.EMBED, "Moon", "#c9a227", 8)


def test_made_twice_with_one_key_they_count_once(shop, cure, star):
    key = uuid4()
    assert made(shop, cure, material=star, key=key) == made(shop, cure, material=star, key=key)
    cure.refresh_from_db()
    assert cure.bars_left == 8


def test_bars_that_were_counted_up_hold_no_more_than_the_batch(shop, cure, star):
    recount(cure=cure, counted=12, reason="two more", key=uuid4(), by=shop.maker)
    lot = made(shop, cure, count=12, material=star)
    assert within(lot) == weighed_in(cure.batch)


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("count", {"count": 0}),
        ("count", {"count": 11}),
        ("pieces", {"pieces": Decimal(0)}),
        ("pieces", {"pieces": Decimal("1.5")}),
        ("pieces", {"pieces": Decimal("NaN")}),
        ("name", {"name": " "}),
        ("name", {"name": "Olive oil"}),
        ("piece_grams", {"name": "Moon", "piece_grams": Decimal(-1)}),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(shop, cure, field, changed):
    with pytest.raises(ValidationError) as refused:
        made(shop, cure, **changed)
    assert refused.value.error_dict.keys() == {field}
    cure.refresh_from_db()
    assert cure.bars_left == 10


def test_only_an_embed_can_be_made_of_bars(shop, cure):
    with pytest.raises(ValidationError, match="no embed"):
        made(shop, cure, material=shop.materials["Olive oil"])


def test_before_the_cut_and_for_a_viewer_nothing_is_made(shop, batch, star, viewer):
    whole = pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True).cure
    with pytest.raises(ValidationError, match="before it is cut"):
        made(shop, whole, material=star)
    with pytest.raises(PermissionDenied):
        made(shop, whole, material=star, by=viewer)


# And back


def test_brought_back_the_pieces_go_and_the_bars_are_there_again(shop, cure, star):
    lot = made(shop, cure, material=star)
    taken = cure.bar_movements.get(kind=BarMovement.Kind.EMBEDS)
    for _ in range(2):
        bring_back(movement=taken, key=uuid4(), by=shop.maker, reason="Not cut up after all")
    cure.refresh_from_db()
    assert cure.bars_left == 10
    assert Lot.objects.get(pk=lot.pk).on_hand == 0
    assert not lot.parts.exists()


def test_once_pieces_were_used_the_bars_stay_gone(shop, cure, star):
    made(shop, cure, material=star)
    design = split_design(shop, Part(star, Decimal(1)))
    version = create_recipe(name="With stars", design=design, cure_days=28, by=shop.maker)
    pour(batch=shop.plan(version=version), key=uuid4(), by=shop.maker, as_planned=True)
    taken = cure.bar_movements.get(kind=BarMovement.Kind.EMBEDS)
    with pytest.raises(NotReversible, match="went into"):
        bring_back(movement=taken, key=uuid4(), by=shop.maker, reason="Slip")
    cure.refresh_from_db()
    assert cure.bars_left == 8


def test_bars_that_were_counted_cannot_be_brought_back(shop, cure):
    counted = recount(cure=cure, counted=9, reason="one fell", key=uuid4(), by=shop.maker)
    with pytest.raises(ValidationError, match="taken off"):
        bring_back(movement=counted, key=uuid4(), by=shop.maker, reason="Slip")


# The page


def url_of(cure):
    return reverse("batches:make_embeds", args=[cure.batch_id])


def sent(**changed):
    return {"count": "2", "pieces": "30", "key": str(uuid4()), **changed}


def test_embeds_are_made_on_the_page_and_the_way_back_stands_at_the_bars(shop, cure, star, client_of):
    client = client_of(shop.maker)
    assert url_of(cure) in client.get(address("batch", cure.batch)).content.decode()
    answer = client.post(url_of(cure), sent(material=star.pk))
    assert "30 pieces of Star are in stock" in words(client.get(answer.url))
    taken = cure.bar_movements.get(kind=BarMovement.Kind.EMBEDS)
    back = reverse("batches:bring_back", args=[taken.pk])
    page = client.get(address("batch", cure.batch))
    assert back in page.content.decode()
    assert "Made into embeds" in words(page)
    assert client.get(back).status_code == 200
    client.post(back, {"key": str(uuid4()), "reason": "Slip"})
    cure.refresh_from_db()
    assert cure.bars_left == 10


def test_a_new_embed_is_named_on_the_page(shop, cure, client_of):
    form = sent(name="Moon", colour="#112233", piece_grams="8", piece_length="2 cm")
    assert client_of(shop.maker).post(url_of(cure), form).status_code == 302
    moon = Material.objects.get(name="Moon")
    assert (moon.colour, moon.piece_grams, moon.piece_length) == ("#112233", 8, 20)


@pytest.mark.parametrize(
    ("field", "bad"),
    [
        *[("count", bad) for bad in ("", "0", "-1", "11", "1.5", "NaN", "🧼")],
        *[("pieces", bad) for bad in ("", "0", "-1", "1.5", "3 g", "NaN", "9" * 50, "🧼")],
        *[("material", bad) for bad in ("x", "987654321")],
        *[("name", bad) for bad in ("", "x" * 10_000, "a\0b")],
        *[("colour", bad) for bad in ("red", "#12", f"#123456{SCRIPT}")],
        *[("piece_grams", bad) for bad in ("0", "-1", "NaN", "1e99")],
        *[("piece_length", bad) for bad in ("0", "-1", "9 km")],
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_what_was_typed_stays(shop, cure, client_of, field, bad):
    form = sent(name="Moon & star") | {field: bad}
    page = client_of(shop.maker).post(url_of(cure), form)
    assert page.status_code == 422
    assert page.context["form"].errors.keys() == {field}
    assert field == "name" or "Moon &amp; star" in page.content.decode()
    cure.refresh_from_db()
    assert cure.bars_left == 10


def test_an_embed_and_a_new_name_together_are_refused(shop, cure, star, client_of):
    page = client_of(shop.maker).post(url_of(cure), sent(material=star.pk, name="Moon"))
    assert page.context["form"].errors.keys() == {"name"}


def test_before_the_cut_and_after_the_last_bar_the_page_says_so(shop, cure, client_of):
    client = client_of(shop.maker)
    whole = pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True).cure
    assert "still to be cut" in words(client.get(url_of(whole)))
    take_bars(cure=cure, count=10, kind=BarMovement.Kind.SOLD, key=uuid4(), by=shop.maker)
    assert "No bars of this batch are left" in words(client.get(url_of(cure)))


# Counted at the bench


@pytest.fixture
def starred(shop, star):
    """A batch with three stars to a bar; two lots of them, the first of twenty."""
    for pieces in (20, 100):
        LotFactory(material=star, quantity=pieces, by=shop.maker)
    version = create_recipe(name="Stars", design=with_stars(shop, star), cure_days=28, by=shop.maker)
    return shop.plan(version=version)


def with_stars(shop, star):
    design = split_design(shop, Part(star, Decimal(3)))
    return replace(design, portions=())


def test_the_bench_asks_for_pieces_in_large_figures(shop, starred, star, client_of):
    page = client_of(shop.maker).get(address("weigh", starred), {"line": line_of(starred, "Star").pk})
    shown = words(page)
    assert "Now count" in shown
    assert "<b>20</b> <small>pieces</small>" in page.content.decode()
    assert "The rest, 10 pieces , comes from the next" in shown
    assert 'name="quantity" value="20"' in page.content.decode()
    assert "30 g" not in shown


def test_pieces_are_noted_whatever_the_units(shop, starred, star, client_of):
    WorkshopFactory(units="us")
    client = client_of(shop.maker)
    weigh(client, starred, "Star", "20", more_to_come="on")
    line = line_of(starred, "Star")
    assert line.weighings.get().quantity == 20
    other = star.lots.order_by("-pk")[0]
    weigh(client, starred, "Star", "10 pieces", lot=other.pk)
    page = words(client.get(address("weigh", starred), {"line": line.pk}))
    assert "20 pieces" in page
    assert "10 pieces" in page


@pytest.mark.parametrize("bad", ["", "0", "-3", "1.5", "20 g", "NaN", "🧼", "9" * 10_000])
def test_pieces_that_cannot_be_are_refused(shop, starred, client_of, bad):
    page = weigh(client_of(shop.maker), starred, "Star", bad)
    assert page.status_code == 422
    assert page.context["form"].errors.keys() == {"quantity"}


def test_lots_are_told_in_pieces(shop, starred, client_of):
    asked = {"line": line_of(starred, "Star").pk, "show": "lots"}
    page = words(client_of(shop.maker).get(address("weigh", starred), asked))
    assert "Star, 30 pieces" in page
    assert "100 pieces" in page


def test_from_plan_to_record_pieces_are_no_grams(shop, starred, client_of):
    client = client_of(shop.maker)
    plan = words(client.get(reverse("batches:plan", args=[starred.version_id])))
    confirm = words(client.get(address("confirm", starred), {"as_planned": "on"}))
    pour(batch=starred, key=uuid4(), by=shop.maker, as_planned=True)
    record = words(client.get(address("batch", starred)))
    undo = words(client.get(address("undo", starred)))
    for page in (plan, confirm, record):
        assert "30 pieces" in page
        assert not re.search(r"(?<![\d.])30 g\b", page)
    assert "20 pieces" in undo


def test_what_goes_on_top_is_not_in_the_pot(shop, starred, client_of):
    client = client_of(shop.maker)
    pouring = client.get(address("confirm", starred), {"as_planned": "on"}).context["pouring"]
    assert pouring.total == sum(line.total for line in pouring.lines) - 30


def test_with_too_few_pieces_the_plan_says_how_many_are_missing(shop, starred, star, client_of):
    Lot.objects.filter(material=star, quantity=100).update(on_hand=0)
    client = client_of(shop.maker)
    plan = words(client.get(reverse("batches:plan", args=[starred.version_id])))
    assert "10 pieces short" in plan
    confirm = words(client.get(address("confirm", starred), {"as_planned": "on"}))
    assert "10 pieces short" in confirm
    Lot.objects.filter(material=star).update(on_hand=0)
    bench = client.get(address("weigh", starred), {"line": line_of(starred, "Star").pk})
    assert "30 pieces missing" in words(bench)


def test_the_record_explains_pieces_and_their_price(shop, starred, client_of):
    pour(batch=starred, key=uuid4(), by=shop.maker, as_planned=True)
    page = client_of(shop.maker).get(address("batch", starred))
    stars = next(one for one in page.context["how_planned"] if one.name == "Star")
    assert stars.figure.replace("\xa0", " ") == "30 pieces"
    cost = next(one for one in page.context["how"] if "cost" in one.name.lower())
    assert any("each" in entry.figure for entry in cost.entries)


# Added at the bench


def test_embeds_added_at_the_bench_go_on_top_in_pieces(shop, batch, star, client_of):
    LotFactory(material=star, quantity=50, by=shop.maker)
    WorkshopFactory(units="us")
    client = client_of(shop.maker)
    assert "Of embeds, the number of pieces" in words(client.get(address("add_to_pot", batch)))
    lot = star.lots.get()
    form = {"lot": lot.pk, "quantity": "12", "key": str(uuid4())}
    assert client.post(address("add_to_pot", batch), form).status_code == 302
    line = line_of(batch, "Star")
    assert (line.stage, line.extra, line.weighings.get().quantity) == (Stage.TOP, True, 12)
    form |= {"quantity": "1.5", "key": str(uuid4())}
    page = client.post(address("add_to_pot", batch), form)
    assert page.context["form"].errors.keys() == {"quantity"}


def test_embeds_do_not_make_the_bucket_heavier(shop, batch, star):
    lot = LotFactory(material=star, quantity=50, by=shop.maker)
    before = batter_of(batch.lines.prefetch_related("weighings"))
    add_to_pot(batch=batch, lot=lot, quantity=Decimal(12), key=uuid4(), by=shop.maker)
    assert batter_of(batch.lines.prefetch_related("weighings")) == before


def test_half_a_piece_is_refused_from_a_phone_too(shop, batch, star):
    lot = LotFactory(material=star, quantity=50, by=shop.maker)
    mix_lye(batch=batch, by=shop.maker)
    half = Told(key=uuid4(), at=timezone.now(), content=Add(lot=lot.pk, quantity=Decimal("1.5")))
    with pytest.raises(ValidationError, match="whole pieces"):
        receive(batch=batch, told=half, by=shop.maker)
    three = Told(key=uuid4(), at=timezone.now(), content=Add(lot=lot.pk, quantity=Decimal(3)))
    assert receive(batch=batch, told=three, by=shop.maker) == Result.DONE
    assert line_of(batch, "Star").weighings.get().quantity == 3
