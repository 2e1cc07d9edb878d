"""Fragrance in a bar against the limits of its certificates."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.fragrance import Certified, Dose, FragranceError, Substance, Verdict, assess

quick = settings(max_examples=80, deadline=None)
limits = st.one_of(st.none(), st.decimals(0, 20, places=2).map(float))
shares = st.decimals("0.01", 100, places=2).map(float)
substances = st.lists(
    st.builds(
        Substance, st.sampled_from(["Linalool", "Citral", "Geranial", "Musk"]), shares, limits, st.booleans()
    ),
    max_size=4,
).map(tuple)
certified = st.builds(
    Certified, st.text("abc", min_size=1, max_size=3), limits, st.none() | shares, substances
)
blends = st.lists(st.builds(Dose, certified, st.decimals("0.1", 60, places=2).map(float)), max_size=4)
REST = 1000.0
"""Grams of a bar without its fragrances."""


def bar_of(doses: list[Dose]) -> float:
    return REST + sum(dose.grams for dose in doses)


def with_grams(doses: list[Dose], place: int, grams: float) -> list[Dose]:
    return [*doses[:place], Dose(doses[place].certified, grams), *doses[place + 1 :]]


def one(name: str = "Lavender", limit: float | None = 5.0, *substances: Substance) -> Certified:
    return Certified(name, limit, None, substances)


def said(found: Verdict) -> tuple[list[str], list[str]]:
    return [each.text for each in found.refusals], [each.text for each in found.watches]


# One fragrance


def test_nothing_in_a_bar_breaks_no_limit() -> None:
    found = assess([], 100)
    assert found.passes
    assert (found.fragrances, found.substances, found.allergens, found.factor) == ((), (), (), None)
    assert said(found) == ([], [])


def test_over_its_limit_it_is_refused_with_the_figure_that_would_pass() -> None:
    found = assess([Dose(one(limit=2.4), 40)], 1250)
    (lavender,) = found.fragrances
    assert (lavender.grams, lavender.share, lavender.limit, lavender.passes) == (40, 3.2, 2.4, False)
    assert lavender.most == pytest.approx(0.024 * 1210 / 0.976)
    assert lavender.most_of(800) == pytest.approx(0.024 * 1210 / 0.976 / 8)
    (refusal,) = found.refusals
    assert refusal.text == "Lavender is over its limit: at most 29.75 g of it may go in."
    assert refusal.because == "it is 3.2 % of the bar, and its certificate allows 2.4 %"
    assert "IFRA" in refusal.source
    assert not found.passes


def test_exactly_at_its_limit_it_passes_whatever_binary_fractions_make_of_it() -> None:
    for thousandths in range(1, 400):
        limit = thousandths / 1000
        assert assess([Dose(one(limit=limit), limit * 7 / 100)], 7).passes, limit


def test_what_is_not_permitted_passes_only_where_there_is_none_of_it() -> None:
    found = assess([Dose(one(limit=0), 0.01)], 100)
    assert said(found) == (["Lavender may not go into soap."], [])
    assert (found.fragrances[0].most, found.factor) == (0, 0)
    assert assess([Dose(one(limit=0), 0)], 100).passes


def test_without_a_limit_it_passes_and_says_that_nobody_knows() -> None:
    found = assess([Dose(one(limit=None), 5)], 100)
    assert found.passes
    assert said(found) == ([], ["Nobody has noted how much Lavender a bar may hold."])
    assert (found.fragrances[0].most, found.fragrances[0].most_of(80), found.factor) == (None, None, None)
    assert said(assess([Dose(one(limit=None), 0)], 100)) == ([], [])


def test_a_limit_of_all_of_the_bar_limits_nothing() -> None:
    found = assess([Dose(one(limit=100), 100)], 100)
    assert found.passes
    assert (found.fragrances[0].most, found.factor) == (None, None)


def test_two_doses_of_one_fragrance_are_held_against_its_limit_together() -> None:
    found = assess([Dose(one(), 3), Dose(one(), 3)], 100)
    assert [each.grams for each in found.fragrances] == [6]
    assert not found.passes


# Substances, from all fragrances together


def test_a_restricted_substance_adds_up_over_fragrances_each_of_which_keeps_it() -> None:
    clove = one("Clove", 5.0, Substance("Eugenol", 80, 2.0))
    bay = one("Bay", 5.0, Substance("eugenol", 50, 2.5))
    found = assess([Dose(clove, 2), Dose(bay, 2)], 100)
    (eugenol,) = found.substances
    assert (eugenol.name, eugenol.share, eugenol.limit, eugenol.passes) == ("Eugenol", 2.6, 2.0, False)
    assert eugenol.brought_by == ("Clove", "Bay")
    assert all(each.passes for each in found.fragrances)
    (refusal,) = found.refusals
    assert refusal.text == "Eugenol is over its limit."
    assert refusal.because == "2.6 % of the bar, brought by Clove, Bay; the lowest limit stated is 2 %"
    assert assess([Dose(clove, 2)], 100).passes
    assert assess([Dose(bay, 2)], 100).passes


def test_a_substance_with_a_limit_on_one_certificate_is_counted_from_the_other_too() -> None:
    limited, listed = Substance("Eugenol", 50, 1.0), Substance("Eugenol", 20, None, allergen=True)
    (eugenol,) = assess([Dose(one("A", 5, limited), 1), Dose(one("B", 5, listed), 1)], 100).substances
    assert (eugenol.share, eugenol.limit) == (0.7, 1.0)


def test_one_substance_goes_by_its_cas_number_where_its_names_differ() -> None:
    found = assess(
        [
            Dose(one("A", 5, Substance("Methyl eugenol", 1, 0.01)), 1),
            Dose(one("B", 5, Substance("methyl EUGENOL", 1, None, cas="93-15-2")), 1),
            Dose(one("C", 5, Substance("Eugenyl methyl ether", 1, None, cas="93-15-2")), 1),
            Dose(one("D", 5, Substance("Musk", 1, None)), 1),
        ],
        100,
    )
    (methyl_eugenol,) = found.substances
    assert methyl_eugenol.share == 0.03
    assert methyl_eugenol.brought_by == ("A", "B", "C")


def test_a_fragrance_that_is_left_out_brings_nothing() -> None:
    found = assess([Dose(one("A", 5, Substance("Eugenol", 50, 1.0, allergen=True)), 0)], 100)
    assert (found.substances, found.allergens) == ((), ())


def test_the_figure_that_would_pass_keeps_the_limits_of_substances_too() -> None:
    found = assess([Dose(one("A", 5, Substance("Eugenol", 50, 1.0)), 3)], 100)
    assert found.fragrances[0].most == pytest.approx(0.01 * 97 / 0.49)


def test_where_the_others_bring_too_much_alone_none_may_go_in() -> None:
    loud = one("Loud", None, Substance("Eugenol", 90, 0.5))
    quiet = one("Quiet", None, Substance("Eugenol", 10))
    found = assess([Dose(loud, 2), Dose(quiet, 1)], 100)
    assert [each.most for each in found.fragrances] == [pytest.approx((0.005 * 98 - 0.1) / 0.895), 0]


# Allergens


def test_allergens_stand_by_their_share_and_only_what_is_one() -> None:
    oil = one(
        "A", 50, Substance("Linalool", 5, None, True), Substance("Limonene", 8, None, True), Substance("X", 9)
    )
    found = assess([Dose(oil, 1)], 100).allergens
    assert [(each.name, each.share, each.named) for each in found] == [
        ("Limonene", 0.08, True),
        ("Linalool", 0.05, True),
    ]


@pytest.mark.parametrize(
    ("substances", "share"),
    [
        pytest.param((), 0.18, id="given by itself"),
        pytest.param((Substance("vanillin", 9.5, None, True),), 0.19, id="among the allergens too"),
    ],
)
def test_vanillin_is_an_allergen_and_counts_once(substances: tuple[Substance, ...], share: float) -> None:
    (vanillin,) = assess([Dose(Certified("Cake", 5, 9, substances), 2)], 100).allergens
    assert (vanillin.name, vanillin.share, vanillin.named) == ("Vanillin", share, True)


def test_a_fragrance_without_vanillin_names_none() -> None:
    assert assess([Dose(Certified("Cake", 5, 0), 2)], 100).allergens == ()


# Blends of which only the limits are known


def test_a_blend_that_uses_up_more_than_its_limits_together_is_watched() -> None:
    found = assess([Dose(one("A", 5), 3), Dose(one("B", 2), 1)], 100)
    assert found.used_up == pytest.approx(110)
    assert found.passes
    (watch,) = found.watches
    assert watch.text.startswith("Each fragrance keeps its own limit, but that does not prove the blend")
    assert watch.because.startswith("they use up 110 % of their limits together")


@pytest.mark.parametrize(
    "doses",
    [
        pytest.param([Dose(one("A", 5), 5)], id="one fragrance alone"),
        pytest.param([Dose(one("A", 5), 2.5), Dose(one("B", 2), 1)], id="within their limits together"),
        pytest.param([Dose(one("A", 5), 5), Dose(one("B", 2), 0)], id="the other left out"),
        pytest.param(
            [Dose(one(name, 5, Substance(name, 1, 1.0)), 4) for name in "AB"],
            id="each lists what is restricted",
        ),
    ],
)
def test_other_blends_are_not(doses: list[Dose]) -> None:
    assert said(assess(doses, 100)) == ([], [])


def test_a_blend_that_is_refused_is_not_watched_as_well() -> None:
    assert said(assess([Dose(one("A", 5), 6), Dose(one("B", 2), 1)], 100))[1] == []


def test_one_list_of_restricted_substances_missing_leaves_the_blend_unproven() -> None:
    found = assess(
        [Dose(one("A", 5, Substance("X", 1, 1.0)), 4), Dose(one("B", 5, Substance("Y", 1)), 4)], 100
    )
    assert len(found.watches) == 1


@quick
@given(st.lists(st.tuples(shares, st.floats(0.01, 1)), min_size=2, max_size=4), st.floats(0.01, 5))
def test_within_the_sum_of_their_limits_no_restricted_substance_is_over_its_own(
    parts: list[tuple[float, float]], limit: float
) -> None:
    """The rule behind the watch: each fragrance's limit comes from the one substance, whatever its share."""
    total = sum(weight for _, weight in parts)
    doses = []
    for share, weight in parts:
        own = min(limit / share * 100, 100)
        doses.append(
            Dose(one(f"at {share} {weight}", own, Substance("Musk", share, limit)), own * weight / total)
        )
    found = assess(doses, 100)
    assert found.used_up == pytest.approx(100)
    (musk,) = found.substances
    assert musk.share <= limit * (1 + 1e-6)


