"""What a blend will do, in plain words."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.blend.acids import Group, group_shares, mixed, profile_of
from shared.character import character
from shared.explained import COMMON_PRACTICE
from shared.fats import reference_fats

FATS = {key: profile_of(fat) for key, fat in reference_fats().items()}


def said_of(*, potassium: float = 0.0, unknown: float = 0.0, **shares: float) -> str:
    groups = group_shares(mixed([(share, FATS[key]) for key, share in shares.items()]))
    return " ".join(said.text for said in character(groups, potassium=potassium, unknown=unknown))


@pytest.mark.parametrize(
    ("shares", "words", "not_words"),
    [
        ({"coconut": 100}, ["Foams at once", "dry the skin", "Wears away"], ["Mild", "Slippery"]),
        ({"olive": 100}, ["Mild", "Slippery", "Foam comes slowly"], ["Foams at once", "firm bar"]),
        ({"tallow_beef": 100}, ["firm bar"], ["Slippery", "rancid"]),
        ({"stearic_acid": 60, "olive": 40}, ["Thickens fast"], ["Sets hard"]),
        ({"castor": 100}, ["foam holds", "sticky"], ["Mild"]),
        ({"sunflower": 100}, ["rancid"], ["Foams at once"]),
        ({"olive": 45, "coconut": 25, "palm": 25, "castor": 5}, ["Foams at once", "foam holds"], ["sticky"]),
    ],
)
def test_blends_are_told_as_the_trade_knows_them(
    shares: dict[str, float], words: list[str], not_words: list[str]
) -> None:
    text = said_of(**shares)
    for word in words:
        assert word in text
    for word in not_words:
        assert word not in text


def test_each_statement_gives_its_share_and_its_source() -> None:
    (first, *_) = character({Group.SHORT_SATURATED: 12.4, Group.LONG_SATURATED: 20})
    assert first.because == "12 % short saturated acids"
    assert first.source == COMMON_PRACTICE


def test_potassium_makes_it_softer_and_then_a_paste() -> None:
    assert "softer" not in said_of(olive=100, potassium=4)
    assert "softer" in said_of(olive=100, potassium=5)
    paste = character({}, potassium=100)[0]
    assert paste.text.startswith("Makes a paste")
    assert paste.because == "100 mol % of the alkali is potassium hydroxide"


def test_what_is_missing_is_not_said_where_a_fat_is_unknown() -> None:
    assert "Foam comes slowly" in said_of(olive=100)
    assert "Foam comes slowly" not in said_of(olive=100, unknown=10)
    assert "Mild" in said_of(olive=100, unknown=10)
    assert said_of(olive=100, unknown=100) == ""


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.sampled_from(Group), st.floats(0, 100)))
def test_nothing_is_said_twice(shares: dict[Group, float]) -> None:
    texts = [said.text for said in character(shares)]
    assert len(texts) == len(set(texts))
