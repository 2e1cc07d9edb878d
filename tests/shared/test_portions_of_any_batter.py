"""What holds for the portions of any batter."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.portions import Addition, Basis, Cause, Plan, Portion, PortionError, Split, resolve, solve
from shared.scaling import Scale
from tests.shared.batters import GRAM, PLAIN, TENTH, TWO_SCALES, plan, refused, weights

PARTS = st.lists(st.floats(0.5, 20), min_size=2, max_size=7)
SCALES = st.sampled_from([GRAM, TENTH, TWO_SCALES, Scale(Decimal(5))])
AMOUNTS = st.floats(0, 6)


@st.composite
def plans(draw: st.DrawFn, *, all_stated: bool = False) -> Plan:
    """A batter cut into known parts, each told as share, grams or layer, the first never as share; one of
    them perhaps left open."""
    parts, batter = draw(PARTS), draw(st.floats(1500, 20_000))
    area, density = 20_000, draw(st.floats(0.9, 1.2))
    left_open = -1 if all_stated else draw(st.integers(-1, len(parts) - 1))
    portions = []
    for number, part in enumerate(parts):
        share = 100 * part / sum(parts)
        grams = batter * share / 100
        sizes = {
            "share": {"share": share},
            "grams": {"grams": grams},
            "layer": {"layer_mm": grams / density / area * 1000},
        }
        ways = ["grams", "layer", "share"] if number else ["grams", "layer"]
        size = {} if number == left_open else sizes[draw(st.sampled_from(ways))]
        portions.append(
            Portion(
                str(number),
                **size,
                rest=number == left_open and draw(st.booleans()),
                additions=(Addition("Red", draw(AMOUNTS)), Addition("Scent", draw(AMOUNTS), Basis.FATS)),
                order=draw(st.integers(0, 3)),
            )
        )
    fats = draw(st.floats(40, 80))
    return plan(*portions, batter=batter, fats=fats, scale=draw(SCALES), area=area, density=density)


def assert_in_proportion(design: Plan, split: Split) -> None:
    scale = design.scale
    for jug in split.jugs:
        fats, (red, scent) = jug.fats, jug.portion.additions
        assert jug.grams > 0
        assert fats == pytest.approx(float(jug.grams) * design.fats_share / 100)
        assert [grams for _, grams in jug.additions] == [
            scale.pinch(float(jug.grams) / 100 * red.amount),
            scale.pinch(fats / 100 * scent.amount),
        ]
    scents = [dict(jug.additions)["Scent"] for jug in split.jugs]
    assert split.additions["Scent"] == sum(scents) >= 0


@settings(max_examples=60, deadline=None)
@given(plans())
def test_weights_add_up_to_the_batter_and_everything_is_in_proportion(design: Plan) -> None:
    split = solve(design)
    step = design.scale.step_for(design.batter or 0)
    assert sum(jug.grams for jug in split.jugs) == split.batter == design.scale.shows(design.batter or 0)
    assert all(jug.grams % step == 0 for jug in split.jugs)
    assert_in_proportion(design, split)


@settings(max_examples=60, deadline=None)
@given(plans(all_stated=True))
def test_an_open_batter_is_the_one_that_was_cut(design: Plan) -> None:
    split = solve(replace(design, batter=None))
    assert float(split.batter) == pytest.approx(design.batter, abs=float(design.scale.step))


def split_or_reason(design: Plan, done: dict[str, float | Decimal]) -> Split | PortionError:
    try:
        return resolve(design, done)
    except PortionError as error:
        return error


@settings(max_examples=60, deadline=None)
@given(plans(), st.integers(0, 6), st.floats(0, 1.3))
def test_what_remains_is_split_whole_or_refused_in_words(design: Plan, number: int, poured: float) -> None:
    name = str(number % len(design.portions))
    done: dict[str, float | Decimal] = {name: poured * float(weights(solve(design))[name])}
    remains = (design.batter or 0) - float(done[name])
    split = split_or_reason(design, done)
    if isinstance(split, PortionError):
        assert split.cause is Cause.OVER or split.field == "scale"
        return
    assert split.batter == design.scale.shows(max(remains, 0))
    assert sum(jug.grams for jug in split.jugs) + split.left_over == split.batter
    assert split.left_over >= 0
    assert name not in weights(split)
    assert_in_proportion(design, split)


@settings(max_examples=60, deadline=None)
@given(plans(all_stated=True), st.floats(0.05, 0.5))
def test_too_much_and_too_little_are_told_apart(design: Plan, off: float) -> None:
    first, *others = design.portions
    two_open = replace(design, portions=(*others, Portion("x"), Portion("y", rest=True)))
    assert refused(two_open).cause is Cause.UNDER
    more = replace(first, share=None, layer_mm=None, grams=(1 + off) * (design.batter or 0))
    assert refused(replace(design, portions=(more, *others))).cause is Cause.OVER
    assert refused(replace(design, portions=(*design.portions, PLAIN))).cause is Cause.OVER
