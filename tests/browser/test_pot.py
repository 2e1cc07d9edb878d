"""What is in the pot of a batch, on the phone and in the book, whatever was done at the bench."""

from __future__ import annotations

import random
from dataclasses import asdict
from decimal import Decimal
from typing import Any

import pytest
from django.templatetags.static import static

from batches.frozen import FrozenRecipe
from batches.models import Batch, Line
from batches.safety import assess_pot, pot_of
from recipes.design import Part
from recipes.models import Stage, Version
from recipes.services import create_recipe
from shared.saponification import SafetyRange
from tests.batches.bench import Bench, bench
from tests.batches.phone import Phone
from tests.browser.test_arithmetic import Pot, differences
from tests.factories import LotFactory, MaterialFactory, WorkshopFactory, design

POT = """async ([address, pack, deeds]) => {
  const { measuresOf, potOf } = await import(address);
  return { ...potOf(pack, deeds), ...measuresOf(pack) };
}"""
RANGE = """async ([pot, safety, pack, deeds]) => {
  const [{ measuresOf, potOf }, { assess }] = await Promise.all([import(pot), import(safety)]);
  const { fats, alkalis, acids } = potOf(pack, deeds);
  return assess(fats, alkalis, acids, measuresOf(pack));
}"""


@pytest.fixture
def shop(transactional_db) -> Bench:
    """With a second lot of each material, some with a certificate, and something sour in the recipe."""
    shop = bench()
    sour = MaterialFactory(name="Sour", additive=True, acid="citric")
    shop.materials["Sour"], shop.lots["Sour"] = sour, LotFactory(material=sour)
    for name, certificate in CERTIFICATES.items():
        LotFactory(material=shop.materials[name], **certificate)
    return shop


ENDS = ("low", "nominal", "high")
TUB = ("kind", "grams", "purity_low", "purity_high", "dissolved", "step")
CERTIFICATES: dict[str, dict[str, Decimal]] = {
    "Olive oil": {"sap": Decimal("188.4"), "sap_uncertainty": Decimal("0.6")},
    "Coconut oil": {"sap": Decimal("251.35"), "sap_uncertainty": Decimal("1.2")},
    "Lye": {"purity": Decimal("99.2"), "purity_uncertainty": Decimal("0.35")},
    "Palm oil": {},
}


def with_milk(shop: Bench) -> Version:
    """A recipe with a ready-made lye, vinegar in it, and milk at trace; two lots of each."""
    lye = MaterialFactory(name="Lye at 50 %", naoh=True, purity_low=49, purity_high=51, dissolved=True)
    sour = {"acid": "acetic", "acid_least": 4, "water": Decimal("94.78")}
    vinegar = MaterialFactory(name="Vinegar", liquid=True, **sour)
    fat = {"fat": Decimal("4.14"), "fat_low": Decimal("3.31"), "fat_high": Decimal("4.97")}
    milk = MaterialFactory(
        name="Goat milk", liquid=True, water=Decimal("87.03"), fat_reference="milk_fat", **fat
    )
    for material in (lye, vinegar, milk):
        LotFactory.create_batch(2, material=material)
    olive = Part(shop.materials["Olive oil"], Decimal(100))
    alkali, liquid = Part(lye, Decimal(100)), Part(vinegar, Decimal(60))
    mixed = design(olive, alkali, liquid, Part(milk, Decimal(40), Stage.TRACE))
    return create_recipe(name="Milk and vinegar", design=mixed, cure_days=28, by=shop.maker)


def in_the_book(batch: Batch) -> tuple[dict[str, Any], SafetyRange]:
    """The pot as the server has it, in the words of the phone, and its safety range."""
    frozen, lines = FrozenRecipe.from_json(batch.frozen), lines_of(batch)
    pot = pot_of(frozen, lines)
    told = Pot(pot.fats, pot.alkalis, pot.acids, float(frozen.scale_step), frozen.limits).told()
    return told | {"liquid": pot.liquid}, assess_pot(frozen, pot)


def lines_of(batch: Batch) -> list[Line]:
    return list(batch.lines.select_related("material").prefetch_related("weighings__lot__material"))


