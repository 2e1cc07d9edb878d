"""What the batches teach the recipes: how brown vanillin turns, and the picture as its colours turn."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone

from batches.models import Batch, Jug
from batches.queries.picture import picture_of
from batches.services.colour import measure, remove
from batches.services.cure import add_note
from batches.services.jugs import add_jug
from batches.services.picture import tell_picture
from batches.services.pour import pour
from recipes.models import Browned, Fill, Version
from recipes.queries.taught import taught
from shared.browning import forecast
from shared.colour import Lab
from tests.batches.bench import Bench
from tests.batches.photos import BAR, CARD, beside_card
from tests.batches.split import jug, planned, split_bench, with_batter
from tests.core.pictures import upload
from tests.factories import CertificateFactory, ColourReadingFactory, MouldFactory

pytestmark = pytest.mark.django_db

PALE, BROWN = Lab(85, 3, 14), Lab(60, 10, 25)


def certify(shop: Bench, vanillin: str | None) -> None:
    CertificateFactory(
        material=shop.materials["Scent"],
        by=shop.maker,
        vanillin=None if vanillin is None else Decimal(vanillin),
        dated=timezone.localdate() - timedelta(days=60),
    )


def poured(shop: Bench, batch: Batch | None = None) -> Batch:
    """Poured thirty days ago."""
    at = timezone.now() - timedelta(days=30)
    return pour(batch=batch or shop.plan(), key=uuid4(), by=shop.maker, as_planned=True, at=at)


def photographed(shop: Bench, batch: Batch, days: int, colour: Lab, portion: Jug | None = None):
    """A photo of so many days after the pour, with the colour in it measured."""
    at = batch.poured_at + timedelta(days=days)
    photo = upload(beside_card(colour))
    note = add_note(cure=batch.cure, words="", photo=photo, key=uuid4(), by=shop.maker, at=at)
    place = {portion.pk if portion else None: BAR}
    measure(note=note, card=CARD, card_kind="white", places=place, by=shop.maker)
    return note


def settle(shop: Bench, batch: Batch, portion: Jug | None = None) -> None:
    for days, colour in ((1, PALE), (14, BROWN), (24, BROWN)):
        photographed(shop, batch, days, colour, portion)


def test_a_colour_that_has_settled_teaches_how_brown_vanillin_turns(shop):
    """2 % of the fats, 20 g in the cured soap, a tenth of it vanillin."""
    certify(shop, "10")
    batch = poured(shop)
    settle(shop, batch)
    [kept] = Browned.objects.all()
    assert (kept.batch, kept.portion) == (batch.code, "")
    assert float(kept.darkening) == pytest.approx(25, abs=2)
    cured = 2.0 / float(kept.vanillin) * 100
    assert 1000 + 143 < cured < 1434


def test_one_that_is_still_turning_teaches_nothing_yet(shop):
    certify(shop, "10")
    batch = poured(shop)
    photographed(shop, batch, 1, PALE)
    photographed(shop, batch, 14, BROWN)
    assert not Browned.objects.exists()


def test_a_portion_without_fragrance_teaches_what_no_vanillin_does(db):
    shop = split_bench()
    certify(shop, "10")
    batch = poured(shop, planned(shop))
    settle(shop, batch, jug(batch, "White"))
    settle(shop, batch, jug(batch, "Dark"))
    kept = {one.portion: float(one.vanillin) for one in Browned.objects.all()}
    assert kept["White"] == 0
    assert kept["Dark"] > 0.1


@pytest.mark.parametrize("vanillin", [None, "no certificate"])
def test_where_no_certificate_says_the_vanillin_nothing_is_taught(shop, vanillin):
    if vanillin is None:
        certify(shop, None)
    settle(shop, poured(shop))
    assert not Browned.objects.exists()


def test_what_a_removed_colour_taught_is_forgotten(shop):
    certify(shop, "10")
    batch = poured(shop)
    settle(shop, batch)
    remove(note=batch.cure.notes.order_by("at").last(), by=shop.maker)
    assert not Browned.objects.exists()


def test_three_batches_of_ones_own_decide(shop):
    certify(shop, "10")
    usual = forecast(0.15).darkening
    for number in range(3):
        assert forecast(0.15, taught()).batches == 0, number
        settle(shop, poured(shop))
    own = forecast(0.15, taught())
    assert own.batches == 3
    assert own.darkening == pytest.approx(25, abs=2)
    assert own.darkening < usual


def layers(batch: Batch) -> dict[str, str]:
    batch.refresh_from_db()
    return {layer.name: layer.colour for layer in picture_of(batch).look.layers}


def test_the_picture_turns_with_the_colour_that_was_measured_last(db):
    shop = split_bench()
    batch = poured(shop, planned(shop))
    before = layers(batch)
    note = photographed(shop, batch, 3, BROWN, jug(batch, "Dark"))
    after = layers(batch)
    assert after["Dark"] != before["Dark"]
    assert {name: after[name] for name in ("White", "Green")} == {
        name: before[name] for name in ("White", "Green")
    }
    remove(note=note, by=shop.maker)
    assert layers(batch) == before


def test_a_bar_of_one_colour_turns_as_a_whole(shop):
    batch = poured(shop)
    [before] = layers(batch).values()
    photographed(shop, batch, 3, BROWN)
    [after] = layers(batch).values()
    assert after != before


def test_what_was_kept_back_does_not_colour_what_is_in_the_mould(db):
    shop = split_bench()
    batch = poured(shop, planned(shop))
    batch.picture["layers"] = batch.picture["layers"][:1]
    batch.save()
    before = layers(batch)
    note = add_note(cure=batch.cure, words="Look", photo=None, key=uuid4(), by=shop.maker)
    ColourReadingFactory(note=note, jug=jug(batch, "Kept"), lightness=Decimal(30))
    tell_picture(batch=batch)
    assert layers(batch) == before


def test_a_portion_that_was_added_at_the_bench_is_a_layer_in_its_own_colour(db):
    shop = split_bench()
    batch = with_batter(shop)
    for name, colour in (("Blush", "#c98f80"), ("Plain", "")):
        add_jug(batch=batch, name=name, grams=Decimal(40), colour=colour, key=uuid4(), by=shop.maker)
    batch = pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
    told = layers(batch)
    assert told["Blush"] == "#c98f80"
    assert told["Plain"] == batch.frozen["bar_colour"]
    tell_picture(batch=batch)
    assert layers(batch) == told


def test_how_high_an_unsplit_batter_stood_teaches_the_mould(shop):
    """The 20 g of fragrance are in the batter: 1000 + 143 + 291 + 20."""
    Version.objects.filter(pk=shop.version.pk).update(mould=MouldFactory(length=250, width=80, depth=90))
    batch = shop.plan(version=Version.objects.with_ingredients().get(pk=shop.version.pk))
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True, filled_height=Decimal(70))
    fill = Fill.objects.get()
    assert (fill.batch, fill.height) == (batch.code, Decimal(70))
    assert fill.grams == sum(line.planned for line in batch.lines.all())


def test_without_a_mould_a_height_teaches_nothing(shop):
    pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True, filled_height=Decimal(70))
    assert not Fill.objects.exists()
