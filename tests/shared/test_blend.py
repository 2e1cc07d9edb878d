"""Finding a blend: the best one, its round shares, what limits cost, and other ways."""

import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import given, settings

from shared.blend import (
    Aim,
    Candidate,
    Goal,
    Group,
    Kind,
    Limit,
    Side,
    Wish,
    figures_of,
    find_blend,
    group_of,
    group_shares,
    mixed,
    moved,
    profile_of,
)
from shared.fats import fatty_acids, reference_fats
from tests.shared.blends import (
    CASTOR,
    CHEAPEST,
    COCONUT,
    GROUPS,
    HARD_AND_MILD,
    LARD,
    OLIVE,
    PALM,
    RECIPE,
    SEVEN,
    SHEA,
    SUNFLOWER,
    at_least,
    at_most,
    keeps,
    many,
    wishes,
)

PLANTS = tuple(one for one in SEVEN if not one.animal)
# Acids


def test_every_acid_belongs_to_one_group() -> None:
    assert {acid: str(group_of(acid)) for acid in fatty_acids()} == {
        acid: group for group, acids in GROUPS.items() for acid in acids
    }


@pytest.mark.parametrize("group", Group)
def test_a_group_is_named_in_words(group: Group) -> None:
    assert group.label.split()[0] in group


def test_the_profile_of_a_blend_is_the_mean_of_its_fats() -> None:
    profile = mixed([(25, {"C18:1": 80, "C12:0": 20}), (75, {"C12:0": 60, "C16:0": 40})])
    assert profile == {"C12:0": 50, "C16:0": 30, "C18:1": 20}
    assert list(profile) == ["C12:0", "C16:0", "C18:1"]
    assert group_shares(profile)[Group.SHORT_SATURATED] == 50


def test_a_reference_fat_is_blended_by_its_typical_profile_or_the_middle_of_its_ranges() -> None:
    assert sum(profile_of(reference_fats()["linseed"]).values()) == pytest.approx(100)
    only_ranges = reference_fats()["palm_kernel"]
    assert not only_ranges.typical
    assert sum(profile_of(only_ranges).values()) == pytest.approx(100)
    assert profile_of(reference_fats()["jojoba"]) == {}


# The best


def test_without_limits_the_cheapest_fat_is_the_cheapest_blend() -> None:
    answer = find_blend(Wish(SEVEN, CHEAPEST))
    assert answer.best is not None
    assert answer.best.shares == {LARD.name: 100}
    assert answer.best.aim == LARD.price
    assert answer.prices == ()
    assert answer.clash == ()


def test_a_worked_case() -> None:
    """Invented prices; three limits lean on their ends, and each says what it costs."""
    answer = find_blend(Wish(PLANTS, CHEAPEST, HARD_AND_MILD))
    assert answer.best is not None
    assert answer.best.shares == {OLIVE.name: 59.5, COCONUT.name: 25.0, SHEA.name: 15.5}
    assert list(answer.best.shares) == [OLIVE.name, COCONUT.name, SHEA.name]
    assert answer.best.aim == answer.best.figures.cost == pytest.approx(0.595 * 8 + 0.25 * 5 + 0.155 * 12)
    assert [price.words for price in answer.prices] == [
        "at most 26 % Coconut oil saves 0.12 a kg",
        "iodine value at most 61 saves 0.12 a kg",
        "at most 1 % palm saves 0.09 a kg",
    ]
    assert len(answer.alternatives) == 2


def test_figures_are_those_of_the_round_shares() -> None:
    parts = [(60.0, OLIVE), (25.0, PALM), (15.0, LARD)]
    figures = figures_of(parts)
    assert figures.palm == 25
    assert figures.animal == 15
    assert figures.cost == pytest.approx(0.6 * 8 + 0.25 * 2.5 + 0.15 * 2)
    assert figures.sap == pytest.approx(sum(share * (one.sap or 0) / 100 for share, one in parts))
    assert sum(figures.groups.values()) == pytest.approx(100)


def test_a_figure_is_unknown_where_one_fat_lacks_it() -> None:
    figures = figures_of([(50, OLIVE), (50, Candidate("Mystery"))])
    assert (figures.iodine, figures.sap, figures.cost) == (None, None, None)


def test_the_nearest_profile_is_met_where_it_can_be() -> None:
    target = {Group.OLEIC: 50.0, Group.SHORT_SATURATED: 15.0}
    answer = find_blend(Wish(SEVEN, Aim(Goal.PROFILE, target), step=0.01))
    assert answer.best is not None
    assert answer.best.aim == pytest.approx(0, abs=0.02)
    assert answer.best.figures.groups[Group.OLEIC] == pytest.approx(50, abs=0.02)


def test_the_nearest_to_a_recipe_without_its_palm_changes_as_little_as_can_be() -> None:
    limits = (at_most(Kind.PALM, 0),)
    answer = find_blend(Wish(PLANTS, Aim(Goal.RECIPE), limits, recipe=RECIPE))
    assert answer.best is not None
    assert answer.best.aim == pytest.approx(20)
    (price,) = answer.prices
    assert price.words == "at most 1 % palm changes 1.0 % less of the recipe"


