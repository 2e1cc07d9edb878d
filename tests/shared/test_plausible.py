"""Whether a saponification value can be right for a fat."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.fats import iodine_from_composition, reference_fats, sap_from_composition
from shared.plausible import (
    Verdict,
    composition,
    explain_iodine,
    explain_sap,
    judge,
    sap_bounds,
)

FATS = reference_fats()
WITH_ACIDS = [key for key, fat in FATS.items() if sap_bounds(fat)]
OLIVE = FATS["olive"]


@pytest.mark.parametrize("key", WITH_ACIDS)
def test_the_nominal_value_of_no_reference_fat_is_called_impossible(key: str) -> None:
    fat = FATS[key]
    assert fat.sap
    found = judge(fat.sap.nominal, fat)
    assert found is not None
    assert found.verdict is not Verdict.CANNOT_BE


@pytest.mark.parametrize("key", WITH_ACIDS)
def test_the_typical_composition_lies_inside_the_bounds(key: str) -> None:
    bounds = sap_bounds(FATS[key])
    assert bounds is not None
    assert bounds.low <= bounds.typical <= bounds.high
    assert bounds.typical == sap_from_composition(composition(FATS[key]))


@pytest.mark.parametrize("key", ["olive", "coconut", "palm", "sunflower", "lard", "linseed"])
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_composition_within_the_ranges_leaves_the_bounds(key: str, data: st.DataObject) -> None:
    """Any shares inside the published ranges, made to add up by filling up acids in any order."""
    profile = FATS[key].profile
    shares = {acid: low for acid, (low, _) in profile.items()}
    for acid in data.draw(st.permutations(list(profile))):
        room = max(min(profile[acid][1] - shares[acid], 100 - sum(shares.values())), 0.0)
        shares[acid] += room * data.draw(st.floats(0, 1))
    missing = 100 - sum(shares.values())
    for acid in data.draw(st.permutations(list(profile))):
        more = min(profile[acid][1] - shares[acid], max(missing, 0.0))
        shares[acid] += more
        missing -= more
    bounds = sap_bounds(FATS[key])
    assert bounds is not None
    assert bounds.low - 1e-9 <= sap_from_composition(shares) <= bounds.high + 1e-9


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (191, Verdict.AGREES),
        (195.5, Verdict.DOUBTFUL),
        (187, Verdict.DOUBTFUL),
        (250, Verdict.CANNOT_BE),
        (150, Verdict.CANNOT_BE),
        (-3, Verdict.CANNOT_BE),
        (math.nan, Verdict.CANNOT_BE),
        (math.inf, Verdict.CANNOT_BE),
    ],
)
def test_a_value_for_olive_oil_is_judged(value: float, verdict: Verdict) -> None:
    found = judge(value, OLIVE)
    assert found is not None
    assert found.verdict is verdict
    assert "Olive oil" in found.words


def test_a_value_inside_a_published_range_that_the_acids_do_not_allow_is_doubtful() -> None:
    """Agmark lets palm oil of 209 pass; acids of sixteen and eighteen carbons cannot take as much."""
    found = judge(209, FATS["palm"])
    assert found is not None
    assert found.verdict is Verdict.DOUBTFUL
    assert "published range" in found.words


def test_an_uncertain_certificate_gets_the_benefit_of_the_doubt() -> None:
    sure, unsure = judge(199, OLIVE), judge(199, OLIVE, uncertainty=5)
    assert sure is not None
    assert unsure is not None
    assert (sure.verdict, unsure.verdict) == (Verdict.CANNOT_BE, Verdict.AGREES)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (136, "sodium hydroxide. For potassium hydroxide it is 190.8"),
        (0.191, "grams to a gram. In milligrams it is 191.0"),
        (0.136, "grams of sodium hydroxide to a gram. In milligrams of potassium hydroxide it is 190.8"),
    ],
)
def test_a_value_in_another_unit_is_recognised(value: float, words: str) -> None:
    found = judge(value, OLIVE)
    assert found is not None
    assert found.hint is not None
    assert words in found.hint


def test_a_value_of_another_fat_has_no_hint() -> None:
    found = judge(250, OLIVE)
    assert found is not None
    assert found.hint is None


@pytest.mark.parametrize("key", ["beeswax", "jojoba", "stearic_acid"])
def test_nothing_is_said_of_what_is_no_triglyceride(key: str) -> None:
    assert sap_bounds(FATS[key]) is None
    assert judge(100, FATS[key]) is None
    assert explain_sap(FATS[key]) is None
    assert explain_iodine(FATS[key]) is None


def test_nothing_is_said_without_published_acids() -> None:
    bare = replace(OLIVE, profile={}, typical={})
    assert judge(190, bare) is None
    assert explain_sap(bare) is None


def test_a_range_nobody_published_gives_no_benefit_of_the_doubt() -> None:
    found = judge(205, replace(OLIVE, sap=None))
    assert found is not None
    assert found.verdict is Verdict.CANNOT_BE


def test_one_single_composition_leaves_room_for_others() -> None:
    bounds = sap_bounds(FATS["hazelnut"])
    assert bounds is not None
    assert bounds.high - bounds.typical == pytest.approx(2)


def test_a_typical_composition_alone_serves_too() -> None:
    bounds = sap_bounds(replace(OLIVE, profile={}))
    assert bounds is not None
    assert bounds.high == pytest.approx(bounds.typical + 2)


def test_the_computed_values_open() -> None:
    sap, iodine = explain_sap(OLIVE), explain_iodine(FATS["argan"])
    assert sap is not None
    assert iodine is not None
    assert sap.value == sap_from_composition(OLIVE.typical)
    assert sap.given[0].source.startswith("USDA")
    assert iodine.value == iodine_from_composition(composition(FATS["argan"]))
    assert any(given.name == "C18:2, linoleic" for given in iodine.given)
