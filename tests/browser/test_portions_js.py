"""What remains in the bucket, split on the phone as on the server: the same weights, the same refusals."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import pytest
from django.templatetags.static import static
from playwright.sync_api import Page

from shared.portions import (
    KEPT_BACK,
    MOULD,
    Addition,
    Basis,
    Plan,
    Portion,
    PortionError,
    resolve,
    stirred_in,
)
from shared.scaling import Scale
from tests.shared.batters import PLAIN, TENTH, TWO_SCALES, plan

BUCKETS = 1_500
NAMES = ["White", "Rose", "Blue", "Ochre", "Ash", "Moss", "Rosé “dawn”"]
SCALES = [
    Scale(Decimal("1.00")),
    Scale(Decimal(1)),
    TENTH,
    Scale(Decimal("0.01")),
    Scale(Decimal(5)),
    Scale(Decimal("28.35")),
    TWO_SCALES,
    Scale(Decimal("1.00"), Decimal("0.01"), Decimal("200.00")),
    Scale(Decimal(10), Decimal("0.5"), Decimal("1200.00")),
]
SLIPS = [0.0, -1.0, 1e-9, 101.0, 2001.0, 1e6, 1e7, float("nan"), float("inf")]
LITTLE = [0.001, 0.0049, 0.005, 0.015, 0.1, 0.3]
SIZES = ("share", "grams", "layer_mm")


@dataclass(frozen=True)
class Bucket:
    """A plan, and the grams poured so far of its portions."""

    plan: Plan
    done: dict[str, Decimal]

    def answer(self) -> dict[str, Any]:
        """The server's answer as the phone would give it."""
        try:
            split = resolve(self.plan, self.done)
        except PortionError as error:
            said = {"field": error.field, "cause": error.cause, "message": str(error)}
            return {**said, "portions": list(error.portions)}
        jugs = [
            {
                "name": jug.portion.name,
                "grams": str(jug.grams),
                "fats": jug.fats,
                "additions": [{"name": name, "grams": str(grams)} for name, grams in jug.additions],
                "height_mm": jug.height_mm,
                "vessel_ml": jug.vessel_ml,
            }
            for jug in split.jugs
        ]
        return {"batter": str(split.batter), "left_over": str(split.left_over), "jugs": jugs}

    def told(self) -> dict[str, Any]:
        """The same as the phone has it."""
        told = {
            "batter": text(self.plan.batter),
            "fats_share": text(self.plan.fats_share),
            "scale": told_scale(self.plan.scale),
            "area_mm2": text(self.plan.area_mm2),
            "density": text(self.plan.density),
            "portions": [told_portion(portion) for portion in self.plan.portions],
        }
        return {"plan": told, "done": {name: str(grams) for name, grams in self.done.items()}}


def text(figure: float | None) -> str | None:
    """A figure that reads as the same binary fraction on both sides."""
    return None if figure is None else repr(figure)


def told_scale(scale: Scale) -> dict[str, Any]:
    fine = scale.fine_step and {"step": str(scale.fine_step), "up_to": str(scale.fine_up_to)}
    return {"step": str(scale.step), "fine": fine}


def told_portion(portion: Portion) -> dict[str, Any]:
    return {
        "name": portion.name,
        **{size: text(getattr(portion, size)) for size in SIZES},
        "rest": portion.rest,
        "additions": [
            {"name": name, "amount": text(amount), "basis": basis}
            for name, amount, basis in portion.additions
        ],
        "destination": portion.destination,
        "order": portion.order,
    }


# Invented buckets


def random_buckets(count: int, seed: int = 20261128) -> Iterator[Bucket]:
    """Portions of round and of any size, some poured, more or less than planned. Now and then a slip."""
    chance = random.Random(seed)
    for _ in range(count):
        batter = chance.choice([5000.0, 4980.0, 1000.5, 333.0, round(chance.uniform(50, 20_000), 2)])
        names = chance.sample(NAMES, chance.choice([1, 2, 3, 3, 4, 5, 7]))
        left_open = chance.choice([*names, None, None])
        portions = tuple(_portion(chance, name, batter / len(names), name == left_open) for name in names)
        bucket = Plan(
            portions,
            chance.choice([65.0, chance.uniform(40, 80)]),
            chance.choice(SCALES),
            chance.choice([batter] * 7 + [None]),
            chance.choice([20_000.0] * 9 + [None]),
            chance.choice([1.0, chance.uniform(0.9, 1.2)] * 6 + [None]),
        )
        done = _done(chance, names, batter / len(names))
        yield Bucket(_with_slip(chance, bucket), done)


