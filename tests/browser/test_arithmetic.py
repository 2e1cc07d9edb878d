"""The arithmetic on the phone against that of the server: the same figures, verdicts and refusals."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from statistics import NormalDist
from typing import Any

import pytest
from django.templatetags.static import static
from playwright.sync_api import Page

from batches.queries.chemistry import chemistry
from shared.ingredients import nominal_mol
from shared.saponification import (
    Acid,
    AcidKind,
    Alkali,
    AlkaliKind,
    Fat,
    FormulaError,
    Limits,
    Sap,
    assess,
)

RECIPES = 4_000
AGREES_TO = 1e-9
FIGURES = ["nominal", "likely_low", "likely_high", "worst_low", "worst_high", "standard_uncertainty"]
SODA, POTASH = AlkaliKind.NAOH, AlkaliKind.KOH
STEPS = [0.0, 0.01, 0.1, 1.0, 1.0, 1.0, 2.0, 5.0, 28.35, 500.0]
LIMITS = [Limits(), Limits(), Limits(), Limits(0.02, 0.4)]
PURITIES = {SODA: [(97.0, 100.0), (98.5, 99.5), (99.0, 99.0)], POTASH: [(85.0, 92.0), (89.0, 91.0)]}


@dataclass(frozen=True)
class Pot:
    """What is in the pot, the step of the scale that weighed it in grams, and the limits of the workshop."""

    fats: tuple[Fat, ...]
    alkalis: tuple[Alkali, ...]
    acids: tuple[Acid, ...]
    scale_step: float
    limits: Limits

    def assess(self) -> dict[str, Any]:
        """The server's answer as the phone would give it."""
        try:
            answer = assess(
                self.fats, self.alkalis, self.acids, scale_step=self.scale_step, limits=self.limits
            )
        except FormulaError as error:
            return {"field": error.field, "message": str(error)}
        return asdict(answer)

    def told(self) -> dict[str, Any]:
        """The pot as the phone has it."""
        return {
            "fats": [asdict(fat) for fat in self.fats],
            "alkalis": [{**asdict(alkali), "kind": alkali.kind.formula} for alkali in self.alkalis],
            "acids": [asdict(acid) for acid in self.acids],
            "scaleStep": self.scale_step,
            "limits": asdict(self.limits),
        }


def random_pots(count: int, seed: int = 20261125) -> Iterator[Pot]:
    """Invented recipes; a third with one or two fats. Now and then a slip of the finger or a zero."""
    chance = random.Random(seed)
    for _ in range(count):
        fats, acids, step = _fats(chance), _acids(chance), chance.choice(STEPS)
        alkalis = _alkalis(chance, nominal_mol(fats), sum(acid.mol for acid in acids))
        yield _with_slips(chance, Pot(fats, alkalis, acids, step, chance.choice(LIMITS)))


def _fats(chance: random.Random) -> tuple[Fat, ...]:
    fats: list[Fat] = []
    for index in range(chance.choice([1, 2, *range(1, 10)])):
        sap, lot = _sap(chance), chance.choice(["", "", f"LOT-{index}"])
        fats.append(Fat(f"Fat {index}", chance.uniform(2, 3000), sap, lot))
        if chance.random() < 0.2:
            fats.append(Fat(f"Fat {index}", chance.uniform(2, 500), sap, lot))
        if chance.random() < 0.1:
            fats.append(Fat(f"Fat {index}", chance.uniform(2, 500), _certificate(chance, sap), "CERT"))
    return tuple(fats)


def _acids(chance: random.Random) -> tuple[Acid, ...]:
    number = chance.choice([0, 0, 0, 1, 2])
    return tuple(
        Acid(chance.choice(list(AcidKind)), chance.uniform(1, 60), chance.choice([100.0, 100.0, 80.0, 5.0]))
        for _ in range(number)
    )


def _sap(chance: random.Random) -> Sap:
    low, width = chance.uniform(50, 300), chance.choice([0.0, 1.0, 12.0, chance.uniform(0, 40)])
    share = chance.choice([0.0, 0.5, 0.5, 1.0, chance.random()])
    return Sap(low, min(low + share * width, low + width), low + width)


def _certificate(chance: random.Random, sap: Sap) -> Sap:
    return Sap.certificate(sap.nominal, chance.uniform(0, 3), "certificate")