def figures(pot: dict[str, Any]) -> list[Any]:
    """What of a pot has to be the same on both sides."""
    return [
        [[fat[name] for name in ("name", "grams", "lot", "step")] for fat in pot["fats"]],
        [[fat["sap"][end] for end in ENDS] for fat in pot["fats"]],
        [[tub[name] for name in TUB] for tub in pot["alkalis"]],
        [[acid[name] for name in ("kind", "grams", "percent", "step")] for acid in pot["acids"]],
        [pot["liquid"], pot["scaleStep"], pot["limits"]],
    ]


def some_deeds(chance: random.Random, held: Phone, pack: dict[str, Any]) -> list[dict[str, Any]]:
    """Lines weighed out of one lot or two, more or less than planned, taken back, left out, added to."""
    deeds: list[dict[str, Any]] = []
    for line in pack["lines"]:
        what = chance.random()
        if what < 0.2 or line["done"]:
            continue
        lots = [lot["id"] for lot in line["lots"]]
        quantity = (Decimal(line["planned"]) * Decimal(chance.uniform(0.8, 1.1))).quantize(Decimal("0.01"))
        first = {"line": line["id"], "lot": chance.choice(lots), "quantity": str(quantity)}
        deeds.append(held.deed("weigh", **first, more_to_come=what < 0.5))
        if what < 0.3:
            deeds.append(held.deed("undo", weighing=deeds[-1]["key"]))
        elif what < 0.4:
            deeds.append(
                held.deed("weigh", **(first | {"lot": lots[-1], "quantity": "7.35"}), more_to_come=False)
            )
        elif what < 0.5:
            deeds.append(held.deed("leave", line=line["id"], done=True))
        elif what < 0.7:
            deeds.append(held.deed("add", lot=lots[-1], quantity="12.5"))
    return deeds


def test_the_pot_of_a_batch_is_the_same_on_the_phone_before_and_after_its_deeds_are_sent(phone, shop):
    """Whatever was done at the bench: from the pack and the deeds, and from the pack once they are in it."""
    chance = random.Random(8)
    for _ in range(8):
        held = Phone(shop.plan(), shop.maker)
        if chance.random() < 0.5:
            sour = held.deed("add", lot=shop.lots["Sour"].pk, quantity=str(chance.randint(1, 15)))
            assert held.send(sour).result == "done"
        before = held.pack()
        deeds = some_deeds(chance, held, before)
        assert set(held.send_all(deeds)) <= {"done"}
        expected, safety = in_the_book(held.batch)

        for pack, since in ((before, deeds), (held.pack(), []), (held.pack(), deeds)):
            pot = phone.evaluate(POT, [static("soapshop/js/pot.js"), pack, since])
            assert figures(pot) == figures(expected)
            addresses = [static("soapshop/js/pot.js"), static("soapshop/js/safety.js")]
            found = phone.evaluate(RANGE, [*addresses, pack, since])
            assert differences(asdict(safety), found) == []


def test_milk_vinegar_and_ready_made_lye_count_the_same_on_the_phone(phone, shop):
    chance = random.Random(3)
    WorkshopFactory(fine_scale_step=Decimal("0.1"), fine_scale_up_to=Decimal(200))
    version = with_milk(shop)
    for _ in range(4):
        held = Phone(shop.plan(version=version), shop.maker)
        before = held.pack()
        deeds = some_deeds(chance, held, before)
        assert set(held.send_all(deeds)) <= {"done"}
        expected, safety = in_the_book(held.batch)

        assert "Goat milk" in [fat["name"] for fat in expected["fats"]]
        for pack, since in ((before, deeds), (held.pack(), [])):
            pot = phone.evaluate(POT, [static("soapshop/js/pot.js"), pack, since])
            assert figures(pot) == figures(expected)
            addresses = [static("soapshop/js/pot.js"), static("soapshop/js/safety.js")]
            found = phone.evaluate(RANGE, [*addresses, pack, since])
            assert differences(asdict(safety), found) == []


def test_deeds_that_were_kept_aside_are_not_in_the_pot(phone, shop):
    held = Phone(shop.plan(), shop.maker)
    pack, deed = held.pack(), held.weigh("Olive oil", 900, shop.lots["Olive oil"])

    pot = phone.evaluate(POT, [static("soapshop/js/pot.js"), pack, [{**deed, "aside": True}]])

    assert figures(pot) == figures(in_the_book(held.batch)[0])