def _portion(chance: random.Random, name: str, grams: float, left_open: bool) -> Portion:
    """About so many grams, told in one way, or now and then in two."""
    grams *= chance.choice([1.0, 0.9, chance.uniform(0.3, 1.1)])
    sizes = {
        "share": chance.choice([5.0, 12.5, 20.0, 25.0, 33.3, chance.uniform(1, 50)]),
        "grams": chance.choice([round(grams), round(grams) + 0.5, round(grams, 2), grams]),
        "layer_mm": chance.choice([round(grams / 20, 1), 12.5]),
    }
    ways = [] if left_open else chance.choice([["share"]] * 5 + [["grams"]] * 4 + [["layer_mm"]])
    if chance.random() < 0.02:
        ways = chance.sample(SIZES, chance.choice([0, 2, 3]))
    return Portion(
        name,
        **{way: float(sizes[way]) for way in ways},
        rest=chance.random() < (0.5 if left_open else 0.01),
        additions=_additions(chance),
        destination=chance.choice([MOULD] * 12 + [KEPT_BACK]),
        order=chance.randint(0, 3),
    )


def _additions(chance: random.Random) -> tuple[Addition, ...]:
    amounts = [0.0, 0.0005, 0.0125, 0.1, 0.125, 3.0, chance.uniform(0, 6), chance.uniform(0, 0.02)]
    return tuple(
        Addition(name, chance.choice(amounts), chance.choice(list(Basis)))
        for name in chance.sample(["Scent", "Mica", "Clay", "Charcoal"], chance.choice([0, 1, 2, 4]))
    )


def _done(chance: random.Random, names: list[str], grams: float) -> dict[str, Decimal]:
    """What was poured of some, in any order, close to what they might be or far from it."""
    share = chance.choice([0.0, 0.3, 0.5, 0.8, 1.0])
    factor = chance.choice([0.5, 1.0, 1.0, 1.5])
    poured = [name for name in names if chance.random() < share]
    chance.shuffle(poured)
    step = chance.choice([Decimal("0.01"), Decimal("0.1"), Decimal(1)])
    return {name: Decimal(chance.uniform(0, factor) * grams).quantize(step) for name in poured}


def _with_slip(chance: random.Random, bucket: Plan) -> Plan:
    """The same, or one time in eight with one figure that is hardly meant."""
    if chance.random() < 7 / 8:
        return bucket
    slip = chance.choice(SLIPS)
    field = chance.choice(["batter", "fats_share", "area_mm2", "density", "additions", *SIZES])
    if field in ("batter", "fats_share", "area_mm2", "density"):
        return replace(bucket, **{field: slip})
    first, *others = bucket.portions
    bare = replace(first, share=None, grams=None, layer_mm=None, rest=False)
    figure = (Addition("Mica", slip, chance.choice(list(Basis))),) if field == "additions" else slip
    return replace(bucket, portions=(replace(bare, **{field: figure}), *others))


# Compared

RESOLVE_ALL = """async ([address, told]) => {
  const { resolve } = await import(address);
  const answers = JSON.parse(told).map(({ plan, done }) => {
    try {
      return resolve(plan, done);
    } catch (error) {
      if (error.name !== "PortionError") throw error;
      const { field, cause, portions, message } = error;
      return { field, cause, portions, message };
    }
  });
  return JSON.stringify(answers);
}"""


def on_the_phone(phone: Page, told: list[dict[str, Any]]) -> list[dict[str, Any]]:
    source = static("soapshop/js/pocket/portions.js")
    return json.loads(phone.evaluate(RESOLVE_ALL, [source, json.dumps(told)]))  # type: ignore[no-any-return]


def unlike(phone: Page, buckets: list[Bucket]) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """The answers that are not the same to the last bit, each the server's and the phone's."""
    answers = on_the_phone(phone, [bucket.told() for bucket in buckets])
    pairs = zip([bucket.answer() for bucket in buckets], answers, strict=True)
    return [(mine, its) for mine, its in pairs if mine != its]


@pytest.fixture(scope="module")
def buckets() -> list[Bucket]:
    return list(random_buckets(BUCKETS))


def test_hundreds_of_random_buckets_are_split_the_same_on_the_phone(phone, buckets):
    assert unlike(phone, buckets) == []


