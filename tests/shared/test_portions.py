"""A bucket of batter split into portions."""

import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from shared.portions import KEPT_BACK, Addition, Basis, Cause, Portion, Split, resolve, solve
from tests.shared.batters import PLAIN, TENTH, TWO_SCALES, plan, refused, weights

SCENT = Addition("Scent", 3, Basis.FATS)

# Solved


def test_a_part_kept_free_of_fragrance_leaves_the_fragrance_to_the_fats_of_the_others() -> None:
    """20 % of 5 kg without, 3 % of the fats in the other 80 %: 0.03 * 0.65 * 4000 g."""
    split = solve(
        plan(
            Portion("White", share=20),
            Portion("Rose", share=80, additions=(SCENT,)),
            batter=5000,
            scale=TENTH,
        )
    )
    white, rose = split.jugs
    assert (white.grams, rose.grams) == (1000, 4000)
    assert (white.fats, rose.fats) == (pytest.approx(650), pytest.approx(2600))
    assert (white.additions, rose.additions) == ((), (("Scent", 78),))
    assert split.additions == {"Scent": 78}


def test_the_rest_takes_what_the_others_leave() -> None:
    split = solve(plan(PLAIN, Portion("Pink", share=25), Portion("Blue", grams=300), batter=2000))
    assert weights(split) == {"Plain": 1200, "Pink": 500, "Blue": 300}


def test_a_portion_with_nothing_stated_takes_what_the_others_leave() -> None:
    split = solve(plan(Portion("Pink", grams=500), Portion("Open"), batter=2000))
    assert weights(split) == {"Pink": 500, "Open": 1500}


def test_a_weight_that_is_a_quarter_tells_the_batter() -> None:
    assert solve(plan(Portion("Pink", grams=500), Portion("White", share=75))).batter == 2000
    split = solve(plan(Portion("Pink", grams=500, share=25), PLAIN))
    assert (split.batter, weights(split)["Plain"]) == (2000, 1500)


def test_weights_alone_add_up_to_the_batter() -> None:
    assert solve(plan(Portion("Pink", grams=500), Portion("White", grams=750))).batter == 1250


def test_a_layer_is_its_volume_times_the_density() -> None:
    """250 mm by 80 mm by 20 mm are 400 mL."""
    split = solve(
        plan(
            Portion("Pink", layer_mm=20),
            PLAIN,
            Portion("Later", grams=200, destination=KEPT_BACK),
            batter=2000,
            area=20_000,
            density=1.05,
        )
    )
    pink, plain, later = split.jugs
    assert pink.grams == 420
    assert pink.height_mm == pytest.approx(20)
    assert plain.height_mm == pytest.approx(1380 / 1.05 / 20)
    assert later.height_mm is None


def test_a_vessel_holds_a_third_more_than_its_portion() -> None:
    (jug,) = solve(plan(PLAIN, batter=1050, density=1.05)).jugs
    assert jug.vessel_ml == pytest.approx(1000 * 4 / 3)
    assert jug.height_mm is None


def test_without_a_density_no_height_and_no_vessel_is_told() -> None:
    (jug,) = solve(plan(PLAIN, batter=1000, area=20_000)).jugs
    assert (jug.height_mm, jug.vessel_ml) == (None, None)


def test_what_goes_into_a_portion_is_counted_by_its_weight_or_by_its_fats() -> None:
    green = Portion(
        "Green",
        share=40,
        additions=(Addition("Chrome green", 0.5), Addition("Mica", 0.2, Basis.FATS)),
    )
    pale = Portion("Pale", share=60, additions=(Addition("Chrome green", 0.1),))
    split = solve(plan(green, pale, batter=1000, scale=TENTH))
    assert split.jugs[0].additions == (("Chrome green", 2), ("Mica", Decimal("0.5")))
    assert split.additions == {"Chrome green": Decimal("2.6"), "Mica": Decimal("0.5")}


def test_what_the_scale_cannot_show_is_given_as_a_pinch() -> None:
    pink = Portion("Pink", share=100, additions=(Addition("Red", 0.001), Addition("Scent", 0.06, Basis.FATS)))
    (jug,) = solve(plan(pink, batter=1000)).jugs
    assert jug.additions == (("Red", Decimal("0.01")), ("Scent", Decimal("0.39")))


def test_the_jugs_come_in_order_of_pouring() -> None:
    split = solve(plan(Portion("Top", share=30, order=2), Portion("Base", share=70, order=1), batter=1000))
    assert [jug.portion.name for jug in split.jugs] == ["Base", "Top"]


def test_thirds_add_up_to_the_batter() -> None:
    thirds = [Portion(name, share=33.3) for name in ("a", "b", "c")]
    assert weights(solve(plan(*thirds, batter=5000))) == {"a": 1667, "b": 1667, "c": 1666}


