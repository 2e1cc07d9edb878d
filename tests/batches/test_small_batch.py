"""Batter that was kept back becomes a batch of its own."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import BarMovement, Batch, State
from batches.queries.kept import kept_back, small_batch
from batches.services.cure import cut
from batches.services.errors import FragranceOver, NotSafe
from batches.services.pour import undo_pour
from batches.services.small_batch import pour_kept
from inventory.models import Lot
from inventory.queries.made import base_parts
from inventory.services.ledger import NotEnough
from tests.bad_input import SCRIPT
from tests.batches.kept import kept_lot, split_batch, weighed_in
from tests.batches.pages import NO_WEIGHTS, address, words
from tests.factories import CertificateFactory, LotFactory, WorkshopFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def first(shop):
    return split_batch(shop)


@pytest.fixture
def dark(first):
    return kept_lot(first)


def poured(shop, lot, **changed):
    said = {"bars": 2, "key": uuid4(), "by": shop.maker}
    return pour_kept(lot=lot, **{**said, **changed})


def url_of(lot):
    return reverse("batches:small_batch", args=[lot.pk])


def sent(**changed):
    return {"bars": "2", "grams": "", "key": str(uuid4()), **changed}


# The service


def test_it_has_a_number_and_a_cure_of_its_own_and_the_version_it_was_made_by(shop, first, dark):
    small = poured(shop, dark, words="Soft ribbons")
    assert small.code == "26-0002" or small.code.endswith("0002")
    assert (small.state, small.version, small.bars_planned) == (State.POURED, first.version, 2)
    assert small.cure.started_on == timezone.localdate()
    assert small.cure.notes.get().words == "Soft ribbons"
    assert Lot.objects.get(pk=dark.pk).on_hand == 0
    assert small.cost == dark.cost
    assert small.lye_mixed_at == first.lye_mixed_at


def test_its_recipe_is_frozen_with_the_batter_in_place_of_what_was_weighed(shop, first, dark):
    recipe = FrozenRecipe.from_json(poured(shop, dark).frozen)
    (line,) = recipe.lines
    assert (recipe.recipe, recipe.bars, recipe.batter) == (first.frozen["recipe"], 2, dark.quantity)
    assert (recipe.split, recipe.mould, recipe.mould_name) == (None, None, "")
    assert line.used[0].lot == dark.code
    assert {one.name: one.planned for one in recipe.ingredients} == {
        lot.material.name: round(grams, 2) for lot, grams in base_parts(dark)
    }


def test_its_picture_is_one_layer_in_the_colour_of_the_jug(shop, dark):
    (layer,) = poured(shop, dark).picture["layers"]
    assert layer[0] == "#444444"
    assert layer[2] == "Dark"


def test_it_is_as_safe_as_the_pot_that_it_came_from(shop, first, dark):
    small = poured(shop, dark)
    assert small.verdict == first.verdict
    assert small.superfat == pytest.approx(first.superfat, abs=Decimal("0.02"))
    assert small.superfat_worst == pytest.approx(first.superfat_worst, abs=Decimal("0.1"))


def test_some_of_it_may_stay_and_be_poured_later(shop, dark):
    one = poured(shop, dark, grams=Decimal("100.5"))
    assert weighed_in(one) == {dark.code: Decimal("100.5")}
    assert Lot.objects.get(pk=dark.pk).on_hand == dark.quantity - Decimal("100.5")
    other = poured(shop, dark)
    assert weighed_in(one)[dark.code] + weighed_in(other)[dark.code] == dark.quantity
    assert kept_back(timezone.localdate()) == []


def test_sent_twice_it_counts_once(shop, dark):
    key = uuid4()
    assert poured(shop, dark, key=key) == poured(shop, dark, key=key)
    assert Batch.objects.filter(key=key).count() == 1


def test_undone_it_gives_the_batter_back(shop, dark):
    undo_pour(batch=poured(shop, dark), reason="The lot was another", by=shop.maker)
    assert Lot.objects.get(pk=dark.pk).on_hand == dark.quantity
    assert poured(shop, dark).state == State.POURED


def test_what_the_cure_leaves_of_it_is_that_of_batter_and_all_of_what_was_stirred_in(shop, first, dark):
    whole, jug = FrozenRecipe.from_json(first.frozen), first.jugs.get(name="Dark")
    small = FrozenRecipe.from_json(poured(shop, dark).frozen)
    stirred_in = float(dark.quantity - jug.grams)
    left = float(jug.grams) * whole.cured_share + stirred_in
    assert small.cured_share == pytest.approx(left / float(dark.quantity))


def test_where_nobody_kept_what_the_cure_leaves_nobody_knows_it_of_the_small_batch(shop, first, dark):
    Batch.objects.filter(pk=first.pk).update(frozen=first.frozen | {"cured_share": None})
    assert poured(shop, dark).frozen["cured_share"] is None


def test_the_fragrance_in_it_is_held_against_its_limit(shop, dark):
    CertificateFactory(material=shop.materials["Scent"], limit=Decimal("0.5"), by=shop.maker)
    with pytest.raises(FragranceOver, match="Scent"):
        poured(shop, dark)
    assert Lot.objects.get(pk=dark.pk).on_hand == dark.quantity


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("bars", {"bars": 0}),
        ("bars", {"bars": 2001}),
        ("grams", {"grams": Decimal(0)}),
        ("grams", {"grams": Decimal("NaN")}),
        ("grams", {"grams": Decimal(100_000)}),
        ("at", {"at": timezone.now() - timedelta(days=3)}),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(shop, dark, field, changed):
    with pytest.raises(ValidationError) as refused:
        poured(shop, dark, **changed)
    assert refused.value.error_dict.keys() == {field}
    assert Batch.objects.count() == 1


def test_a_lot_that_was_bought_or_is_used_up_is_refused(shop, dark):
    with pytest.raises(ValidationError, match="not batter that was kept back"):
        poured(shop, LotFactory(by=shop.maker))
    poured(shop, dark)
    with pytest.raises(ValidationError, match="Nothing is left"):
        poured(shop, dark)


def test_what_is_past_its_time_is_not_poured(shop, dark):
    Lot.objects.filter(pk=dark.pk).update(best_before=timezone.localdate() - timedelta(days=1))
    with pytest.raises(ValidationError, match="best-before"):
        poured(shop, dark)


def test_a_viewer_pours_nothing(shop, dark, viewer):
    with pytest.raises(PermissionDenied):
        poured(shop, dark, by=viewer)


def test_a_stop_needs_an_owner_with_a_reason(shop, first, dark, owner):
    lye_heavy(shop)
    for unheard in ({}, {"stop_reason": "For a test"}, {"by": owner}):
        with pytest.raises(NotSafe):
            poured(shop, dark, **unheard)
    small = poured(shop, dark, by=owner, stop_reason="For a test")
    assert (small.verdict, small.stop_reason) == ("stop", "For a test")


def lye_heavy(shop):
    """The certificate of the olive oil comes late: it takes far less lye than was thought."""
    olive = Lot.objects.filter(pk=shop.lots["Olive oil"].pk)
    olive.update(sap=Decimal(150), sap_uncertainty=Decimal(1))


def test_on_the_page_an_owner_writes_down_why_and_a_maker_cannot(shop, first, dark, client_of, owner):
    lye_heavy(shop)
    makers = client_of(shop.maker)
    assert "Only an owner" in words(makers.get(url_of(dark)))
    refused = makers.post(url_of(dark), sent())
    assert refused.status_code == 422
    assert "Stop:" in words(refused)
    owners = client_of(owner)
    assert owners.post(url_of(dark), sent()).context["form"].errors.keys() == {"stop_reason"}
    assert owners.post(url_of(dark), sent(stop_reason="For a test")).status_code == 302


# The page


def test_the_page_says_what_it_is_how_much_and_until_when(shop, first, dark, client_of):
    page = words(client_of(shop.maker).get(url_of(dark)))
    assert f"{first.code}, {first.frozen['recipe']}" in page
    assert "293 g" in page
    assert "tomorrow" in page
    assert "Raw soap burns skin and eyes" in page


def test_it_offers_bars_as_large_as_those_of_its_batch(shop, first, dark):
    found = small_batch(dark.pk, timezone.localdate())
    assert found.bars == int(dark.on_hand / (FrozenRecipe.from_json(first.frozen).batter / 10)) == 2
    tiny = Lot.objects.filter(pk=dark.pk)
    tiny.update(on_hand=1)
    assert small_batch(dark.pk, timezone.localdate()).bars == 1


def test_all_of_it_is_poured_from_the_page(shop, dark, client_of):
    client = client_of(shop.maker)
    answer = client.post(url_of(dark), sent(words="First ribbons"))
    small = Batch.objects.get(lines__material=dark.material)
    assert answer.url == address("batch", small)
    page = words(client.get(answer.url))
    assert f"{small.code} is poured" in page
    assert "Dark, batter of" in page
    assert client.get(address("card", small)).status_code in (200, 302)


def test_the_form_sent_twice_leads_to_the_same_batch(shop, dark, client_of):
    client, form = client_of(shop.maker), sent(grams="100")
    assert client.post(url_of(dark), form).url == client.post(url_of(dark), form).url


def test_weights_that_cannot_be_are_refused_beside_their_field(shop, dark, client_of):
    client = client_of(shop.maker)
    for bad in [bad for bad in NO_WEIGHTS if bad.strip()]:
        page = client.post(url_of(dark), sent(grams=bad, words="Ribbons"))
        assert page.status_code == 422, bad
        assert page.context["form"].errors.keys() == {"grams"}, bad
        assert "Ribbons" in page.content.decode()
        assert SCRIPT not in page.content.decode()
    for bad in ("", "0", "-1", "1.5", "9999", "NaN", "🧼"):
        page = client.post(url_of(dark), sent(bars=bad))
        assert page.context["form"].errors.keys() == {"bars"}, bad
    assert Batch.objects.count() == 1


def test_in_ounces_the_weight_is_read_as_ounces(shop, dark, client_of):
    WorkshopFactory(units="us")
    client_of(shop.maker).post(url_of(dark), sent(grams="4"))
    small = Batch.objects.get(lines__material=dark.material)
    assert weighed_in(small) == {dark.code: Decimal("113.40")}


def test_of_what_is_used_up_or_too_old_the_page_says_so_and_offers_nothing(shop, dark, client_of):
    client = client_of(shop.maker)
    Lot.objects.filter(pk=dark.pk).update(best_before=timezone.localdate() - timedelta(days=1))
    page = client.get(url_of(dark))
    assert "past its time" in words(page)
    assert '<button class="button">' not in page.content.decode()
    assert client.post(url_of(dark), sent()).status_code == 422
    Lot.objects.filter(pk=dark.pk).update(best_before=timezone.localdate() + timedelta(days=1))
    poured(shop, dark)
    assert "Nothing is left of this batter" in words(client.get(url_of(dark)))


def test_what_was_not_kept_back_has_no_such_page(shop, client_of):
    client = client_of(shop.maker)
    assert client.get(url_of(shop.lots["Olive oil"])).status_code == 404


def test_the_page_of_a_small_batch_tells_what_is_in_its_batter(shop, dark, client_of):
    small = poured(shop, dark)
    page = client_of(shop.maker).get(address("batch", small))
    superfat = page.context["how"][0]
    assert {"Olive oil", "Lye"} <= {entry.name for entry in superfat.entries}
    (planned,) = page.context["how_planned"]
    assert "kept back" in planned.formula


def test_its_bars_are_cut_like_any(shop, dark):
    small = poured(shop, dark)
    today = timezone.localdate()
    cure = cut(cure=small.cure, on=today, bars=2, trimmings=Decimal(5), key=uuid4(), by=shop.maker)
    assert cure.bar_movements.get().kind == BarMovement.Kind.CUT


def test_more_than_there_is_cannot_leave_the_lot(shop, dark):
    with pytest.raises((ValidationError, NotEnough)):
        poured(shop, dark, grams=dark.quantity + 1)
