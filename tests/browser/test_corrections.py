"""The way back on the phone against that of the server: the same weights, verdicts and refusals."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import pytest
from django.templatetags.static import static

from batches.queries.chemistry import chemistry
from shared.saponification import FatOnHand, FormulaError, Sap, restore
from tests.browser.test_arithmetic import Pot, close, differences, random_pots

POTS = 2_000


@dataclass(frozen=True)
class Slip:
    """A pot as it stands, what the recipe aims at in %, and what could go in."""

    pot: Pot
    superfat: float
    liquid: float
    on_hand: tuple[FatOnHand, ...]

    def ways(self) -> dict[str, Any]:
        """The server's answer as the phone would give it."""
        pot = self.pot
        try:
            ways = restore(
                pot.fats,
                pot.alkalis,
                pot.acids,
                superfat=self.superfat,
                on_hand=self.on_hand,
                liquid_grams=self.liquid,
                scale_step=pot.scale_step,
                limits=pot.limits,
            )
        except FormulaError as error:
            return {"field": error.field, "message": str(error)}
        return {"ways": [asdict(way) for way in ways]}

    def told(self) -> dict[str, Any]:
        """The same as the phone has it."""
        fats = [
            {"name": fat.name, "sap": asdict(fat.sap), "available": fat.grams_available, "lot": fat.lot}
            for fat in self.on_hand
        ]
        return {**self.pot.told(), "liquid": self.liquid, "superfat": self.superfat, "onHand": fats}


def random_slips(count: int) -> Iterator[Slip]:
    chance = random.Random(20261128)
    for pot in random_pots(count, seed=41):
        fats = tuple(_on_hand(chance, number) for number in range(chance.choice([0, 1, 1, 2])))
        superfat = chance.choice([0.0, 3.0, 5.0, 8.0, chance.uniform(-6, 31)])
        yield Slip(pot, superfat, chance.choice([0.0, chance.uniform(50, 2000)]), fats)


def _on_hand(chance: random.Random, number: int) -> FatOnHand:
    low = chance.choice([0.5, *[chance.uniform(50, 280) for _ in range(20)]])
    sap = Sap(low, low + chance.uniform(0, 5), low + chance.uniform(5, 15))
    return FatOnHand(
        f"Fat {number}", sap, chance.choice([5.0, 200.0, 5000.0]), chance.choice(["", f"LOT-{number}"])
    )


RESTORE_ALL = """async ([address, told, chemistry]) => {
  const { restore } = await import(address);
  const answers = JSON.parse(told).map(({ scaleStep, limits, superfat, onHand, ...pot }) => {
    try {
      return { ways: restore(pot, { scaleStep, limits, chemistry }, { superfat, onHand }) };
    } catch (error) {
      if (error.name !== "FormulaError") throw error;
      return { field: error.field, message: error.message };
    }
  });
  return JSON.stringify(answers);
}"""


@pytest.fixture(scope="module")
def slips() -> list[Slip]:
    return list(random_slips(POTS))


@pytest.fixture(scope="module")
def server(slips: list[Slip]) -> list[dict[str, Any]]:
    return [slip.ways() for slip in slips]


def unlike(mine: dict[str, Any], its: dict[str, Any]) -> list[str]:
    """What differs of two answers: figures by more than 1e-9, anything else at all."""
    if "field" in mine or "field" in its or len(mine["ways"]) != len(its["ways"]):
        return [] if mine == its else [f"{mine} against {its}"]
    return [fault for pair in zip(mine["ways"], its["ways"], strict=True) for fault in _unlike_ways(*pair)]


def _unlike_ways(mine: dict[str, Any], its: dict[str, Any]) -> list[str]:
    names = [name for name in ("kind", "name", "lot", "enough", "dissolved") if mine[name] != its[name]]
    figures = [name for name in ("grams", "liquid_grams") if not close(mine[name], its[name])]
    said = [f"{name}: {mine[name]} against {its[name]}" for name in names + figures]
    return said + differences(mine["after"], its["after"])


def test_thousands_of_random_pots_have_the_same_way_back_on_the_phone(phone, slips, server):
    told = json.dumps([slip.told() for slip in slips])
    answers = json.loads(
        phone.evaluate(RESTORE_ALL, [static("soapshop/js/corrections.js"), told, chemistry()])
    )

    pairs = zip(server, answers, strict=True)
    assert {number: found for number, pair in enumerate(pairs) if (found := unlike(*pair))} == {}


def test_the_random_slips_are_of_every_sort(server):
    """The control of the test above: fat and lye, enough and too little, nothing, and what is refused."""
    kinds = Counter((way["kind"], way["enough"]) for answer in server for way in answer.get("ways", []))
    refused = {answer["field"] for answer in server if "field" in answer}

    assert min(kinds["fat", True], kinds["fat", False], kinds["lye", True]) > POTS / 10
    assert sum(answer.get("ways") == [] for answer in server) > POTS / 10
    assert refused == {"fats", "alkalis", "acids", "superfat"}