def test_all_portions_go_by_the_step_that_the_batter_is_weighed_in() -> None:
    split = solve(plan(Portion("Pink", grams=33.3), PLAIN, batter=1002, scale=TWO_SCALES))
    assert weights(split) == {"Pink": 35, "Plain": 965}


@pytest.mark.parametrize(
    ("portions", "batter", "named", "words"),
    [
        ((Portion("Pink", share=70), Portion("White", share=50)), 1000, ("Pink", "White"), "add up to 120 %"),
        ((Portion("Pink", share=70), Portion("White", share=50), PLAIN), None, ("Pink", "White"), "120 %"),
        ((Portion("Pink", share=70), Portion("White", share=20)), None, ("Pink", "White"), "only 90 %"),
        ((Portion("Pink", share=100), PLAIN), 1000, ("Plain",), "nothing is left for Plain"),
        ((Portion("Pink", share=100), Portion("Blue", grams=5)), None, ("Blue",), "nothing is left for Blue"),
        ((Portion("Pink", grams=1000), PLAIN), 1000, ("Plain",), "nothing is left for Plain"),
        ((Portion("Pink", grams=1200), PLAIN), 1000, ("Plain",), "take 1200 g of the 1000 g"),
        ((Portion("a", grams=700), Portion("b", share=40)), 1000, ("a", "b"), "need 1100 g, more"),
        ((Portion("a", grams=300.5), Portion("b", share=40)), 1000, ("a", "b"), "take only 700.5 g"),
        ((Portion("Pink", grams=500, share=25), PLAIN), 1000, ("Pink",), "500 g and 25 %, which contradict"),
        (
            (Portion("a", grams=500, share=25), Portion("b", grams=500, share=20), PLAIN),
            None,
            ("b",),
            "contradict each other for a batter of 2000 g",
        ),
        ((Portion("Pink", grams=500, rest=True),), 1000, ("Pink",), "states its size twice"),
        ((Portion("Pink", grams=500, layer_mm=5), PLAIN), 1000, ("Pink",), "states its size twice"),
    ],
)
def test_too_much_said_is_told_with_the_portions_it_is_about(
    portions: Sequence[Portion], batter: float | None, named: tuple[str, ...], words: str
) -> None:
    error = refused(plan(*portions, batter=batter, area=20_000, density=1))
    assert (error.cause, error.portions) == (Cause.OVER, named)
    assert words in str(error)
    assert all(name in str(error) for name in named)


# Too little said


@pytest.mark.parametrize(
    ("portions", "batter", "field", "named"),
    [
        ((PLAIN, Portion("Open")), 1000, "size", ("Plain", "Open")),
        ((PLAIN, Portion("More", rest=True), Portion("Pink", share=20)), 1000, "size", ("Plain", "More")),
        ((Portion("Pink", grams=500), PLAIN), None, "batter", ("Plain",)),
        ((Portion("Pink", share=40), Portion("White", share=60)), None, "batter", ("Pink", "White")),
    ],
)
def test_too_little_said_is_told_with_the_portions_it_is_about(
    portions: Sequence[Portion], batter: float | None, field: str, named: tuple[str, ...]
) -> None:
    error = refused(plan(*portions, batter=batter))
    assert (error.cause, error.field, error.portions) == (Cause.UNDER, field, named)
    assert all(name in str(error) for name in named)


@pytest.mark.parametrize(("area", "density", "field"), [(None, 1, "area"), (20_000, None, "density")])
def test_a_layer_needs_the_mould_and_the_density(
    area: float | None, density: float | None, field: str
) -> None:
    error = refused(plan(Portion("Pink", layer_mm=5), PLAIN, batter=1000, area=area, density=density))
    assert (error.cause, error.field) == (Cause.UNDER, field)


# Figures that cannot be


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf, 1e12])
def test_sizes_that_cannot_be_are_refused(bad: float) -> None:
    good = plan(PLAIN, batter=1000, area=20_000, density=1)
    for field, plan_ in (
        ("batter", replace(good, batter=bad)),
        ("fats", replace(good, fats_share=bad)),
        ("area", replace(good, area_mm2=bad)),
        ("density", replace(good, density=bad)),
        ("share", replace(good, portions=(PLAIN, Portion("Pink", share=bad)))),
        ("grams", replace(good, portions=(PLAIN, Portion("Pink", grams=bad)))),
        ("layer", replace(good, portions=(PLAIN, Portion("Pink", layer_mm=bad)))),
    ):
        error = refused(plan_)
        assert (error.field, error.cause) == (field, Cause.FIGURE)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf, 1e12])
def test_amounts_that_cannot_be_are_refused(bad: float) -> None:
    for field, portion in (("additions", replace(PLAIN, additions=(Addition("Red", bad),))),):
        error = refused(plan(portion, batter=1000))
        assert (error.field, error.cause, error.portions) == (field, Cause.FIGURE, ("Plain",))


