"""How large a batch is, and what a scale can show of it."""

import math
from dataclasses import replace
from decimal import ROUND_FLOOR, Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.chemistry import AcidKind
from shared.liquids import WATER, reference_liquids
from shared.saponification import Acid, Fat, Formula, FormulaError, LiquidPart, Verdict, formulate
from shared.scaling import (
    Amount,
    Scale,
    ScalingError,
    round_shares,
    to_bars,
    to_stock,
    to_weight,
    weigh_fats,
    weigh_lye,
    weigh_out,
)
from tests.shared.pots import FOUR_FATS, SODA, centred, formula, formulas, potash, soda

GRAM = Scale(Decimal(1))
TWO_SCALES = Scale(Decimal(5), Decimal("0.1"), Decimal(50))
AMOUNTS = (Amount("Olive oil", 450), Amount("Palm oil", 250, 1000), Amount("Castor oil", 50, 120))


# How large


def test_a_recipe_is_scaled_to_a_weight() -> None:
    assert to_weight(AMOUNTS, 1500) == 2


def test_a_recipe_is_scaled_to_bars() -> None:
    assert to_bars(10, 25) == 2.5


def test_a_recipe_is_scaled_to_what_runs_out_first() -> None:
    assert to_stock(AMOUNTS, GRAM) == (2.4, "Castor oil")
    assert to_stock(AMOUNTS[:2], GRAM) == (4, "Palm oil")


def test_only_whole_steps_of_the_scale_are_used_up() -> None:
    lines = (Amount("Palm oil", 25, 333.7), Amount("Salt", 0, 0))
    assert to_stock(lines, Scale(Decimal(5))).factor == 330 / 25
    factor = to_stock(lines, TWO_SCALES).factor
    fats = (
        Fat("Palm oil", 25 * factor, centred(190, 209)),
        Fat("Olive oil", 71.3 * factor, centred(184, 196)),
    )
    assert weigh_fats(fats, TWO_SCALES)[0] == 330


@pytest.mark.parametrize("grams", [0, -1, math.nan, math.inf, 2e6])
def test_a_size_that_cannot_be_is_refused(grams: float) -> None:
    with pytest.raises(ScalingError) as caught:
        to_weight(AMOUNTS, grams)
    assert caught.value.field == "size"


@pytest.mark.parametrize(("bars", "wanted"), [(0, 5), (5, 0), (5, -1), (5, 10**9)])
def test_bars_that_cannot_be_are_refused(bars: int, wanted: int) -> None:
    with pytest.raises(ScalingError) as caught:
        to_bars(bars, wanted)
    assert caught.value.field == "bars"


@pytest.mark.parametrize(
    "amounts",
    [
        (),
        (Amount("Olive oil", 0, 100),),
        (Amount("Olive oil", math.nan, 100),),
        (Amount("Olive oil", -1, 100),),
        (Amount("Olive oil", 1e9, 100),),
        (Amount("Olive oil", 100),),
        (Amount("Olive oil", 100, math.nan),),
        (Amount("Olive oil", 100, -1),),
        (Amount("Olive oil", 100, 0.4),),
    ],
)
def test_stock_that_makes_no_batch_is_refused(amounts: tuple[Amount, ...]) -> None:
    with pytest.raises(ScalingError) as caught:
        to_stock(amounts, GRAM)
    assert caught.value.field == "amounts"


# What the scale shows


@pytest.mark.parametrize(
    ("grams", "shown"),
    [(12.34, "12.3"), (50, "50.0"), (50.1, "50"), (52.5, "55"), (1000, "1000"), (0.04, "0"), (0.25, "0.3")],
)
def test_small_weights_go_on_the_fine_scale(grams: float, shown: str) -> None:
    assert TWO_SCALES.shows(grams) == Decimal(shown)


def test_without_a_fine_scale_everything_goes_on_the_one_there_is() -> None:
    assert Scale(Decimal(2), fine_up_to=Decimal(50)).shows(13.1) == 14
    assert GRAM.shows(0.1 + 0.2 + 0.7) == 1
    assert GRAM.shows(3 * 0.33333333333, ROUND_FLOOR) == 1


@pytest.mark.parametrize(
    ("step", "fine", "up_to"),
    [
        ("0", None, "0"),
        ("-1", None, "0"),
        ("NaN", None, "0"),
        ("2000", None, "0"),
        ("1", "Infinity", "50"),
        ("1", "0", "50"),
        ("1", "2", "50"),
        ("1", "0.1", "-1"),
        ("1", "0.1", "NaN"),
        ("1", "0.1", "1e9"),
    ],
)
def test_a_scale_that_cannot_be_is_refused(step: str, fine: str | None, up_to: str) -> None:
    with pytest.raises(ScalingError) as caught:
        Scale(Decimal(step), Decimal(fine) if fine else None, Decimal(up_to))
    assert caught.value.field == "scale"