def _alkalis(chance: random.Random, fat_mol: float, acid_mol: float) -> tuple[Alkali, ...]:
    """One alkali or two that take the fats down to some superfat, each out of one tub or two."""
    superfat = chance.choice([0.0, 1.0, 2.0, 3.0, 5.0, chance.uniform(-5, 30)])
    mol = fat_mol * (1 - superfat / 100) + acid_mol
    share = chance.choice([1.0, 1.0, 1.0, 0.0, chance.random()])
    tubs: list[Alkali] = []
    for kind, part in ((SODA, share), (POTASH, 1 - share)):
        low, high = chance.choice(PURITIES[kind])
        if part:
            grams = 100 * part * mol * kind.molar_mass / ((low + high) / 2)
            tubs += _in_one_or_two(chance, Alkali(kind, grams, low, high))
    return tuple(tubs)


def _in_one_or_two(chance: random.Random, whole: Alkali) -> list[Alkali]:
    """An alkali out of one tub, or out of two of the same or of another purity."""
    if chance.random() < 0.8:
        return [whole]
    share, low = chance.random(), whole.purity_low - chance.choice([0, 1.4])
    return [
        Alkali(whole.kind, share * whole.grams, whole.purity_low, whole.purity_high),
        Alkali(whole.kind, (1 - share) * whole.grams, low, whole.purity_high),
    ]


def _with_slips(chance: random.Random, pot: Pot) -> Pot:
    """As weighed: to the step of the scale, and sometimes zero, negative or a thousand times too much."""
    fats, alkalis, acids = list(pot.fats), list(pot.alkalis), list(pot.acids)
    rounded = chance.random() < 0.5 and pot.scale_step
    factor = chance.choice([1, 1, 1, 1, 1, 1, 1, 0, 0.001, 1000, -1])
    slip = chance.choice([fats, alkalis, acids])
    for items in (fats, alkalis, acids):
        for place, item in enumerate(items):
            grams = round(item.grams / rounded) * rounded if rounded else item.grams
            grams *= factor if items is slip and place == 0 else 1
            step = chance.choice([None, None, None, 0.1])
            items[place] = type(item)(**{**_fields(item), "grams": grams, "step": step})
    return Pot(tuple(fats), tuple(alkalis), tuple(acids), pot.scale_step, pot.limits)


def _fields(item: Fat | Alkali | Acid) -> dict[str, Any]:
    return {name: getattr(item, name) for name in item.__dataclass_fields__}


ASSESS_ALL = """async ([address, told, chemistry]) => {
  const { assess, FormulaError } = await import(address);
  const answers = JSON.parse(told).map(({ fats, alkalis, acids, scaleStep, limits }) => {
    try {
      return assess(fats, alkalis, acids, { scaleStep, limits, chemistry });
    } catch (error) {
      if (!(error instanceof FormulaError)) throw error;
      return { field: error.field, message: error.message };
    }
  });
  return JSON.stringify(answers);
}"""


def on_the_phone(phone: Page, pots: list[Pot]) -> list[dict[str, Any]]:
    told = json.dumps([pot.told() for pot in pots])
    answers = phone.evaluate(ASSESS_ALL, [static("soapshop/js/safety.js"), told, chemistry()])
    return json.loads(answers)  # type: ignore[no-any-return]


def differences(server: dict[str, Any], there: dict[str, Any]) -> list[str]:
    if "field" in server or "field" in there:
        return [] if server == there else [f"{server} against {there}"]
    words = [name for name in ("verdict", "narrows_most") if server[name] != there[name]]
    figures = [name for name in [*FIGURES, "chance_lye_heavy"] if not close(server[name], there[name])]
    return [f"{name}: {server[name]} against {there[name]}" for name in words + figures]


def close(one: float, other: float) -> bool:
    """To 1e-9 of a point, or of the figure itself where a slip makes it absurdly large."""
    return abs(one - other) <= AGREES_TO * max(1.0, abs(one))


@pytest.fixture(scope="module")
def pots() -> list[Pot]:
    return list(random_pots(RECIPES))


@pytest.fixture(scope="module")
def server(pots: list[Pot]) -> list[dict[str, Any]]:
    """What the server says of each."""
    return [pot.assess() for pot in pots]