def test_a_fat_of_the_recipe_that_is_no_choice_counts_as_changed() -> None:
    answer = find_blend(Wish((OLIVE, COCONUT, SHEA), Aim(Goal.RECIPE), recipe=RECIPE))
    assert answer.best is not None
    assert answer.best.aim == pytest.approx(20)


def test_what_goes_off_soon_is_used_up_first() -> None:
    fats = (replace(OLIVE, expiring=300), replace(SUNFLOWER, expiring=500), COCONUT)
    limits = (at_most(Kind.GROUP, 20, Group.POLYUNSATURATED),)
    answer = find_blend(Wish(fats, Aim(Goal.EXPIRING), limits, batch_grams=1000))
    assert answer.best is not None
    assert answer.best.aim == min(answer.best.shares[OLIVE.name], 30) + answer.best.shares[SUNFLOWER.name]
    assert answer.best.figures.groups[Group.POLYUNSATURATED] <= 20
    (price,) = answer.prices
    assert price.limit == limits[0]
    assert "more of what goes off soon" in price.words
    assert all(blend.aim <= answer.best.aim for blend in answer.alternatives)


def test_no_more_goes_in_than_is_on_hand() -> None:
    fats = (replace(LARD, on_hand=240), replace(PALM, on_hand=400), OLIVE)
    answer = find_blend(Wish(fats, CHEAPEST, batch_grams=1000))
    assert answer.best is not None
    assert answer.best.shares == {PALM.name: 40, OLIVE.name: 36, LARD.name: 24}
    assert [price.limit.kind for price in answer.prices] == [Kind.STOCK, Kind.STOCK]
    assert answer.prices[0].words == "340 g Lard on hand saves 0.60 a kg"
    assert answer.prices[0].per_unit == pytest.approx(0.006)


def test_no_more_than_so_many_fats_each_worth_weighing() -> None:
    fats = many(40)
    limits = (
        *HARD_AND_MILD[:3],
        at_most(Kind.IODINE, 60),
        at_most(Kind.COUNT, 2),
        at_least(Kind.SMALLEST, 8),
    )
    answer = find_blend(Wish(fats, CHEAPEST, limits, batch_grams=300))
    assert answer.best is not None
    assert len(answer.best.shares) == 2
    more = {price.limit.kind: price for price in answer.prices}[Kind.COUNT]
    assert more.per_unit == 0
    assert more.saves > 0
    assert more.loosened.value == 3
    assert all(len(blend.shares) <= 2 for blend in answer.alternatives)


def test_a_count_that_does_not_bind_costs_nothing() -> None:
    answer = find_blend(Wish(SEVEN, CHEAPEST, (at_most(Kind.COUNT, 5),)))
    assert answer.prices == ()


def test_a_limit_that_cannot_give_any_further_has_no_price() -> None:
    answer = find_blend(Wish((OLIVE, PALM), CHEAPEST, (at_least(Kind.FAT, 0, OLIVE.name),)))
    assert answer.prices == ()


def test_a_limit_that_gives_without_gain_has_no_price() -> None:
    """Both limits hold the same fat: either alone brings nothing."""
    limits = (at_least(Kind.FAT, 20, OLIVE.name), at_least(Kind.GROUP, 0, Group.OLEIC))
    twice = (*limits, at_most(Kind.FAT, 80, PALM.name))
    assert find_blend(Wish((OLIVE, PALM), CHEAPEST, twice)).prices == ()


@settings(max_examples=40, deadline=None)
@given(wishes())
def test_a_blend_keeps_every_limit(wish: Wish) -> None:
    answer = find_blend(wish)
    assert (answer.best is None) == bool(answer.clash)
    for blend in ([answer.best] if answer.best else []) + list(answer.alternatives):
        assert sum(blend.shares.values()) == pytest.approx(100, abs=1e-6)
        assert min(blend.shares.values()) > 0
        within = 1e-5 if blend.step else 0.2
        for limit in wish.limits:
            assert keeps(limit, wish, blend.shares, within), limit
        if wish.batch_grams is not None:
            stock = {one.name: one.on_hand for one in wish.fats if one.on_hand is not None}
            for name, share in blend.shares.items():
                assert share * wish.batch_grams / 100 <= stock.get(name, 1e9) + 0.05
        if blend.step:
            for share in blend.shares.values():
                assert share / blend.step == pytest.approx(round(share / blend.step), abs=1e-6)


@settings(max_examples=12, deadline=None)
@given(wishes())
def test_alternatives_are_near_and_differ(wish: Wish) -> None:
    answer = find_blend(wish)
    blends = ([answer.best] if answer.best else []) + list(answer.alternatives)
    assert len(blends) <= 3
    for index, blend in enumerate(blends):
        for other in blends[:index]:
            assert moved(blend.shares, other.shares) >= wish.apart - 1e-9


# Round shares