# Shares


def test_shares_add_up_to_a_hundred_by_the_largest_remainder() -> None:
    assert round_shares({"a": 1, "b": 1, "c": 1}) == {"a": 33.34, "b": 33.33, "c": 33.33}
    assert round_shares({"a": 33.4, "b": 33.3, "c": 33.3}, step=1) == {"a": 34, "b": 33, "c": 33}
    assert round_shares({"a": 12.4, "b": 87.6}, step=5) == {"a": 10, "b": 90}


@given(
    st.dictionaries(st.integers(), st.floats(0, 1e4), min_size=1, max_size=12).filter(
        lambda shares: sum(shares.values()) > 1e-6
    ),
    st.sampled_from([0.01, 0.1, 0.5, 1.0, 5.0]),
)
def test_rounded_shares_always_add_up_and_move_less_than_a_step(
    shares: dict[int, float], step: float
) -> None:
    rounded = round_shares(shares, step=step)
    assert sum(round(share / step) for share in rounded.values()) == round(100 / step)
    total = sum(shares.values())
    for name, share in rounded.items():
        assert abs(share - 100 * shares[name] / total) < step + 1e-5


@pytest.mark.parametrize("shares", [{}, {"a": 0.0}, {"a": -1.0, "b": 5.0}, {"a": math.nan}, {"a": math.inf}])
def test_shares_of_nothing_are_refused(shares: dict[str, float]) -> None:
    with pytest.raises(ScalingError) as caught:
        round_shares(shares)
    assert caught.value.field == "shares"


@pytest.mark.parametrize(
    ("step", "total"), [(0, 100), (3, 100), (-1, 100), (math.nan, 100), (1, math.inf), (5, 2)]
)
def test_a_whole_that_is_no_number_of_steps_is_refused(step: float, total: float) -> None:
    with pytest.raises(ScalingError, match="whole number of steps"):
        round_shares({"a": 1}, step=step, total=total)


# Weighing out


def test_fats_keep_their_sum() -> None:
    """Each third rounded by itself would come to 999 g."""
    fats = tuple(Fat(name, 1000 / 3, centred(184, 196)) for name in "abc")
    assert weigh_fats(fats, GRAM) == (334, 333, 333)


def test_small_fats_keep_their_tenths_and_the_sum_its_step() -> None:
    fats = tuple(
        Fat(name, grams, centred(184, 196)) for name, grams in (("a", 812), ("b", 24.44), ("c", 13.57))
    )
    assert weigh_fats(fats, TWO_SCALES) == (810, Decimal("24.4"), Decimal("13.6"))


scales = st.sampled_from(
    [
        GRAM,
        TWO_SCALES,
        Scale(Decimal("0.1")),
        Scale(Decimal(5)),
        Scale(Decimal(1), Decimal("0.5"), Decimal(200)),
    ]
)


@given(st.lists(st.floats(20, 3000), min_size=1, max_size=12), scales)
def test_rounded_fats_move_less_than_a_step_and_their_sum_no_more_than_half(
    grams: list[float], scale: Scale
) -> None:
    fats = tuple(Fat(str(index), weight, centred(184, 196)) for index, weight in enumerate(grams))
    shown = weigh_fats(fats, scale)
    largest = max(float(scale.step_for(weight)) for weight in grams)
    assert abs(float(sum(shown)) - sum(grams)) <= largest / 2 + 1e-4
    for weight, rounded in zip(grams, shown, strict=True):
        step = scale.step_for(weight)
        assert rounded % step == 0
        assert abs(float(rounded) - weight) < float(step) * 1.5


@pytest.mark.parametrize("grams", [math.nan, math.inf, -1, 1e9])
def test_a_weight_that_cannot_be_is_refused(grams: float) -> None:
    with pytest.raises(ScalingError) as caught:
        weigh_fats((Fat("Olive oil", grams, centred(184, 196)),), GRAM)
    assert caught.value.field == "amounts"


@pytest.mark.parametrize(("grams", "step", "shown"), [(142.9, 1, 142), (142.9, 5, 140), (143, 1, 143)])
def test_lye_is_rounded_down(grams: float, step: int, shown: int) -> None:
    lye = soda(grams)
    assert weigh_lye((lye,), Scale(Decimal(step)), mol=lye.mol) == (shown,)