# Any blend


@quick
@given(blends, st.floats(0.5, 20))
def test_twice_the_fragrance_in_twice_the_bar_is_the_same(doses: list[Dose], times: float) -> None:
    small = assess(doses, bar_of(doses))
    large = assess([Dose(dose.certified, dose.grams * times) for dose in doses], bar_of(doses) * times)
    for one_, other in zip(small.fragrances, large.fragrances, strict=True):
        assert other.share == pytest.approx(one_.share, abs=1e-8)
        if one_.most is None:
            assert other.most is None
        else:
            assert other.most_of(100 * times) == pytest.approx(one_.most, rel=1e-6, abs=1e-6)
    for one_, other in zip(
        (*small.substances, *small.allergens), (*large.substances, *large.allergens), strict=True
    ):
        assert other.share == pytest.approx(one_.share, abs=1e-8)
    assert (large.factor is None) == (small.factor is None)


@quick
@given(blends.filter(bool), st.integers(0, 3), st.floats(0, 50))
def test_more_of_a_fragrance_never_lowers_its_share_nor_what_it_brings(
    doses: list[Dose], place: int, more: float
) -> None:
    place %= len(doses)
    added = with_grams(doses, place, doses[place].grams + more)
    name = doses[place].certified
    before, after = assess(doses, bar_of(doses)), assess(added, bar_of(added))
    place_of = list(dict.fromkeys(dose.certified for dose in doses)).index(name)
    assert after.fragrances[place_of].share >= before.fragrances[place_of].share
    fixed = bar_of(added)
    for small, large in zip(assess(doses, fixed).allergens, assess(added, fixed).allergens, strict=True):
        assert large.share >= 0
        assert small.share >= 0
    totals = [{each.name: each.share for each in assess(some, fixed).allergens} for some in (doses, added)]
    assert all(totals[1][allergen] >= share for allergen, share in totals[0].items())


