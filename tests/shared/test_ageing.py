"""How long a bar keeps, in plain words."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.ageing import Level, OldLot, ageing, oxidation_rate
from shared.blend.acids import mixed, profile_of
from shared.fats import reference_fats

FATS = {key: profile_of(fat) for key, fat in reference_fats().items()}
READY = date(2026, 6, 1)


def blend(**shares: float) -> dict[str, float]:
    return mixed([(share, FATS[key]) for key, share in shares.items()])


@pytest.mark.parametrize(
    ("key", "level"),
    [
        ("olive", Level.KEEPS_WELL),
        ("coconut", Level.KEEPS_WELL),
        ("tallow_beef", Level.KEEPS_WELL),
        ("sunflower_high_oleic", Level.KEEPS_WELL),
        ("almond_sweet", Level.WITHIN_THE_YEAR),
        ("rapeseed_canola", Level.WITHIN_THE_YEAR),
        ("sunflower", Level.TURNS_EARLY),
        ("hemp", Level.TURNS_EARLY),
        ("linseed", Level.TURNS_EARLY),
    ],
)
def test_fats_stand_where_the_trade_knows_them(key: str, level: Level) -> None:
    found = ageing(FATS[key], superfat=5)
    assert found.level is level
    assert "polyunsaturated" in found.reasons[0].because
    assert "recalled" in found.reasons[0].source


def test_levels_are_words() -> None:
    assert [level.label for level in Level] == ["keeps well", "use within the year", "turns early"]


@pytest.mark.parametrize(
    ("acid", "rate"), [("C18:0", 0), ("C18:1", 1), ("C18:2", 12), ("C18:3", 25), ("C20:4", 25)]
)
def test_each_double_bond_more_makes_an_acid_faster(acid: str, rate: float) -> None:
    assert oxidation_rate({acid: 80}) == rate


def test_much_superfat_makes_a_delicate_blend_turn_earlier() -> None:
    delicate = blend(olive=50, sunflower=50)
    assert ageing(FATS["almond_sweet"], superfat=8).level is Level.WITHIN_THE_YEAR
    assert ageing(FATS["almond_sweet"], superfat=8.1).level is Level.TURNS_EARLY
    assert ageing(FATS["olive"], superfat=15).level is Level.KEEPS_WELL
    assert "10.0 % superfat" in [reason.because for reason in ageing(delicate, superfat=10).reasons]


def test_an_antioxidant_helps_by_one_step_and_only_where_there_is_need() -> None:
    with_rosemary = ageing(FATS["hemp"], superfat=5, antioxidant="Rosemary extract")
    assert with_rosemary.level is Level.WITHIN_THE_YEAR
    assert with_rosemary.reasons[-1].text.startswith("Rosemary extract slows it down")
    assert len(ageing(FATS["olive"], superfat=5, antioxidant="Tocopherol").reasons) == 1


def test_a_lot_past_its_best_before_counts_against_the_bar() -> None:
    lots = [OldLot("Olive oil", date(2026, 5, 30)), OldLot("Palm oil", date(2026, 5, 1))]
    found = ageing(FATS["olive"], superfat=5, lots=lots, ready_on=READY)
    assert found.level is Level.WITHIN_THE_YEAR
    assert found.reasons[-1].text.startswith("Palm oil is past its best before")
    assert found.reasons[-1].because == "best before 2026-05-01"


def test_a_lot_that_is_good_until_the_bars_are_ready_does_not() -> None:
    lots = [OldLot("Olive oil", READY)]
    assert ageing(FATS["olive"], superfat=5, lots=lots, ready_on=READY).level is Level.KEEPS_WELL
    assert ageing(FATS["olive"], superfat=5, lots=lots).level is Level.KEEPS_WELL


def test_nothing_is_worse_than_early() -> None:
    lots = [OldLot("Hemp seed oil", date(2026, 1, 1))]
    found = ageing(FATS["hemp"], superfat=12, lots=lots, ready_on=READY)
    assert found.level is Level.TURNS_EARLY
    assert len(found.reasons) == 3


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 100), st.floats(0, 100))
def test_more_of_a_delicate_oil_never_keeps_longer(first: float, second: float) -> None:
    less, more = sorted((first, second))
    levels = [ageing(blend(coconut=100 - share, hemp=share), superfat=5).level for share in (less, more)]
    assert levels == sorted(levels)


@pytest.mark.parametrize(
    "profile", [{}, {"C18:1": 0.0}, {"C18:1": -5.0, "C18:2": 10.0}, {"C18:1": float("nan")}]
)
def test_a_profile_of_nothing_is_refused(profile: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="above zero"):
        ageing(profile, superfat=5)
