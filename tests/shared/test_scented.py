"""How strong the fragrance is in the mean bar and in the strongest."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.cross_section import Technique
from shared.fragrance import Certified, Dose, Verdict, assess
from shared.scented import Bar, Scented, mean_bar, strongest_bar

ROSE = Certified("Rose", limit=5.0)
MINT = Certified("Mint", limit=1.0)
UNKNOWN = Certified("Unknown")


def portion(name: str, grams: float, technique: Technique = Technique.LAYER, **doses: float) -> Scented:
    """Grams of soap with so many grams of rose, mint or of something uncertified in it."""
    known = {"rose": ROSE, "mint": MINT, "unknown": UNKNOWN}
    return Scented(name, grams, tuple(Dose(known[one], amount) for one, amount in doses.items()), technique)


def share(bar: Bar) -> float:
    return 100 * sum(dose.grams for dose in bar.doses) / bar.grams


def verdict(bar: Bar) -> Verdict:
    return assess(bar.doses, bar.grams)


WHITE, PINK = portion("White", 200), portion("Pink", 800, rose=24)
SWIRLED = replace(PINK, technique=Technique.DROP)


def test_the_mean_bar_is_all_of_the_mould_together() -> None:
    bar = mean_bar([WHITE, PINK])
    assert (bar.grams, bar.names, share(bar)) == (1000, ("White", "Pink"), pytest.approx(2.4))


def test_across_layers_every_bar_is_the_mean_one() -> None:
    assert strongest_bar([WHITE, PINK], cut_across=True) == mean_bar([WHITE, PINK])


def test_a_swirl_may_be_all_of_the_stronger_portion() -> None:
    """24 g in 800 g of pink are 3 %; some slice of the loaf may hold pink alone."""
    bar = strongest_bar([WHITE, SWIRLED], cut_across=True)
    assert (bar.grams, bar.names, share(bar)) == (1000, ("Pink",), pytest.approx(3))


def test_only_the_band_that_is_swirled_may_be_all_of_one_portion() -> None:
    """500 g of foot without fragrance under 1000 g of the swirl: 30 g in 1500 g."""
    bar = strongest_bar([portion("Foot", 500), replace(WHITE), SWIRLED], cut_across=True)
    assert (bar.names, bar.grams, share(bar)) == (("Foot", "Pink"), 1500, pytest.approx(2))


@pytest.mark.parametrize("technique", [Technique.POT, Technique.DROP, Technique.HANGER])
def test_every_swirl_lies_unevenly(technique: Technique) -> None:
    assert share(strongest_bar([WHITE, replace(PINK, technique=technique)], cut_across=True)) == (
        pytest.approx(3)
    )


def test_a_textured_top_lies_on_every_bar_alike() -> None:
    top = replace(PINK, technique=Technique.TOP)
    assert share(strongest_bar([WHITE, top], cut_across=True)) == pytest.approx(2.4)


def test_a_bar_that_is_poured_alone_may_be_all_of_the_stronger_portion() -> None:
    bar = strongest_bar([WHITE, PINK], cut_across=False)
    assert (bar.grams, bar.names, share(bar)) == (800, ("Pink",), pytest.approx(3))


@pytest.mark.parametrize("cut_across", [True, False])
def test_the_limit_decides_which_portion_is_worst_and_not_the_amount(cut_across: bool) -> None:
    """3 % of rose keep its 5 %; 2 % of mint are twice its limit."""
    rose = portion("Pink", 500, rose=15)
    mint = portion("Green", 500, Technique.POT, mint=10)

    bar = strongest_bar([rose, mint], cut_across=cut_across)

    assert bar.names == ("Green",)
    assert not verdict(bar).passes


def test_the_worst_of_each_band_is_found_together() -> None:
    """Rose alone is nearest to its limit below, but with mint below the bar is beyond that of mint."""
    below = [portion("Pink", 100, rose=4.5), portion("Green", 100, Technique.POT, mint=0.9)]
    above = portion("Leaf", 100, mint=1.4)

    bar = strongest_bar([*below, above], cut_across=True)

    assert bar.names == ("Green", "Leaf")
    assert not verdict(bar).passes


def test_where_nothing_is_limited_the_most_fragrance_is_strongest() -> None:
    weak, strong = portion("Weak", 300, unknown=3), portion("Strong", 300, unknown=9)
    assert strongest_bar([weak, strong], cut_across=False).names == ("Strong",)


def test_soap_without_fragrance_has_a_strongest_bar_without_any() -> None:
    bar = strongest_bar([WHITE, portion("Grey", 100)], cut_across=True)
    assert (bar.grams, bar.doses) == (300, ())


PORTIONS = st.lists(
    st.builds(
        lambda grams, rose, mint, technique: portion(
            "x", grams, technique, rose=rose * grams, mint=mint * grams
        ),
        st.floats(50, 5000),
        st.floats(0, 0.08),
        st.floats(0, 0.03),
        st.sampled_from(Technique),
    ),
    min_size=1,
    max_size=6,
)


@given(PORTIONS, st.booleans())
def test_the_strongest_bar_is_no_further_from_a_limit_than_the_mean_one(
    portions: list[Scented], cut_across: bool
) -> None:
    strongest, mean = (
        verdict(bar).factor for bar in (strongest_bar(portions, cut_across=cut_across), mean_bar(portions))
    )
    assert mean is None or (strongest is not None and strongest <= mean * (1 + 1e-6))


@given(PORTIONS)
def test_poured_alone_a_bar_is_no_weaker_than_cut_across(portions: list[Scented]) -> None:
    alone, across = (
        verdict(strongest_bar(portions, cut_across=cut_across)).factor for cut_across in (False, True)
    )
    assert across is None or (alone is not None and alone <= across * (1 + 1e-6))
