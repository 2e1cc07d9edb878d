"""Why there is no such blend: the fewest limits that clash, and how far each would have to give."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import assume, given, settings

from shared.blend import Goal, Group, Kind, Limit, Relaxation, Wish, find_blend
from shared.blend.model import Model, model_of
from tests.reference.glpk import by_glpk
from tests.shared.blends import (
    CHEAPEST,
    COCONUT,
    HARD_AND_MILD,
    OLIVE,
    PALM,
    SEVEN,
    at_least,
    at_most,
    many,
    wishes,
)


def smallest_clash(model: Model) -> int:
    """Number of limits in the smallest set that clashes, by trying all sets."""
    for size in range(1, len(model.limits) + 1):
        for some in combinations(model.limits, size):
            if not model.within(some).fits():
                return size
    raise AssertionError("They do not clash.")


def with_limits(wish: Wish, limits: tuple[Limit, ...]) -> Wish:
    """The wish with these limits only; those of stock go back to the fats."""
    stock = {limit.of: limit.value for limit in limits if limit.kind is Kind.STOCK}
    fats = tuple(replace(one, on_hand=stock.get(one.name)) for one in wish.fats)
    return replace(wish, fats=fats, limits=tuple(one for one in limits if one.kind is not Kind.STOCK))


def given_way(wish: Wish, relaxation: Relaxation) -> Wish:
    """The wish with one limit as far looser as it is told to be."""
    limits = tuple(model_of(wish, wish.fats).limits)
    to = replace(relaxation.limit, value=relaxation.to)
    return with_limits(wish, tuple(to if one == relaxation.limit else one for one in limits))


def test_the_limits_that_cannot_hold_together_are_named_out_of_many() -> None:
    limits = (*HARD_AND_MILD, at_least(Kind.GROUP, 45, Group.LONG_SATURATED))
    answer = find_blend(Wish(SEVEN, CHEAPEST, limits))
    assert answer.best is None
    assert answer.prices == answer.alternatives == ()
    assert len(answer.clash) == 2
    assert answer.clash[1].limit == limits[6]
    assert all(one.enough for one in answer.clash)


def test_one_limit_may_be_impossible_by_itself() -> None:
    answer = find_blend(Wish((OLIVE, COCONUT), CHEAPEST, (*HARD_AND_MILD[:2], at_least(Kind.PALM, 10))))
    (clash,) = answer.clash
    assert clash.limit.kind is Kind.PALM
    assert clash.to == 0
    assert clash.enough


def test_a_range_the_wrong_way_round_is_a_clash_of_its_ends() -> None:
    limits = (at_least(Kind.FAT, 30, OLIVE.name), at_most(Kind.FAT, 20, OLIVE.name))
    answer = find_blend(Wish(SEVEN, CHEAPEST, limits))
    assert [(one.limit, one.to, one.enough) for one in answer.clash] == [
        (limits[0], 20, True),
        (limits[1], 30, True),
    ]
    assert [one.words for one in answer.clash] == ["at least 20 % Olive oil", "at most 30 % Olive oil"]


def test_the_smaller_of_two_clashes_is_named_and_that_it_is_not_all() -> None:
    limits = (
        at_least(Kind.GROUP, 60, Group.OLEIC),
        at_least(Kind.FAT, 60, COCONUT.name),
        at_least(Kind.FAT, 60, PALM.name),
        at_most(Kind.IODINE, 10),
        at_least(Kind.ACID, 90, "C12:0"),
    )
    (clash,) = find_blend(Wish(SEVEN, CHEAPEST, limits)).clash
    assert clash.limit == limits[4]
    assert not clash.enough
    assert clash.to == pytest.approx(max(one.profile.get("C12:0", 0) for one in SEVEN), abs=0.1)


def test_too_little_stock_for_the_batch_is_a_clash_of_all_lots() -> None:
    fats = tuple(replace(one, on_hand=100.0) for one in SEVEN)
    answer = find_blend(Wish(fats, CHEAPEST, batch_grams=1000))
    assert len(answer.clash) == 7
    assert {one.to for one in answer.clash} == {400}
    assert answer.clash[0].words == f"400 g {answer.clash[0].limit.of} on hand"


def test_too_few_fats_for_the_stock() -> None:
    fats = tuple(replace(one, on_hand=300.0) for one in SEVEN)
    answer = find_blend(Wish(fats, CHEAPEST, (at_most(Kind.COUNT, 3),), batch_grams=1000))
    counted = next(one for one in answer.clash if one.limit.kind is Kind.COUNT)
    assert counted.to == 4
    assert counted.words == "at most 4 fats"
    assert counted.enough


def test_a_smallest_share_may_have_to_give() -> None:
    limits = (at_least(Kind.SMALLEST, 10), at_least(Kind.FAT, 1, PALM.name), at_most(Kind.FAT, 2, PALM.name))
    answer = find_blend(Wish(SEVEN, CHEAPEST, limits))
    assert [(one.limit, one.to) for one in answer.clash] == [(limits[0], 2), (limits[1], 0), (limits[2], 10)]


def test_limits_that_clash_by_a_hair_are_found_too() -> None:
    """Closer than the search for the fewest can tell; then limits are left out one by one."""
    limits = (
        at_least(Kind.FAT, 20.004, OLIVE.name),
        at_most(Kind.FAT, 20, OLIVE.name),
        at_most(Kind.COST, 9),
    )
    answer = find_blend(Wish(SEVEN, CHEAPEST, limits))
    assert [one.limit for one in answer.clash] == list(limits[:2])


def test_money_gives_by_the_hundredth() -> None:
    limits = (at_most(Kind.COST, 4), at_least(Kind.FAT, 70, OLIVE.name))
    answer = find_blend(Wish(SEVEN, CHEAPEST, limits))
    assert answer.clash[0].to == pytest.approx(0.7 * 8 + 0.3 * 2)
    assert answer.clash[0].words == "cost at most 6.20 a kg"


@settings(max_examples=20, deadline=None)
@given(wishes())
def test_a_clash_is_one_and_no_member_can_be_spared(wish: Wish) -> None:
    clash = find_blend(wish).clash
    assume(clash)
    limits = tuple(one.limit for one in clash)
    assert by_glpk(with_limits(wish, limits)) is None
    for limit in limits:
        assert by_glpk(with_limits(wish, tuple(one for one in limits if one != limit))) is not None


@settings(max_examples=15, deadline=None)
@given(wishes(aims=(Goal.CHEAPEST,), counted=False))
def test_no_smaller_set_of_limits_clashes(wish: Wish) -> None:
    wish = replace(wish, batch_grams=None)
    clash = find_blend(wish).clash
    assume(clash)
    assert len(clash) == smallest_clash(model_of(wish, wish.fats))


@settings(max_examples=30, deadline=None)
@given(wishes())
def test_a_limit_that_gives_as_told_makes_room_and_no_less_would(wish: Wish) -> None:
    for one in find_blend(wish).clash:
        if one.enough:
            assert by_glpk(given_way(wish, one)) is not None
            unit = {Kind.STOCK: 1.0, Kind.COUNT: 1.0, Kind.COST: 0.01}.get(one.limit.kind, 0.1)
            back = 1.01 * unit * (1 if one.to < one.limit.value else -1)
            assert by_glpk(given_way(wish, replace(one, to=max(one.to + back, 0)))) is None


def test_a_clash_among_many_fats_is_found() -> None:
    limits = (*HARD_AND_MILD[:3], at_least(Kind.GROUP, 80, Group.LONG_SATURATED))
    answer = find_blend(Wish(many(200), CHEAPEST, limits, batch_grams=1000))
    assert 0 < len(answer.clash) <= 4
    assert limits[3] in {one.limit for one in answer.clash}
