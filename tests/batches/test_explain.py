"""How the figures of a batch came about: what is told must be what is shown, and stays as it was frozen."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone

from batches.explain import explain_batch, explain_bench, explain_cure, explain_planned
from batches.models import Batch, Line
from batches.queries.record import batch_of, batch_record
from batches.queries.weighing import bench as board_of
from batches.services.bars import take_bars
from batches.services.cure import weigh_in
from batches.services.pour import pour
from batches.services.weighing import weigh
from inventory.models import Kind
from recipes.explain import Explanation
from recipes.formulation import Design
from recipes.models import LiquidBy
from recipes.services import create_recipe
from soapshop.core.models import Units, Workshop
from tests.batches.bench import Bench, bench
from tests.batches.curing import cut_days_ago, days_ago, poured
from tests.batches.pages import address, text_of
from tests.factories import LotFactory, WorkshopFactory, design, part

pytestmark = pytest.mark.django_db


@pytest.fixture
def workshop() -> Workshop:
    return WorkshopFactory()


@pytest.fixture
def shop(workshop: Workshop) -> Bench:
    return bench()


def named(found: tuple[Explanation, ...]) -> dict[str, Explanation]:
    return {one.name: one for one in found}


def told(one: Explanation) -> dict[str, str]:
    return {entry.name: entry.figure.replace("\xa0", " ") for entry in one.entries}


def of_batch(batch: Batch, workshop: Workshop) -> dict[str, Explanation]:
    return named(explain_batch(batch_record(batch_of(batch.pk), timezone.localdate()), workshop))


def of_cure(batch: Batch, workshop: Workshop) -> dict[str, Explanation]:
    record = batch_record(batch_of(batch.pk), timezone.localdate())
    assert record.cure
    return named(explain_cure(record.cure, workshop))


def poured_now(shop: Bench) -> Batch:
    return pour(batch=shop.plan(), key=uuid4(), by=shop.maker, as_planned=True)


def planned(what: Design, shop: Bench) -> Batch:
    return shop.plan(version=create_recipe(name="Another", design=what, cure_days=28, by=shop.maker))


# The pot.


def test_before_the_pour_the_superfat_is_that_of_the_plan(shop, workshop):
    found = of_batch(shop.plan(), workshop)["Superfat, planned"]

    assert told(found)["Olive oil"] == "450 g, 190.0 mg/g, 184.0 to 196.0"
    assert told(found)["Lye"].endswith("97 to 100 % pure")


def test_once_it_is_poured_each_lot_is_told_with_its_value(shop, workshop):
    batch = poured_now(shop)
    found = of_batch(batch, workshop)["Superfat, as poured"]
    lot = shop.lots["Olive oil"].code

    assert told(found)[f"Olive oil, lot {lot}"] == "450 g, 190.0 mg/g, 184.0 to 196.0"
    assert Decimal(found.figure.split()[0].split("\xa0")[0]) == round(batch.superfat, 1)


def test_a_certificate_is_told_as_the_source(shop, workshop):
    oil = shop.lots["Olive oil"]
    oil.sap, oil.sap_uncertainty = Decimal(188), Decimal(1)
    oil.save()
    found = of_batch(poured_now(shop), workshop)["Superfat, as poured"]

    assert any(entry.source == f"certificate of lot {oil.code}" for entry in found.entries)


def test_acids_and_liquids_that_take_alkali_are_told(shop, workshop):
    sour = part(2, name="Lactic acid", kind=Kind.ADDITIVE, acid="lactic", acid_least=80)
    milk = part(
        100,
        name="Goat milk",
        liquid=True,
        water=87,
        fat=4,
        fat_low=3,
        fat_high=5,
        fat_reference="milk_fat",
    )
    for one in (sour, milk):
        LotFactory(material=one.material, quantity=5000, by=shop.maker)
    kept = [part(100, shop.materials["Olive oil"]), part(100, shop.materials["Lye"]), milk, sour]
    batch = planned(design(*kept), shop)
    before = told(of_batch(batch, workshop)["Superfat, planned"])
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)
    after = told(of_batch(batch, workshop)["Superfat, as poured"])

    assert before["Lactic acid"] == "20 g, 80 % of it acid"
    assert "mg/g" in before["Goat milk"]
    assert any(name.startswith("Goat milk, lot") for name in after)


def test_the_lye_tells_the_figure_of_the_recipe(shop, workshop):
    assert (
        told(of_batch(shop.plan(), workshop)["Lye concentration, planned"])["Lye concentration"] == "33.0 %"
    )


def test_a_lye_by_ratio_tells_the_ratio(shop, workshop):
    kept = [part(100, shop.materials[name]) for name in ("Olive oil", "Lye", "Water")]
    batch = planned(design(*kept, liquid_by=LiquidBy.RATIO, liquid_value=Decimal(2)), shop)

    found = of_batch(batch, workshop)["Lye concentration, planned"]

    assert told(found)["Liquid to alkali"] == "2.00 g to 1 g"
    assert found.figure == "33.3\xa0%"


def test_heat_is_told_in_the_units_of_the_workshop(shop):
    workshop = Workshop(units=Units.US)

    assert "°F" in of_batch(shop.plan(), workshop)["Lye could reach"].figure


def test_a_lye_that_can_boil_is_told_so(shop, workshop):
    batch = shop.plan()
    Batch.objects.update(frozen=batch.frozen | {"lye_boils": True})

    found = of_batch(batch, workshop)["Lye could reach"]

    assert found.alarming
    assert found.figure == "boiling"


def test_a_batch_frozen_without_a_peak_tells_none(shop, workshop):
    batch = shop.plan()
    Batch.objects.update(frozen=batch.frozen | {"lye_peak": None})

    assert of_batch(batch, workshop)["Lye could reach"].figure == ""


def test_what_is_in_the_pot_is_the_sum_of_what_was_weighed(shop, workshop):
    batch = shop.plan()
    assert "Batter, planned" in of_batch(batch, workshop)
    pour(batch=batch, key=uuid4(), by=shop.maker, as_planned=True)

    found = of_batch(batch, workshop)["In the pot"]

    together = sum(Decimal(figure.removesuffix(" g")) for figure in told(found).values())
    assert "".join(found.figure.split()) == f"{together}g"


# Cost.


def test_the_cost_is_the_sum_of_the_lots_that_are_told(shop, workshop):
    batch = poured_now(shop)
    found = of_batch(batch, workshop)["Materials cost"]

    assert found.figure == f"{batch.cost}\xa0EUR"
    assert f"Scent, lot {shop.lots['Scent'].code}" in told(found)


def test_a_bar_bears_the_bars_planned_until_it_is_cut(shop, workshop):
    batch = poured_now(shop)
    assert told(of_batch(batch, workshop)["A bar of it"])["Bars"] == "10"

    other = cut_days_ago(shop, 3, bars=8).batch
    found = of_batch(other, workshop)["A bar of it"]

    assert told(found)["Bars"] == "8"
    assert found.figure == f"{other.cost / 8:.2f}\xa0EUR"


# The card.


def test_each_planned_weight_is_told_as_the_card_shows_it(shop, workshop):
    batch = shop.plan()
    record = batch_record(batch_of(batch.pk), timezone.localdate())
    found = named(explain_planned(record.recipe, workshop))

    for line in Line.objects.filter(batch=batch).select_related("material"):
        assert found[line.material.name].figure == f"{line.planned.normalize():f}\xa0g"
    assert told(found["Olive oil"])["Its share"] == "45.0 %"
    assert told(found["Lye"])["Superfat aimed at"] == "5 %"
    assert "version 1" in found["Water"].source


# The bench.


def test_the_bench_tells_the_plan_alone_until_a_fat_is_weighed(shop, workshop):
    batch = shop.plan()

    assert "Superfat, so far" not in named(explain_bench(board_of(batch), workshop))


def test_the_bench_tells_what_was_weighed_and_what_is_still_to_come(shop, workshop):
    batch = shop.plan()
    olive, lye = shop.lots["Olive oil"], shop.lots["Lye"]
    for lot, grams in ((olive, 455), (lye, 140)):
        lot.sap = lot.sap_uncertainty = None
        line = batch.lines.get(material=lot.material)
        weigh(line=line, lot=lot, quantity=Decimal(grams), key=uuid4(), by=shop.maker)

    found = told(named(explain_bench(board_of(batch), workshop))["Superfat, so far"])

    assert found[f"Olive oil, lot {olive.code}"].startswith("455 g, 190.0 mg/g")
    assert found[f"Lye, lot {lye.code}"] == "140 g, 97 to 100 % pure"
    assert "Olive oil, still to come" not in found
    assert found["Palm oil, still to come"].startswith("250 g")


def test_at_the_bench_a_certificate_counts(shop, workshop):
    batch, lot = shop.plan(), shop.lots["Lye"]
    olive = shop.lots["Olive oil"]
    lot.purity, lot.purity_uncertainty = Decimal(99), Decimal("0.5")
    olive.sap, olive.sap_uncertainty = Decimal(189), Decimal(1)
    for one, grams in ((lot, 140), (olive, 450)):
        one.save()
        line = batch.lines.get(material=one.material)
        weigh(line=line, lot=one, quantity=Decimal(grams), key=uuid4(), by=shop.maker)

    found = told(named(explain_bench(board_of(batch), workshop))["Superfat, so far"])

    assert found[f"Lye, lot {lot.code}"] == "140 g, 98.5 to 99.5 % pure"
    assert "188.0 to 190.0" in found[f"Olive oil, lot {olive.code}"]


# The cure.


def test_before_the_cut_the_ready_day_is_reckoned_from_the_pour(shop, workshop):
    found = of_cure(poured(shop, 0).batch, workshop)

    assert told(found["Ready"])["Days until the cut"] == "1"
    assert "Bars left" not in found


def test_from_the_cut_the_ready_day_counts_the_days_of_cure(shop, workshop):
    found = of_cure(cut_days_ago(shop, 3).batch, workshop)["Ready"]

    assert told(found)["Cure"] == "28 days"
    assert "Days until the cut" not in told(found)


def test_the_bars_left_are_what_came_and_went(shop, workshop):
    cure = cut_days_ago(shop, 30)
    take_bars(cure=cure, count=3, kind="sold", key=uuid4(), by=shop.maker)
    found = of_cure(cure.batch, workshop)["Bars left"]

    assert [entry.figure for entry in found.entries] == ["+10", "−3"]
    assert found.figure == "7"


def test_one_weigh_in_tells_no_loss(shop, workshop):
    cure = cut_days_ago(shop, 10)
    weigh_in(cure=cure, on=days_ago(9), grams=Decimal(100), bars=1, key=uuid4(), by=shop.maker)

    assert set(of_cure(cure.batch, workshop)) == {"Ready", "Bars left"}


def test_two_of_one_day_tell_a_loss_and_no_pace(shop, workshop):
    cure = cut_days_ago(shop, 10)
    for grams in (100, 98):
        weigh_in(cure=cure, on=days_ago(9), grams=Decimal(grams), bars=1, key=uuid4(), by=shop.maker)

    found = of_cure(cure.batch, workshop)

    assert found["Lost since the first weight"].figure == "2.0\xa0%"
    assert "Lost in a week, of late" not in found


def test_the_pace_is_told_with_the_days_between(shop, workshop):
    cure = cut_days_ago(shop, 20)
    for ago, grams in ((19, 200), (5, 180)):
        weigh_in(cure=cure, on=days_ago(ago), grams=Decimal(grams), bars=2, key=uuid4(), by=shop.maker)

    found = of_cure(cure.batch, workshop)["Lost in a week, of late"]

    assert found.figure == "5.0\xa0%"
    assert told(found)["Days between"] == "14"
    assert "180 g for 2 bars" in " ".join(entry.source for entry in found.entries).replace("\xa0", " ")


# The pages.


def test_the_page_of_a_batch_opens_its_figures(client_of, shop):
    shown = text_of(client_of(shop.maker).get(address("batch", cut_days_ago(shop, 3).batch)))

    for name in ("Superfat, as poured", "Lye could reach", "Materials cost", "How these were worked out"):
        assert name in shown


def test_the_plan_opens_its_figures(client_of, shop):
    page = client_of(shop.maker).get(f"/pour/plan/{shop.version.pk}/").content.decode()

    for name in ("Superfat, as weighed", "Cost a bar", "All fats", "Batter"):
        assert f"<span>{name}</span>" in page


def test_the_bench_opens_the_weights_that_are_planned(client_of, shop):
    page = client_of(shop.maker).get(address("weigh", shop.plan())).content.decode()

    assert 'id="bench-how"' in page
    assert "<span>Olive oil</span>" in page


def test_what_does_not_react_is_not_told_among_what_does(shop, workshop):
    assert "Scent" not in told(of_batch(shop.plan(), workshop)["Superfat, planned"])