def test_the_step_is_kept_where_limits_allow() -> None:
    best = find_blend(Wish(PLANTS, CHEAPEST, HARD_AND_MILD, step=5)).best
    assert best is not None
    assert best.step == 5
    assert all(share % 5 == 0 for share in best.shares.values())
    assert all(keeps(limit, Wish(PLANTS, CHEAPEST), best.shares) for limit in HARD_AND_MILD)


@pytest.mark.parametrize(
    ("share", "step", "found"), [(20, 5, 5), (20.3, 5, 0.1), (20.33, 0.5, 0.01), (20.333, 0.5, None)]
)
def test_a_finer_step_is_taken_where_limits_are_tight(share: float, step: float, found: float | None) -> None:
    limits = (at_least(Kind.FAT, share, OLIVE.name), at_most(Kind.FAT, share, OLIVE.name))
    best = find_blend(Wish((OLIVE, PALM), CHEAPEST, limits, step=step)).best
    assert best is not None
    assert best.step == found
    assert best.shares[OLIVE.name] == pytest.approx(share, abs=0.005)
    assert sum(best.shares.values()) == pytest.approx(100, abs=1e-9)


# Other ways


def test_as_many_alternatives_as_asked_for() -> None:
    wish = Wish(many(40), CHEAPEST, HARD_AND_MILD[:3], near=40, apart=5)
    assert len(find_blend(wish).alternatives) == 4
    assert len(find_blend(replace(wish, most=1)).alternatives) == 1
    assert find_blend(replace(wish, most=0)).alternatives == ()


def test_the_best_is_never_worse_than_an_alternative() -> None:
    target = {Group.OLEIC: 45.0, Group.SHORT_SATURATED: 20.0, "C18:0": 8.0}
    answer = find_blend(Wish(many(40), Aim(Goal.PROFILE, target), HARD_AND_MILD[:3]))
    assert answer.best is not None
    aims = [answer.best.aim, *(blend.aim for blend in answer.alternatives)]
    assert aims == sorted(aims)
    assert len(aims) > 2


# Words


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (at_least(Kind.GROUP, 15, Group.SHORT_SATURATED), "at least 15 % short saturated acids"),
        (at_most(Kind.ACID, 8, "C18:0"), "at most 8 % stearic acid"),
        (at_most(Kind.FAT, 12.5, "Coconut oil"), "at most 12.5 % Coconut oil"),
        (at_most(Kind.IODINE, 60), "iodine value at most 60"),
        (at_most(Kind.COST, 4.5), "cost at most 4.50 a kg"),
        (at_most(Kind.PALM, 0), "no palm"),
        (at_most(Kind.ANIMAL, 5), "at most 5 % animal fat"),
        (at_most(Kind.MOVED, 10), "no more than 10 % changed from the recipe"),
        (at_most(Kind.COUNT, 1), "at most 1 fat"),
        (at_most(Kind.COUNT, 4), "at most 4 fats"),
        (at_least(Kind.SMALLEST, 5), "at least 5 % of each fat used"),
        (Limit(Kind.STOCK, Side.AT_MOST, 240, "Lard"), "240 g Lard on hand"),
    ],
)
def test_a_limit_is_said_in_words(limit: Limit, words: str) -> None:
    assert limit.words == words


# The solver


def in_a_new_process(lines: str) -> str:
    """What another Python writes for these lines, on the terminal and to errors."""
    run = subprocess.run([sys.executable, "-c", lines], capture_output=True, text=True, check=True)
    return run.stdout + run.stderr


def test_the_solver_is_loaded_only_once_it_is_wanted() -> None:
    lines = """if True:
        import sys, threading
        from shared.blend import warm_up
        assert "highspy" not in sys.modules
        warm_up()
        for thread in threading.enumerate():
            if thread.daemon:
                thread.join()
        assert "highspy" in sys.modules
    """
    assert in_a_new_process(lines) == ""


def test_the_solver_says_nothing_on_the_terminal() -> None:
    """With and without whole numbers, where there is an answer and where there is none."""
    lines = """if True:
        from shared.blend import Kind, Wish, find_blend
        from tests.shared.blends import CHEAPEST, HARD_AND_MILD, at_least, at_most, many
        some = (at_most(Kind.COUNT, 3), at_least(Kind.SMALLEST, 8), at_most(Kind.COST, 1))
        for more in ((), some[:2], some):
            find_blend(Wish(many(12), CHEAPEST, (*HARD_AND_MILD[:3], *more), 1000))
    """
    assert in_a_new_process(lines) == ""


# Sizes


def test_two_hundred_fats_are_no_trouble() -> None:
    limits = (*HARD_AND_MILD[:3], at_most(Kind.IODINE, 60))
    answer = find_blend(Wish(many(200), CHEAPEST, limits, batch_grams=1000))
    assert answer.best is not None
    assert all(keeps(limit, Wish(many(200), CHEAPEST), answer.best.shares) for limit in limits)


def test_one_fat_is_its_own_blend() -> None:
    answer = find_blend(Wish((CASTOR,), CHEAPEST, (at_least(Kind.GROUP, 80, Group.RICINOLEIC),)))
    assert answer.best is not None
    assert answer.best.shares == {CASTOR.name: 100}