@quick
@given(certified.filter(lambda each: each.limit is not None), st.floats(0.1, 400))
def test_the_figure_that_would_pass_passes_and_a_hair_more_does_not(
    fragrance: Certified, grams: float
) -> None:
    most = assess([Dose(fragrance, grams)], REST + grams).fragrances[0].most
    if most is None:
        return
    assert assess([Dose(fragrance, most)], REST + most).passes
    more = most * 1.001 + 0.01
    assert not assess([Dose(fragrance, more)], REST + more).passes


@quick
@given(blends)
def test_all_fragrances_times_the_factor_pass_and_a_hair_more_does_not(doses: list[Dose]) -> None:
    factor = assess(doses, bar_of(doses)).factor
    if factor is None:
        return

    def times(by: float) -> bool:
        scaled = [Dose(dose.certified, dose.grams * by) for dose in doses]
        return assess(scaled, bar_of(scaled)).passes

    assert times(factor)
    assert not times(factor * 1.001 + 0.01)


# Figures that cannot be

BAD = [-1.0, -0.001, 100.001, math.nan, math.inf, -math.inf]


def _substance(share: float = 1.0, limit: float | None = None) -> Certified:
    return one("Lavender", 5, Substance("Linalool", share, limit))


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(
    ("made", "field"),
    [
        (lambda bad: Certified("Lavender", bad), "limit"),
        (lambda bad: Certified("Lavender", 5, bad), "vanillin"),
        (lambda bad: _substance(share=bad), "share"),
        (lambda bad: _substance(limit=bad), "limit"),
    ],
)
def test_a_certificate_holds_no_figures_beyond_all_of_it(
    made: Callable[[float], Certified], field: str, bad: float
) -> None:
    with pytest.raises(FragranceError, match="between 0 and 100 %") as refused:
        assess([Dose(made(bad), 1)], 100)
    assert refused.value.field == field


@pytest.mark.parametrize("grams", [-0.01, 100.01, math.nan, math.inf])
def test_there_is_no_less_than_nothing_of_a_fragrance_and_no_more_than_the_bar(grams: float) -> None:
    with pytest.raises(FragranceError, match="Lavender: the weight must lie") as refused:
        assess([Dose(one(), grams)], 100)
    assert refused.value.field == "grams"


def test_all_fragrances_together_are_no_more_than_the_bar() -> None:
    with pytest.raises(FragranceError, match="together weigh more") as refused:
        assess([Dose(one("A"), 60), Dose(one("B"), 60)], 100)
    assert refused.value.field == "grams"


@pytest.mark.parametrize("bar", [0.0, -1.0, 1e7, math.nan, math.inf])
def test_a_bar_weighs_something(bar: float) -> None:
    with pytest.raises(FragranceError, match="finished bar") as refused:
        assess([], bar)
    assert refused.value.field == "bar"
