"""Batter that is kept back: what is in it, and how it goes into another pour."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batches.frozen import FrozenRecipe
from batches.models import Line, State
from batches.safety import assess_pot, pot_from, pot_of
from batches.scent import scented_with
from batches.services.deeds import Result, receive
from batches.services.errors import FragranceOver
from batches.services.pour import pour, undo_pour
from batches.services.small_batch import pour_kept
from batches.services.told import Add, Told
from batches.services.weighing import add_to_pot, leave, mix_lye, weigh
from batches.splitting import batter_of
from inventory.models import Kind, Lot
from inventory.services.ledger import NotReversible
from recipes.models import Version
from tests.batches.kept import kept_lot, split_batch, weighed_in, within
from tests.batches.pages import address, words
from tests.factories import CertificateFactory, LotFactory, MadeLotFactory, MaterialFactory

pytestmark = pytest.mark.django_db

HALF_A_HUNDREDTH = Decimal("0.005")


@pytest.fixture
def first(shop):
    return split_batch(shop)


@pytest.fixture
def dark(first):
    return kept_lot(first)


@pytest.fixture
def second(shop, first):
    """Another batch, weighed, its lye mixed."""
    batch = shop.plan()
    for line in batch.lines.select_related("material"):
        lot = shop.lots[line.material.name]
        weigh(line=line, lot=lot, quantity=line.planned, key=uuid4(), by=shop.maker)
    return batch


def put_in(shop, batch, lot, grams=100):
    return add_to_pot(batch=batch, lot=lot, quantity=Decimal(grams), key=uuid4(), by=shop.maker)


def lines_of(batch):
    return list(batch.lines.select_related("material").prefetch_related("weighings__lot__material"))


# What is in it


def test_what_is_kept_back_is_a_lot_named_after_jug_and_batch(first, dark):
    assert dark.material.name == f"Dark, batter of {first.code}"
    assert dark.material.kind == Kind.BATTER
    jug = first.jugs.get(name="Dark")
    stirred_in = sum(weighing.quantity for weighing in jug.weighings.all())
    assert dark.on_hand == dark.quantity == jug.grams + stirred_in
    assert dark.best_before == timezone.localdate() + timedelta(days=1)


def test_what_was_stirred_in_is_all_in_it_and_of_the_rest_its_share(shop, first, dark):
    put, inside = weighed_in(first), within(dark)
    jug = first.jugs.get(name="Dark")
    share = jug.grams / batter_of(lines_of(first))
    stirred_in = {weighing.lot.code: weighing.quantity for weighing in jug.weighings.all()}
    assert stirred_in.keys() == {shop.lots["Charcoal"].code, shop.lots["Scent"].code}
    assert inside.keys() == put.keys()
    for code in inside:
        if code in stirred_in:
            assert inside[code] == stirred_in[code]
            continue
        assert abs(inside[code] - put[code] * share) <= HALF_A_HUNDREDTH


@settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(kept=st.integers(1, 60))
def test_what_is_kept_and_what_stays_add_up_to_what_was_weighed(shop, kept):
    batch = split_batch(shop, kept=kept)
    lot = kept_lot(batch)
    inside, put = within(lot), weighed_in(batch)
    assert abs(sum(inside.values()) - lot.quantity) <= HALF_A_HUNDREDTH * len(inside)
    light = batch.jugs.get(name="Light")
    in_light = light.grams + sum(weighing.quantity for weighing in light.weighings.all())
    assert abs(sum(put.values()) - sum(inside.values()) - in_light) <= 1 + HALF_A_HUNDREDTH * len(inside)


# Into another pour


def test_before_the_lye_is_mixed_batter_is_refused_in_words(shop, second, dark):
    with pytest.raises(ValidationError, match="mix the lye first") as refused:
        put_in(shop, second, dark)
    assert refused.value.error_dict.keys() == {"lot"}
    assert not second.lines.filter(material=dark.material).exists()


def test_after_it_the_batter_goes_in_and_the_bucket_grows(shop, second, dark):
    before = batter_of(lines_of(second))
    mix_lye(batch=second, by=shop.maker)
    put_in(shop, second, dark)
    assert batter_of(lines_of(second)) == before + 100
    assert Line.objects.get(batch=second, material=dark.material).extra


def test_the_safety_range_counts_the_fats_and_the_lye_that_are_in_it(shop, second, dark):
    mix_lye(batch=second, by=shop.maker)
    recipe = FrozenRecipe.from_json(second.frozen)
    alone = pot_of(recipe, lines_of(second))
    put_in(shop, second, dark, 200)
    pot = pot_of(recipe, lines_of(second))
    assert sum(fat.grams for fat in pot.fats) > sum(fat.grams for fat in alone.fats)
    assert sum(one.grams for one in pot.alkalis) > sum(one.grams for one in alone.alkalis)
    assert assess_pot(recipe, pot).nominal == pytest.approx(assess_pot(recipe, alone).nominal, abs=0.2)


def test_a_part_of_a_pot_is_as_sure_as_the_pot(shop, first, dark):
    recipe = FrozenRecipe.from_json(first.frozen)
    line = Line(material=dark.material, planned=dark.quantity)
    whole = assess_pot(recipe, pot_of(recipe, lines_of(first)))
    part = assess_pot(recipe, pot_from(recipe, [(line, Decimal(10), dark)]))
    assert part.nominal == pytest.approx(whole.nominal, abs=0.02)
    assert part.worst_low == pytest.approx(whole.worst_low, abs=0.1)


def test_batter_that_nobody_knows_the_pot_of_counts_as_weighed_by_itself(shop, first):
    recipe = FrozenRecipe.from_json(first.frozen)
    lot = MadeLotFactory(parts=[(shop.lots["Olive oil"], 400)])
    line = Line(material=lot.material, planned=lot.quantity)
    (fat,) = pot_from(recipe, [(line, Decimal(250), lot)]).fats
    assert (fat.grams, fat.step) == (200, float(recipe.scale_step))


def test_the_poured_recipe_knows_what_is_in_the_batter(shop, second, dark):
    mix_lye(batch=second, by=shop.maker)
    put_in(shop, second, dark)
    poured = pour(batch=second, key=uuid4(), by=shop.maker)
    recipe = FrozenRecipe.from_json(poured.frozen)
    line = next(one for one in recipe.lines if one.kind == Kind.BATTER)
    assert {one.name for one in line.made_of} == {*shop.materials}
    assert abs(sum(one.planned for one in line.made_of) - 100) <= HALF_A_HUNDREDTH * len(line.made_of) * 2
    assert line not in recipe.ingredients
    assert set(line.made_of) <= set(recipe.ingredients)


def test_the_fragrance_in_the_batter_counts_towards_the_limit(shop, second, dark):
    mix_lye(batch=second, by=shop.maker)
    line = second.lines.get(material=shop.materials["Scent"])
    line.weighings.all().delete()
    line.done = False
    line.save()
    leave(line=line, by=shop.maker)
    put_in(shop, second, dark, 250)
    ((material, grams),) = [one for one in scented_with(lines_of(second)) if one[1]]
    assert material == shop.materials["Scent"]
    assert grams > 2
    CertificateFactory(material=material, limit=Decimal("0.1"), by=shop.maker)
    with pytest.raises(FragranceOver, match="Scent"):
        pour(batch=second, key=uuid4(), by=shop.maker)


def test_batter_in_a_split_bucket_scents_every_jug(shop, first, dark):
    second = split_batch_planned(shop)
    put_in(shop, second, dark, 200)
    CertificateFactory(material=shop.materials["Scent"], limit=Decimal("0.01"), by=shop.maker)
    with pytest.raises(FragranceOver, match="Scent"):
        pour(batch=second, key=uuid4(), by=shop.maker, as_planned=True)


def split_batch_planned(shop):
    version = Version.objects.get(recipe__name__startswith="Two colours")
    batch = shop.plan(version=version)
    mix_lye(batch=batch, by=shop.maker)
    return batch


def test_a_phone_without_network_can_put_it_in(shop, second, dark):
    mix_lye(batch=second, by=shop.maker)
    told = Told(key=uuid4(), at=timezone.now(), content=Add(lot=dark.pk, quantity=Decimal(80)))
    assert receive(batch=second, told=told, by=shop.maker) == Result.DONE
    assert second.lines.get(material=dark.material).weighings.get().quantity == 80


# Undone


def test_while_a_pour_has_used_it_its_own_batch_stands(shop, first, second, dark):
    mix_lye(batch=second, by=shop.maker)
    put_in(shop, second, dark)
    pour(batch=second, key=uuid4(), by=shop.maker)
    with pytest.raises(NotReversible, match=second.code):
        undo_pour(batch=first, reason="spilt", by=shop.maker)
    undo_pour(batch=second, reason="spilt", by=shop.maker)
    undo_pour(batch=first, reason="spilt", by=shop.maker)
    first.refresh_from_db()
    assert first.state == State.UNDONE
    assert Lot.objects.get(pk=dark.pk).on_hand == 0
    assert shop.on_hand("Olive oil") == 5000


def test_the_refusal_to_undo_stands_on_the_page(shop, first, dark, client_of):
    small = pour_kept(lot=dark, bars=2, key=uuid4(), by=shop.maker)
    page = client_of(shop.maker).post(address("undo", first), {"reason": "spilt"})
    assert page.status_code == 422
    assert f"went into batch {small.code}. Undo that first." in words(page)


# The page to add it


def test_the_page_names_it_after_its_batch(shop, second, dark, client_of):
    client = client_of(shop.maker)
    mix_lye(batch=second, by=shop.maker)
    page = words(client.get(address("add_to_pot", second)))
    assert f"Dark, batter of {second_of(dark)}" in page
    sent = {"lot": dark.pk, "quantity": "50", "key": str(uuid4())}
    assert client.post(address("add_to_pot", second), sent).status_code == 302


def second_of(lot):
    return lot.jug.batch.code


def test_before_the_lye_the_page_keeps_what_was_typed(shop, first, dark, client_of):
    batch = shop.plan()
    sent = {"lot": dark.pk, "quantity": "50.25", "key": str(uuid4())}
    page = client_of(shop.maker).post(address("add_to_pot", batch), sent)
    assert page.status_code == 422
    assert page.context["form"].errors.keys() == {"lot"}
    assert 'value="50.25"' in page.content.decode()


def test_packaging_does_not_go_into_the_pot(shop, second):
    boxes = LotFactory(material=MaterialFactory(packaging=True), quantity=50, by=shop.maker)
    with pytest.raises(ValidationError, match="does not go into the pot"):
        put_in(shop, second, boxes, 5)


def test_the_record_and_the_bench_show_it_with_all_that_is_in_it(shop, second, dark, client_of):
    client = client_of(shop.maker)
    mix_lye(batch=second, by=shop.maker)
    put_in(shop, second, dark)
    how = client.get(address("confirm", second)).context["how"]
    assert any(f"Lye, lot {shop.lots['Lye'].code}" in entry.name for entry in how[0].entries)
    pour(batch=second, key=uuid4(), by=shop.maker)
    record = client.get(address("batch", second))
    planned = next(one for one in record.context["how_planned"] if one.name == dark.material.name)
    assert {entry.name for entry in planned.entries} == {*shop.materials}


# Where it is offered


def test_the_pour_page_lists_it_until_it_is_used(shop, first, dark, client_of, viewer):
    client, url = client_of(shop.maker), reverse("batches:pour")
    page = client.get(url)
    assert "Batter kept back" in words(page)
    assert reverse("batches:small_batch", args=[dark.pk]) in page.content.decode()
    looked = client_of(viewer).get(url).content.decode()
    assert dark.material.name in looked
    assert reverse("batches:small_batch", args=[dark.pk]) not in looked
    pour_kept(lot=dark, bars=2, key=uuid4(), by=shop.maker)
    assert "Batter kept back" not in words(client.get(url))


def test_what_is_past_its_time_is_not_offered(shop, first, dark, client_of):
    Lot.objects.filter(pk=dark.pk).update(best_before=timezone.localdate() - timedelta(days=1))
    page = client_of(shop.maker).get(reverse("batches:pour"))
    assert "past its time" in words(page)
    assert reverse("batches:small_batch", args=[dark.pk]) not in page.content.decode()


def test_jugs_and_balance_lead_to_the_small_batch(shop, first, dark, client_of):
    page = client_of(shop.maker).get(address("batch", first)).content.decode()
    assert page.count(reverse("batches:small_batch", args=[dark.pk])) == 2
    assert "Where every gram went" in page
