"""Fatty acids and iodine value of a blend."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.blend.acids import Group, profile_of
from shared.fats import iodine_from_composition, reference_fats
from shared.ingredients import FormulaError
from shared.profile import Part, blend_of

FATS = reference_fats()


def part(key: str, grams: float) -> Part:
    return Part(FATS[key].name, grams, FATS[key])


def test_the_acids_of_one_fat_are_those_of_its_typical_composition() -> None:
    blend = blend_of([part("olive", 500)])
    assert blend.acids == pytest.approx(profile_of(FATS["olive"]))
    assert blend.unknown == ()
    assert blend.unknown_share == 0


def test_a_blend_is_the_mean_by_weight() -> None:
    blend = blend_of([part("olive", 300), part("coconut", 100)])
    olive, coconut = profile_of(FATS["olive"]), profile_of(FATS["coconut"])
    assert blend.acids["C12:0"] == pytest.approx(0.25 * coconut["C12:0"])
    assert blend.acids["C18:1"] == pytest.approx(0.75 * olive["C18:1"] + 0.25 * coconut["C18:1"])
    assert blend.groups[Group.SHORT_SATURATED] == pytest.approx(20, abs=1)
    expected = 0.75 * iodine_from_composition(olive) + 0.25 * iodine_from_composition(coconut)
    assert blend.iodine == pytest.approx(expected)


def test_a_fat_of_ones_own_is_named_as_unknown() -> None:
    blend = blend_of([part("olive", 300), Part("Grandmother's dripping", 100, None)])
    assert blend.unknown == ("Grandmother's dripping",)
    assert blend.unknown_share == pytest.approx(25)
    assert sum(blend.acids.values()) == pytest.approx(100)
    assert blend.iodine is None
    assert blend.explain_iodine() is None


def test_nothing_is_known_of_unknown_fats() -> None:
    blend = blend_of([Part("Dripping", 100, None)])
    assert blend.acids == {}
    assert blend.unknown_share == 100


def test_a_wax_and_a_free_acid_count_by_their_published_iodine_value() -> None:
    blend = blend_of([part("jojoba", 50), part("oleic_acid", 50)])
    assert blend.iodine == pytest.approx((81.7 + 89.9) / 2)
    assert blend.unknown == ("Jojoba oil (liquid wax ester)",)
    assert blend.acids == pytest.approx({"C18:1": 100})


def test_without_any_iodine_value_there_is_none() -> None:
    assert blend_of([part("beeswax", 50)]).iodine is None


def test_the_iodine_value_opens() -> None:
    explained = blend_of([part("olive", 300), part("jojoba", 100)]).explain_iodine()
    assert explained is not None
    assert [given.name for given in explained.given] == [
        "Olive oil",
        "Olive oil: iodine value",
        "Jojoba oil (liquid wax ester)",
        "Jojoba oil (liquid wax ester): iodine value",
    ]
    assert [given.source for given in explained.given[1::2]] == [
        "from its fatty acids",
        "middle of the published range",
    ]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(list(FATS)), st.floats(0.1, 1e4)), min_size=1, max_size=200))
def test_shares_of_known_fats_add_up(parts: list[tuple[str, float]]) -> None:
    blend = blend_of([part(key, grams) for key, grams in parts])
    if blend.acids:
        assert sum(blend.acids.values()) == pytest.approx(100)
        assert sum(blend.groups.values()) == pytest.approx(100)
    assert 0 <= blend.unknown_share <= 100


@pytest.mark.parametrize("grams", [[], [0], [-1, 5], [math.nan], [math.inf], [1e7]])
def test_a_blend_of_nothing_is_refused(grams: list[float]) -> None:
    with pytest.raises(FormulaError) as caught:
        blend_of([part("olive", each) for each in grams])
    assert caught.value.field == "fats"