def test_the_random_buckets_are_of_every_sort(buckets):
    """The control of the test above: split with and without something left over, refused for each cause."""
    answers = [(bucket, bucket.answer()) for bucket in buckets]
    split = [(bucket, answer) for bucket, answer in answers if "jugs" in answer]
    partly = [answer for bucket, answer in split if bucket.done and answer["jugs"]]
    left_over = [answer for answer in partly if Decimal(answer["left_over"])]
    causes = Counter(answer["cause"] for _, answer in answers if "cause" in answer)
    fields = {answer["field"] for _, answer in answers if "field" in answer}

    assert len(split) > BUCKETS / 3
    assert len(partly) > BUCKETS / 6
    assert len(left_over) > BUCKETS / 50
    assert min(causes["figure"], causes["over"], causes["under"]) > BUCKETS / 30
    assert fields > {"batter", "fats", "area", "density", "share", "grams", "layer", "size", "additions"}
    assert fields > {"done", "scale"}


def test_a_step_that_two_portions_have_an_equal_claim_to_goes_to_the_same_one(phone):
    """Halves and thirds of a step, told as grams, as shares and as the rest."""
    halves = [Portion("Pink", grams=100.5), Portion("Blue", grams=250.5), PLAIN]
    thirds = [Portion(name, share=33.3, order=-number) for number, name in enumerate(NAMES[:3])]
    quarters = [Portion("Pink", share=12.5), Portion("Blue", share=12.5), Portion("Ash", grams=7.25), PLAIN]
    designs = [
        plan(*portions, batter=batter)
        for portions in (halves, thirds, quarters)
        for batter in (1000.0, 1001.0, 1002.0, 1000.5, 999.75)
    ]
    buckets = [Bucket(design, {}) for design in designs]
    buckets += [Bucket(design, {design.portions[0].name: Decimal("99.5")}) for design in designs]

    assert all("jugs" in bucket.answer() for bucket in buckets)
    assert unlike(phone, buckets) == []


def test_what_is_too_little_for_the_scale_is_rounded_the_same(phone):
    """Eighths of a gram lie halfway between two hundredths; 0.1 g lies at the end of the fine scale."""
    eighths = [Addition(str(number), number / 8) for number in range(5)]
    little = [Addition(str(grams), grams, basis) for grams in LITTLE for basis in Basis]
    powder = replace(PLAIN, additions=(*eighths, *little))
    ends = [Scale(Decimal(1), Decimal("0.03"), Decimal(limit)) for limit in ("0.1", "0.3", "0.10", "100")]
    designs = [plan(powder, batter=100.0, scale=scale) for scale in [*SCALES, *ends]]

    assert unlike(phone, [Bucket(design, {}) for design in designs]) == []


PINK, CREAM = Portion("Pink", grams=300.0), Portion("Cream", share=40.0)
LAYER = Portion("Pink", layer_mm=20.0)
TOO_MUCH = {"Pink": Decimal("0.00"), "Plain": Decimal(1002)}
REFUSED = [
    Bucket(plan(batter=1000.0), {}),
    Bucket(plan(PLAIN, Portion(" "), batter=1000.0), {}),
    Bucket(plan(PLAIN, PLAIN, batter=1000.0), {}),
    Bucket(plan(replace(PLAIN, additions=(Addition("Mica", 101.0),)), batter=1000.0), {}),
    Bucket(plan(replace(PLAIN, additions=(Addition("Clay", -1.0, Basis.FATS),)), batter=1000.0), {}),
    Bucket(plan(replace(PINK, layer_mm=5.0), batter=1000.0), {}),
    Bucket(plan(replace(PINK, rest=True), batter=1000.0), {}),
    Bucket(plan(LAYER, batter=1000.0), {}),
    Bucket(plan(LAYER, batter=1000.0, area=20_000.0), {}),
    Bucket(plan(replace(LAYER, destination=KEPT_BACK), batter=1000.0, area=20_000.0, density=1.0), {}),
    Bucket(plan(PINK, PLAIN, Portion("Open"), batter=1000.0), {}),
    Bucket(plan(PINK, PLAIN), {}),
    Bucket(plan(CREAM, Portion("Ash", share=60.0)), {}),
    Bucket(plan(CREAM, Portion("Ash", share=61.0)), {}),
    Bucket(plan(CREAM, Portion("Ash", share=59.0)), {}),
    Bucket(plan(CREAM, Portion("Ash", share=60.0), PINK), {}),
    Bucket(plan(replace(PINK, share=30.0), replace(CREAM, grams=500.0), PLAIN), {}),
    Bucket(plan(replace(PINK, share=0.01), PLAIN), {}),
    Bucket(plan(PINK, PLAIN, batter=1000.0), {"Green": Decimal(1)}),
    Bucket(plan(PINK, PLAIN, batter=1000.0), {"Pink": Decimal(-1)}),
    Bucket(plan(PINK, PLAIN, batter=1000.0), {"Pink": Decimal("NaN")}),
    Bucket(plan(PINK, PLAIN, batter=1000.0), TOO_MUCH),
    Bucket(plan(PINK, PLAIN, CREAM, batter=1000.0), {"Plain": Decimal(950)}),
    Bucket(plan(PINK, PLAIN, CREAM, batter=1000.0), {"Plain": Decimal(1000), "Pink": Decimal("0.5")}),
    Bucket(plan(PLAIN, CREAM, batter=1000.0), {"Plain": Decimal(1001)}),
    *(
        Bucket(plan(PLAIN, Portion("Dot", grams=grams), batter=1000.0, scale=Scale(Decimal(5))), {})
        for grams in (2.0, 0.125, 0.5, 0.995, 0.0123, 0.00012, 0.000012)
    ),
    Bucket(plan(PLAIN, Portion("Dot", grams=240.0), batter=5000.0, scale=Scale(Decimal("500.00"))), {}),
]