def test_thousands_of_random_pots_come_out_the_same_on_the_phone(phone, pots, server):
    answers = on_the_phone(phone, pots)

    wrong = {
        number: found
        for number, (mine, its) in enumerate(zip(server, answers, strict=True))
        if (found := differences(mine, its))
    }
    assert wrong == {}


def test_the_random_pots_are_of_every_sort(pots, server):
    """The control of the test above: it would say little if all pots were alike."""
    verdicts = Counter(answer.get("verdict", "refused") for answer in server)
    refused = {answer["field"] for answer in server if "field" in answer}

    assert min(verdicts[each] for each in ("safe", "watch", "stop", "refused")) > RECIPES / 20
    assert refused == {"fats", "alkalis", "acids"}
    assert sum(len({fat.name for fat in pot.fats}) <= 2 for pot in pots) > RECIPES / 3
    assert sum(len({alkali.kind for alkali in pot.alkalis}) == 2 for pot in pots) > RECIPES / 10
    assert sum(answer.get("narrows_most") == "the scale" for answer in server) > RECIPES / 20


def test_what_the_server_refuses_the_phone_refuses_in_the_same_words(phone):
    sap, soda = Sap(184, 190, 196), Alkali(SODA, 135, 97, 100)
    fats = (Fat("Olive oil", 1000, sap),)
    bad = [
        Pot((), (soda,), (), 1, Limits()),
        Pot((Fat("Olive oil", 2e6, sap),), (soda,), (), 1, Limits()),
        Pot((Fat("Olive oil", 1000, Sap(196, 190, 184)),), (soda,), (), 1, Limits()),
        Pot((Fat("Olive oil", 1000, Sap(0.5, 190, 1200)),), (soda,), (), 1, Limits()),
        Pot((Fat("Olive oil", 1, sap),), (soda,), (), 2, Limits()),
        Pot(fats, (), (), 1, Limits()),
        Pot(fats, (Alkali(SODA, 135, 100, 97),), (), 1, Limits()),
        Pot(fats, (Alkali(POTASH, 135, 0.5, 101),), (), 1, Limits()),
        Pot(fats, (soda,), (Acid(AcidKind.CITRIC, -1),), 1, Limits()),
        Pot(fats, (soda,), (Acid(AcidKind.CITRIC, 10, 101.0),), 1, Limits()),
        Pot(fats, (soda,), (Acid(AcidKind.CITRIC_MONOHYDRATE, 900),), 1, Limits()),
        Pot(fats, (soda,), (), -1, Limits()),
        Pot(fats, (soda,), (), 1001, Limits()),
    ]

    answers = on_the_phone(phone, bad)

    assert [set(answer) for answer in answers] == [{"field", "message"}] * len(bad)
    assert answers == [pot.assess() for pot in bad]


def test_the_quantile_of_the_normal_law_is_that_of_the_server(phone):
    chances = [10.0**-power for power in range(1, 13)] + [share / 997 for share in range(1, 997)]
    chances += [1 - chance for chance in chances]

    found = phone.evaluate(
        "async ([address, chances]) => chances.map((await import(address)).normalQuantile)",
        [static("soapshop/js/uncertainty.js"), chances],
    )

    assert found == pytest.approx([NormalDist().inv_cdf(chance) for chance in chances], rel=1e-13, abs=1e-13)


TIME_ALL = """async ([address, told, chemistry]) => {
  const { assess } = await import(address);
  const pots = JSON.parse(told);
  const rounds = Array.from({ length: 5 }, () => {
    const start = performance.now();
    for (const { fats, alkalis, acids, scaleStep, limits } of pots) {
      assess(fats, alkalis, acids, { scaleStep, limits, chemistry });
    }
    return (performance.now() - start) / pots.length;
  });
  return Math.min(...rounds);
}"""


def test_a_pot_is_assessed_on_the_phone_before_anyone_notices(phone, pots, server):
    """The quickest of five rounds, since the machine may be busy; with room for a phone ten times slower."""
    sound = [pot.told() for pot, answer in zip(pots, server, strict=True) if "field" not in answer]
    told = json.dumps(sound[:500])

    milliseconds = phone.evaluate(TIME_ALL, [static("soapshop/js/safety.js"), told, chemistry()])

    assert milliseconds < 2