def test_of_two_alkalis_the_finer_one_makes_up_for_the_other() -> None:
    """A gram of potash is less alkali than one of soda: soda of 50.6 g shows as 51, so potash as 70."""
    pair = (potash(70.9), soda(50.6))
    wanted = sum(alkali.mol for alkali in pair)
    shown = weigh_lye(pair, GRAM, mol=wanted)
    assert shown == (70, 51)
    mol = sum(replace(alkali, grams=float(grams)).mol for alkali, grams in zip(pair, shown, strict=True))
    assert mol <= wanted < mol + potash(1).mol


@settings(max_examples=60, deadline=None)
@given(formulas(), scales, st.booleans())
def test_the_superfat_is_never_below_the_aim_and_hardly_above(
    recipe: Formula, scale: Scale, with_milk: bool
) -> None:
    if with_milk:
        milk = LiquidPart(reference_liquids()["goat_milk"].liquid, 50, at_trace=True)
        recipe = replace(recipe, liquids=(LiquidPart(WATER, 50), milk))
    try:
        out = weigh_out(recipe, scale)
    except ScalingError:
        return  # lye or fat too little for so coarse a scale
    fats = float(sum(out.fats))
    assert out.safety.nominal >= recipe.superfat - 1e-9
    assert out.safety.nominal <= recipe.superfat + 100 * float(scale.step) / (0.1 * fats)
    assert all(grams % Decimal("0.1") == 0 for grams in (*out.fats, *out.alkalis, *out.liquids))
    exact = formulate(recipe, scale_step=float(scale.step))
    if exact.safety.verdict is Verdict.SAFE and scale.step <= 1:
        assert out.safety.chance_lye_heavy <= 0.001


def test_fat_for_after_the_cook_is_rounded_too_and_takes_no_lye() -> None:
    shea = Fat("Shea butter", 60.4, centred(170, 190))
    out, without = weigh_out(replace(formula(), after_cook=(shea,)), GRAM), weigh_out(formula(), GRAM)
    assert out.after_cook == (60,)
    assert out.alkalis == without.alkalis
    assert out.safety.nominal > without.safety.nominal + 4


def test_a_worked_recipe() -> None:
    """Citric acid takes its lye too, and goes on the fine scale."""
    recipe = formula(acids=(Acid(AcidKind.CITRIC, 10.04),))
    out = weigh_out(recipe, Scale(Decimal(1), Decimal("0.1"), Decimal(50)))
    assert out.fats == (450, 250, 250, 50)
    assert out.acids == (Decimal("10.0"),)
    exact = formulate(replace(recipe, acids=(Acid(AcidKind.CITRIC, 10.0),)))
    assert out.alkalis == (math.floor(exact.alkalis[0].grams),)
    assert out.liquids == (round(exact.liquid_grams),)


def test_lye_rounded_to_the_nearest_step_would_have_been_too_much() -> None:
    recipe = formula()
    grams = formulate(recipe).alkalis[0].grams
    assert grams % 5 > 2.5
    assert weigh_out(recipe, Scale(Decimal(5))).alkalis == (5 * math.floor(grams / 5),)


@pytest.mark.parametrize(
    ("recipe", "words"),
    [
        (
            formula((*FOUR_FATS, Fat("Wheat germ oil", 0.3, centred(180, 190)))),
            "Wheat germ oil comes to 0.3 g",
        ),
        (formula((Fat("Olive oil", 7, centred(184, 196)),)), "Sodium hydroxide comes to 0.9"),
    ],
)
def test_what_the_scale_cannot_show_is_refused(recipe: Formula, words: str) -> None:
    with pytest.raises(ScalingError, match=words) as caught:
        weigh_out(recipe, GRAM)
    assert caught.value.field == "scale"


def test_a_fat_of_no_weight_stays_away() -> None:
    out = weigh_out(formula((*FOUR_FATS, Fat("None", 0, centred(184, 196)))), GRAM)
    assert out.fats[-1] == 0


def test_what_cannot_be_made_is_refused_as_ever() -> None:
    with pytest.raises(FormulaError):
        weigh_out(formula(superfat=90), GRAM)
    with pytest.raises(FormulaError):
        weigh_out(formula(alkalis=(replace(SODA, share=50),)), GRAM)
    with pytest.raises(FormulaError):
        weigh_out(formula((Fat("Olive oil", math.nan, centred(184, 196)),)), GRAM)
    with pytest.raises(FormulaError):
        weigh_out(formula(acids=(Acid(AcidKind.CITRIC, math.inf),)), GRAM)
