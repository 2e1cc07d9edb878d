"""The pour of a split batter: every gram found again, the kept-back lot, the limit of the fragrance."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from batches.frozen import FrozenRecipe
from batches.models import Batch, State
from batches.queries.balance import Balance
from batches.queries.picture import picture_of
from batches.queries.record import batch_of, batch_record
from batches.services.cure import cut
from batches.services.errors import FragranceOver, StillToWeigh
from batches.services.jugs import fill_jug, leave_out
from batches.services.plan import plan_batch
from batches.services.pour import pour, undo_pour
from inventory.models import Kind, Lot
from inventory.services.reconcile import reconcile
from recipes.formulation import Size
from recipes.models import Fill, Version
from shared.cross_section import Technique
from tests.batches.bench import Bench
from tests.batches.split import FIVE, jug, look, planned, split_bench, to_take, with_batter
from tests.factories import CertificateFactory, MouldFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(db: None) -> Bench:
    return split_bench()


def poured(batch: Batch, **more: object) -> Batch:
    return pour(batch=batch, key=uuid4(), by=batch.planned_by, **more)  # type: ignore[arg-type]


def fill_all(batch: Batch) -> None:
    for name in FIVE:
        grams = to_take(batch)[name]
        assert grams is not None
        fill_jug(jug=jug(batch, name), grams=grams, key=uuid4(), by=batch.planned_by)


def found_again(batch: Batch) -> Balance:
    balance = batch_record(batch_of(batch.pk), timezone.localdate()).balance
    assert balance is not None
    assert sum(one.grams for one in balance.went) == balance.put_in
    return balance


def certify(shop: Bench, limit: str) -> None:
    CertificateFactory(material=shop.materials["Scent"], limit=Decimal(limit), by=shop.maker)


class TestTheStock:
    def test_every_gram_of_every_lot_is_taken_once(self, shop: Bench) -> None:
        before = {name: shop.on_hand(name) for name in shop.lots}
        batch = with_batter(shop)
        fill_all(batch)
        poured(batch)
        taken = {name: before[name] - shop.on_hand(name) for name in shop.lots}
        assert taken == {line.material.name: line.planned for line in batch.lines.select_related("material")}
        assert reconcile() == []

    def test_poured_as_planned_fills_the_jugs(self, shop: Bench) -> None:
        batch = poured(planned(shop), as_planned=True)
        assert [one.grams for one in batch.jugs.all()] == [one.planned for one in batch.jugs.all()]
        assert batch.state == State.POURED

    def test_an_open_jug_stands_in_the_way_by_name(self, shop: Bench) -> None:
        with pytest.raises(StillToWeigh, match="Dark, White, Green, Kept, Top"):
            poured(with_batter(shop))

    def test_where_too_little_is_left_as_planned_says_why(self, shop: Bench) -> None:
        batch = with_batter(shop)
        fill_jug(jug=jug(batch, "Dark"), grams=Decimal(1300), key=uuid4(), by=shop.maker)
        with pytest.raises(ValidationError, match="does not suffice"):
            poured(batch, as_planned=True)


class TestEveryGram:
    def test_in_the_mould_and_kept_back(self, shop: Bench) -> None:
        batch = with_batter(shop)
        fill_all(batch)
        went = {one.where: one.grams for one in found_again(poured(batch)).went}
        kept = jug(batch, "Kept")
        assert kept.lot is not None
        assert went["Kept, kept back"] == kept.lot.quantity == Decimal(145)

    def test_in_bars_trimmings_the_lot_and_losses(self, shop: Bench) -> None:
        batch = with_batter(shop)
        fill_all(batch)
        batch = poured(batch)
        cut(
            cure=batch.cure,
            on=timezone.localdate(),
            bars=10,
            bars_weight=Decimal(1200),
            trimmings=Decimal(80),
            key=uuid4(),
            by=shop.maker,
        )
        balance = found_again(batch)
        went = {one.where: one.grams for one in balance.went}
        assert not balance.open
        assert went["Bars, fresh"] == 1200
        assert went["Ends and trimmings"] == 80
        assert went["Lost: water, and what stuck to mould and tools"] == balance.put_in - 145 - 1280

    def test_what_no_jug_took_is_left_in_the_bucket(self, shop: Bench) -> None:
        batch = with_batter(shop)
        for name in FIVE[:-1]:
            fill_jug(jug=jug(batch, name), grams=to_take(batch)[name] or 0, key=uuid4(), by=shop.maker)
        leave_out(jug=jug(batch, "Top"), by=shop.maker)
        went = {one.where: one.grams for one in found_again(poured(batch)).went}
        assert went["Left in the bucket and on the tools"] == Decimal(287)

    def test_bars_heavier_than_the_batch_are_refused(self, shop: Bench) -> None:
        batch = poured(planned(shop), as_planned=True)
        with pytest.raises(ValidationError) as caught:
            cut(
                cure=batch.cure,
                on=timezone.localdate(),
                bars=10,
                bars_weight=Decimal(1400),
                trimmings=Decimal(80),
                key=uuid4(),
                by=shop.maker,
            )
        assert "bars_weight" in caught.value.message_dict


class TestKeptBack:
    def test_it_is_a_lot_with_its_share_of_all_that_went_in(self, shop: Bench) -> None:
        """A tenth of the batter, and the fragrance that was stirred into that jug."""
        batch = poured(planned(shop), as_planned=True)
        lot = jug(batch, "Kept").lot
        assert lot is not None
        held = {part.of.material.name: part.quantity for part in lot.parts.select_related("of__material")}
        share = Decimal(143) / Decimal(1434)
        assert held["Olive oil"] == (450 * share).quantize(Decimal("0.01"))
        assert held["Lye"] == (143 * share).quantize(Decimal("0.01"))
        assert held["Scent"] == Decimal(2)
        assert "Coal" not in held
        assert abs(sum(held.values()) - lot.quantity) < Decimal("0.05")
        assert lot.material.kind == Kind.BATTER
        assert lot.best_before == timezone.localdate() + timedelta(days=1)

    def test_undone_it_is_gone_and_all_is_back(self, shop: Bench) -> None:
        before = {name: shop.on_hand(name) for name in shop.lots}
        batch = poured(planned(shop), as_planned=True)
        lot = jug(batch, "Kept").lot
        undo_pour(batch=batch, reason="Wrong batch", by=shop.maker)
        assert lot is not None
        assert Lot.objects.get(pk=lot.pk).on_hand == 0
        assert {name: shop.on_hand(name) for name in shop.lots} == before
        assert reconcile() == []


class TestThePicture:
    def test_it_shows_what_went_into_the_mould(self, shop: Bench) -> None:
        batch = with_batter(shop)
        fill_jug(jug=jug(batch, "Dark"), grams=Decimal(600), key=uuid4(), by=shop.maker)
        leave_out(jug=jug(batch, "Green"), by=shop.maker)
        layers = picture_of(poured(batch, as_planned=True)).look.layers
        assert [(one.name, one.technique) for one in layers] == [
            ("Dark", Technique.LAYER),
            ("White", Technique.LAYER),
            ("Top", Technique.LAYER),
        ]
        assert layers[0].share == pytest.approx(600 + 3 + 8, abs=1)
        assert layers[0].colour == "#3a3f44"


class TestTheFill:
    def test_how_high_it_stood_teaches_the_mould(self, shop: Bench) -> None:
        mould = MouldFactory(length=250, width=80, depth=90)
        Version.objects.filter(pk=shop.version.pk).update(mould=mould)
        batch = poured(planned(shop), as_planned=True, filled_height=Decimal(65))
        fill = Fill.objects.get()
        moulded = sum(one.grams for one in found_again(batch).went if one.where == "In the mould")
        assert (fill.batch, fill.height, fill.grams) == (batch.code, Decimal(65), moulded)
        assert batch.cure.filled_height == Decimal(65)
        undo_pour(batch=batch, reason="Wrong batch", by=shop.maker)
        assert not Fill.objects.exists()

    def test_higher_than_the_mould_is_refused(self, shop: Bench) -> None:
        mould = MouldFactory(length=250, width=80, depth=90)
        Version.objects.filter(pk=shop.version.pk).update(mould=mould)
        with pytest.raises(ValidationError) as caught:
            poured(planned(shop), as_planned=True, filled_height=Decimal(91))
        assert "filled_height" in caught.value.message_dict


class TestTheLimit:
    """Fragrance is held against the certificate's limit in the strongest bar, cured."""

    def test_over_the_limit_it_is_not_planned(self, shop: Bench) -> None:
        certify(shop, "1")
        with pytest.raises(FragranceOver, match="It passes with"):
            planned(shop)

    def test_within_the_limit_it_is_poured(self, shop: Bench) -> None:
        certify(shop, "3")
        assert poured(planned(shop), as_planned=True).state == State.POURED

    def test_a_certificate_that_came_since_counts_at_the_pour(self, shop: Bench) -> None:
        batch = planned(shop)
        certify(shop, "1")
        with pytest.raises(FragranceOver, match="At most"):
            poured(batch, as_planned=True)
        batch.refresh_from_db()
        assert batch.state == State.PLANNED
        assert shop.on_hand("Scent") == 5000

    def test_more_stirred_in_than_planned_is_caught(self, shop: Bench) -> None:
        certify(shop, "3")
        batch = with_batter(shop)
        line = batch.lines.get(material__name="Scent")
        fill_jug(
            jug=jug(batch, "Kept"),
            grams=Decimal(143),
            stirred_in={line.pk: Decimal(12)},
            key=uuid4(),
            by=shop.maker,
        )
        with pytest.raises(FragranceOver):
            poured(batch, as_planned=True)

    def test_the_plan_page_says_so(self, shop: Bench, client) -> None:
        certify(shop, "1")
        client.force_login(shop.maker)
        page = client.get(reverse("batches:plan", args=[shop.version.pk]))
        assert "Too much fragrance to pour it like this" in page.content.decode()
        sent = client.post(
            reverse("batches:plan", args=[shop.version.pk]),
            {"size": "recipe", "planned_for": timezone.localdate(), "key": uuid4(), "do": "weigh"},
        )
        assert sent.status_code == 422
        assert not Batch.objects.exists()

    def test_the_last_look_says_so(self, shop: Bench, client) -> None:
        batch = with_batter(shop)
        fill_all(batch)
        certify(shop, "1")
        client.force_login(shop.maker)
        sent = client.post(reverse("batches:confirm", args=[batch.pk]), {"key": uuid4()})
        assert sent.status_code == 422
        assert "At most" in sent.content.decode()

    def test_a_batter_that_is_not_split_is_held_against_it_too(self, shop: Bench) -> None:
        plain = Version.objects.with_ingredients().get(pk=shop.version.pk)
        plain.portions.all().delete()
        certify(shop, "1")
        with pytest.raises(FragranceOver):
            plan_batch(
                version=Version.objects.with_ingredients().get(pk=plain.pk),
                size=Size(),
                planned_for=timezone.localdate(),
                key=uuid4(),
                by=shop.maker,
            )

    def test_a_batch_from_before_counts_all_its_liquid_as_gone(self, shop: Bench) -> None:
        batch = planned(shop)
        batch.frozen["cured_share"] = None
        batch.save()
        certify(shop, "1.6")
        with pytest.raises(FragranceOver):
            poured(batch, as_planned=True)


def test_the_batch_keeps_plan_and_deed(shop: Bench) -> None:
    batch = with_batter(shop)
    fill_jug(jug=jug(batch, "Dark"), grams=Decimal(600), key=uuid4(), by=shop.maker)
    batch = poured(batch, as_planned=True)
    kept = FrozenRecipe.from_json(batch.frozen).split
    assert kept is not None
    assert kept.named("Dark") is not None
    assert jug(batch, "Dark").planned == Decimal(430)
    assert jug(batch, "Dark").grams == Decimal(600)
    split = look(batch).split
    assert split is not None
    assert [card.changed for card in split.cards] == [True, False, False, False, True]
