"""How the figures of a jug came about."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from uuid import uuid4

import pytest

from batches.explain_split import explain_jug
from batches.models import Batch
from batches.queries.weighing import bench as board_of
from batches.services.jugs import add_jug, fill_jug, leave_out
from recipes.explain import Explanation
from recipes.models import AmountBy, PortionBy, Version
from recipes.portions import PortionDesign
from recipes.services import save_look
from soapshop.core.queries import workshop
from tests.batches.bench import Bench
from tests.batches.split import jug, split_bench, with_batter
from tests.factories import MouldFactory, into

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(db: None) -> Bench:
    return split_bench()


def dressed_in(shop: Bench, *portions: PortionDesign) -> Batch:
    version = Version.objects.with_ingredients().get(pk=shop.version.pk)
    return with_batter(replace(shop, version=save_look(version=version, portions=portions, by=shop.maker)))


def explained(batch: Batch, name: str) -> tuple[Explanation, ...]:
    board = board_of(Batch.objects.get(pk=batch.pk))
    assert board.split is not None
    card = next(one for one in board.split.cards if one.jug.name == name)
    return explain_jug(card, board.recipe.split, board.split, workshop())


def plain(figure: str) -> str:
    """With plain spaces."""
    return figure.replace("\xa0", " ").replace("\u202f", " ")


def entries(one: Explanation) -> dict[str, str]:
    return {entry.name: plain(entry.figure) for entry in one.entries}


def test_a_share_is_of_the_whole_while_another_jug_takes_the_rest(shop):
    batter, *_ = explained(with_batter(shop), "Dark")
    assert "Its share of the batter as it was" in batter.formula
    assert entries(batter)["Batter before anything was taken"] == "1 434 g"
    assert entries(batter)["Its share of the whole batter"] == "30 %"
    assert entries(batter)["Top"] == "287 g"


def test_a_share_is_in_the_ratio_of_what_remains_where_none_takes_the_rest(shop):
    batch = with_batter(shop)
    leave_out(jug=jug(batch, "Top"), by=shop.maker)
    batter, *_ = explained(batch, "Dark")
    assert "in the ratio of their shares" in batter.formula


def test_the_rest_is_what_the_others_leave(shop):
    batch = with_batter(shop)
    fill_jug(jug=jug(batch, "Dark"), grams=Decimal(500), key=uuid4(), by=shop.maker)
    batter, *_ = explained(batch, "Top")
    assert "What remains in the bucket" in batter.formula
    told = entries(batter)
    assert told["Left in the bucket"] == "934 g"
    assert (told["White"], told["Green"], told["Kept"]) == ("359 g", "215 g", "143 g")
    assert "Dark" not in told
    assert plain(batter.figure) == "217 g"


def test_what_is_stirred_in_is_its_share_of_the_fats(shop):
    """430 g of the 1434 g hold 1000/1434 fats: 299.9 g; 1 % of it is 3 g."""
    _, scent_or_coal, other = explained(with_batter(shop), "Dark")
    coal = next(one for one in (scent_or_coal, other) if one.name == "Coal")
    assert plain(coal.figure) == "3 g"
    assert entries(coal)["Fats in it"].startswith(("299.", "300."))
    assert entries(coal)["As planned"] == "1 % of the fats in it"


def test_or_of_the_weight(shop):
    coal = into(2, shop.materials["Coal"], by=AmountBy.WEIGHT)
    one = PortionDesign("All", additions=(coal,), fragrance=Decimal(0))
    [_, told] = explained(dressed_in(shop, one), "All")
    assert entries(told)["As planned"] == "2 % of the weight of the batter in it"
    assert "Fats in it" not in entries(told)


def test_a_weight_stays_what_was_planned(shop):
    first = PortionDesign("First", PortionBy.GRAMS, Decimal(250))
    batter, *_ = explained(dressed_in(shop, first, PortionDesign("Rest")), "First")
    assert "whatever went into the other jugs" in batter.formula
    assert entries(batter)["Its weight as planned"] == "250 g"


def test_a_layer_is_height_times_base_times_density(shop):
    Version.objects.filter(pk=shop.version.pk).update(mould=MouldFactory(length=250, width=80, depth=90))
    first = PortionDesign("First", PortionBy.LAYER, Decimal(10))
    batter, *_ = explained(dressed_in(shop, first, PortionDesign("Rest")), "First")
    assert "height of the layer" in batter.formula
    told = entries(batter)
    assert (told["Height of the layer"], told["Base of the mould"]) == ("10 mm", "200.0 cm²")
    assert "Density of the batter" in told


def test_for_a_jug_that_is_filled_or_was_added_the_scale_says_it(shop):
    batch = with_batter(shop)
    fill_jug(jug=jug(batch, "Dark"), grams=Decimal(500), key=uuid4(), by=shop.maker)
    add_jug(batch=batch, name="Tester", grams=Decimal(10), key=uuid4(), by=shop.maker)
    assert explained(batch, "Dark") == explained(batch, "Tester") == ()


def test_where_too_little_is_left_there_is_nothing_to_explain(shop):
    batch = with_batter(shop)
    fill_jug(jug=jug(batch, "Dark"), grams=Decimal(1300), key=uuid4(), by=shop.maker)
    assert explained(batch, "Top") == ()