@pytest.mark.parametrize(
    ("portions", "field", "words"),
    [
        ((), "portions", "There are no portions"),
        ((Portion(" ", share=100),), "name", "needs a name"),
        ((PLAIN, Portion("Plain", share=10)), "name", "Two portions are called Plain"),
        ((PLAIN, Portion("Pink", layer_mm=5, destination=KEPT_BACK)), "layer", "not go into the mould"),
        ((PLAIN, Portion("Pink", grams=0.3)), "scale", "Pink comes to 0.3 g"),
    ],
)
def test_portions_that_cannot_be_are_refused(portions: Sequence[Portion], field: str, words: str) -> None:
    error = refused(plan(*portions, batter=1000, area=20_000, density=1))
    assert (error.field, error.cause) == (field, Cause.FIGURE)
    assert words in str(error)


def test_a_batter_that_the_scale_cannot_show_is_refused() -> None:
    assert refused(plan(Portion("Pink", share=100), batter=0.2)).field == "scale"


def test_a_batter_that_comes_to_more_than_a_tonne_is_refused() -> None:
    assert refused(plan(Portion("Pink", share=99.9999), Portion("Blue", grams=500))).field == "batter"


# What remains in the bucket

THREE = plan(
    Portion("White", share=20, order=1),
    Portion("Rose", share=30, additions=(SCENT,), order=2),
    Portion("Red", share=50, additions=(SCENT,), order=3),
    batter=5000,
    scale=TENTH,
)


def test_shares_divide_what_remains_and_the_fragrance_follows() -> None:
    split = resolve(THREE, {"White": Decimal(1400)})
    assert weights(split) == {"Rose": 1350, "Red": 2250}
    assert (split.batter, split.left_over) == (3600, 0)
    assert split.additions["Scent"] == Decimal("70.2")


def test_the_rest_takes_what_remains_and_shares_stay_as_planned() -> None:
    design = plan(Portion("White", share=20), Portion("Pink", share=30), PLAIN, batter=1000)
    assert weights(resolve(design, {"White": 250})) == {"Pink": 300, "Plain": 450}
    assert weights(resolve(design, {"Plain": 400})) == {"White": 240, "Pink": 360}


def test_weights_stay_as_planned_and_what_nobody_takes_is_left_over() -> None:
    design = plan(Portion("Pink", grams=500), Portion("White", grams=300), Portion("Blue", grams=200))
    split = resolve(design, {"Pink": 440})
    assert weights(split) == {"White": 300, "Blue": 200}
    assert (split.batter, split.left_over) == (560, 60)
    assert resolve(design, {"Pink": 500, "White": 300, "Blue": 190}) == Split(Decimal(10), (), Decimal(10))


def test_two_open_portions_can_be_solved_once_one_is_poured() -> None:
    design = plan(Portion("Pink"), PLAIN, batter=1000)
    assert weights(resolve(design, {"Pink": 400})) == {"Plain": 600}
    assert refused(design, {}).cause is Cause.UNDER


def test_nothing_poured_yet_is_the_plan() -> None:
    assert resolve(THREE, {}) == solve(THREE)


@pytest.mark.parametrize(
    ("portions", "poured", "words"),
    [
        ((Portion("Pink", share=50), Portion("White", grams=300), PLAIN), 750, "250 g of batter remain"),
        ((Portion("Pink", share=50), Portion("White", grams=500)), 501, "comes to 500 g"),
        ((Portion("Pink", share=50), Portion("White", share=50)), 1000, "nothing is left for White"),
        (
            (Portion("Pink", share=50), Portion("White", share=20), PLAIN),
            800,
            "does not suffice for White, P",
        ),
        ((Portion("Pink", share=50), Portion("White", share=50)), 1002, "1002 g have been poured"),
    ],
)
def test_a_bucket_that_does_not_suffice_is_told(
    portions: Sequence[Portion], poured: float, words: str
) -> None:
    error = refused(plan(*portions, batter=1000), {"Pink": poured})
    assert (error.cause, error.field) == (Cause.OVER, "done")
    assert words in str(error)


@pytest.mark.parametrize(
    ("done", "named"),
    [
        ({"Nobody": 5}, ()),
        ({"White": -1}, ("White",)),
        ({"White": math.nan}, ("White",)),
        ({"White": Decimal("NaN")}, ("White",)),
        ({"White": 1e9}, ("White",)),
    ],
)
def test_pours_that_cannot_be_are_refused(done: dict[str, float | Decimal], named: tuple[str, ...]) -> None:
    error = refused(THREE, done)
    assert (error.field, error.cause, error.portions) == ("done", Cause.FIGURE, named)