def test_every_refusal_is_in_the_same_words(phone):
    assert ["message" in bucket.answer() for bucket in REFUSED] == [True] * len(REFUSED)
    assert unlike(phone, REFUSED) == []


def test_what_is_no_figure_is_refused_and_not_counted_as_nothing(phone):
    bucket = Bucket(plan(PINK, PLAIN, batter=1000.0), {"Pink": Decimal(300)}).told()
    told = [{**bucket, "done": {"Pink": typed}} for typed in ("", " ", None, "3 00", "🧼")]

    answers = on_the_phone(phone, told)

    assert [(answer["field"], answer["cause"], answer["portions"]) for answer in answers] == [
        ("done", "figure", ["Pink"])
    ] * len(told)


def test_figures_may_come_as_numbers_too(phone):
    bucket = Bucket(plan(PINK, PLAIN, CREAM, batter=1000.5, density=1.05), {"Pink": Decimal("299.5")})
    told = bucket.told()
    told["plan"] |= {"batter": 1000.5, "density": 1.05, "fats_share": 65}
    told["done"] = {"Pink": 299.5}

    assert on_the_phone(phone, [told]) == [bucket.answer()]


IN_A_MAP = """async ([address, plan, done]) => {
  const { resolve } = await import(address);
  try { resolve(plan, new Map(done)) } catch (error) { return [error.portions, error.message] }
}"""


def test_portions_called_by_numbers_keep_the_order_in_which_they_were_poured(phone):
    bucket = Bucket(
        plan(Portion("1", share=50.0), Portion("2", share=50.0), batter=1000.0),
        {"2": Decimal(600), "1": Decimal(500)},
    )
    told, expected = bucket.told(), bucket.answer()

    source = static("soapshop/js/pocket/portions.js")
    found = phone.evaluate(IN_A_MAP, [source, told["plan"], [list(one) for one in told["done"].items()]])

    assert found == [["2", "1"], expected["message"]]
    assert expected["portions"] == ["2", "1"]


STIRRED_IN = """async ([address, told]) => {
  const { stirredIn } = await import(address);
  return JSON.parse(told).map(([plan, name, grams]) => stirredIn(plan, name, grams));
}"""


def test_what_goes_into_a_jug_of_another_size_is_the_same_on_the_phone(phone):
    """As where the scale showed other batter than was planned."""
    powder = replace(PLAIN, additions=tuple(_additions(random.Random(7))) or (Addition("Mica", 0.7),))
    asked = [
        (plan(powder, batter=1000.0, scale=scale), Decimal(grams))
        for scale in SCALES
        for grams in ("0.5", "12", "333.33", "1434")
    ]
    told = [[Bucket(design, {}).told()["plan"], PLAIN.name, str(grams)] for design, grams in asked]
    expected = [
        [{"name": name, "grams": str(weight)} for name, weight in stirred_in(design, powder, grams)]
        for design, grams in asked
    ]

    source = static("soapshop/js/pocket/portions.js")
    assert phone.evaluate(STIRRED_IN, [source, json.dumps(told)]) == expected
