import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.fats import reference_fats
from shared.heat import water_density
from shared.moulds import (
    FAT_DENSITY,
    MouldError,
    Part,
    Vessel,
    batter_density,
    box,
    box_volume_ml,
    lye_solution_density,
    tube,
    weighed_with_water,
)
from tests.shared.pots import potash, soda

SIDES = st.floats(1, 2000)


def test_a_loaf_mould_holds_its_inner_box() -> None:
    assert box_volume_ml(250, 80, 65) == 1300


@given(SIDES, SIDES, SIDES)
def test_the_order_of_the_sides_does_not_matter(a: float, b: float, c: float) -> None:
    assert box_volume_ml(a, b, c) == pytest.approx(box_volume_ml(c, a, b))


@pytest.mark.parametrize("side", [0.99, 2000.1, 0, -5, math.nan, math.inf])
@pytest.mark.parametrize("field", ["length", "width", "height"])
def test_impossible_sides_are_refused(side: float, field: str) -> None:
    sides = {"length": 100.0, "width": 100.0, "height": 100.0, field: side}
    with pytest.raises(MouldError, match=field) as caught:
        box_volume_ml(sides["length"], sides["width"], sides["height"])
    assert caught.value.field == field


@pytest.mark.parametrize(
    ("concentration", "density"),
    # CRC Handbook, Concentrative Properties of Aqueous Solutions, NaOH at 20 °C
    [(5, 1.0538), (10, 1.1089), (20, 1.2192), (30, 1.3277), (40, 1.4299)],
)
def test_density_of_soda_lye_meets_the_published_points(concentration: float, density: float) -> None:
    assert lye_solution_density([soda(concentration)], 100 - concentration) == pytest.approx(density)


def test_density_of_potash_lye_meets_the_published_points() -> None:
    """Laliberte and Cooper (2004): 30 % KOH at 20 °C, 1.2892 g/mL."""
    assert lye_solution_density([potash(30)], 70) == pytest.approx(1.2892)


def test_mixed_lye_lies_between_its_alkalis() -> None:
    sodium, potassium = lye_solution_density([soda(30)], 70), lye_solution_density([potash(30)], 70)
    assert lye_solution_density([soda(15), potash(15)], 70) == pytest.approx((sodium + potassium) / 2)


def test_liquid_without_alkali_is_water() -> None:
    assert lye_solution_density([], 100) == water_density(20)


@pytest.mark.parametrize("liquid", [0, -1, math.nan, math.inf])
def test_lye_without_liquid_is_refused(liquid: float) -> None:
    with pytest.raises(MouldError, match="liquid") as caught:
        lye_solution_density([soda(30)], liquid)
    assert caught.value.field == "liquid"


@pytest.mark.parametrize("grams", [-1, math.nan, math.inf])
def test_impossible_lye_is_refused(grams: float) -> None:
    with pytest.raises(MouldError):
        lye_solution_density([soda(grams)], 70)


def test_a_batter_weighs_what_its_parts_weigh_and_fills_what_they_fill() -> None:
    assert batter_density([Part(920, 0.92), Part(660, 1.32)]) == pytest.approx(1580 / 1500)


@given(st.lists(st.tuples(st.floats(0.1, 5000), st.floats(0.5, 2)), min_size=1, max_size=6))
def test_a_batter_is_no_lighter_than_its_lightest_and_no_heavier_than_its_heaviest_part(
    parts: list[tuple[float, float]],
) -> None:
    densities = [density for _, density in parts]
    found = batter_density(Part(*part) for part in parts)
    assert min(densities) - 1e-9 <= found <= max(densities) + 1e-9


@pytest.mark.parametrize(
    "parts",
    [[], [Part(0, 0.9)], [Part(-1, 0.9)], [Part(1, 0)], [Part(math.nan, 1)], [Part(1, math.inf)]],
)
def test_an_impossible_batter_is_refused(parts: list[Part]) -> None:
    with pytest.raises(MouldError) as caught:
        batter_density(parts)
    assert caught.value.field == "parts"


def test_the_density_of_an_unknown_fat_is_the_middle_of_the_known_ones() -> None:
    known = sorted(
        fat.density for fat in reference_fats().values() if fat.triglyceride and fat.density is not None
    )
    assert known[len(known) // 2] == pytest.approx(FAT_DENSITY, abs=0.005)


# The inside of a mould


def test_a_box_holds_what_its_sides_say() -> None:
    assert box(250, 80, 65).volume_ml == pytest.approx(box_volume_ml(250, 80, 65))


def test_a_liner_is_taken_off_both_sides_and_off_the_floor() -> None:
    assert box(250, 80, 65, liner_mm=2).volume_ml == pytest.approx(246 * 76 * 63 / 1000)
    assert tube(75, 300, liner_mm=2).volume_ml == pytest.approx(math.pi * 35.5**2 * 298 / 1000)


def test_a_tube_holds_its_round_floor_times_its_depth() -> None:
    assert tube(100, 100).volume_ml == pytest.approx(785.4, abs=0.01)


def test_a_mould_weighed_with_water_holds_that_much() -> None:
    assert weighed_with_water(612, 35).volume_ml == pytest.approx(612)


def test_half_as_high_is_half_as_much() -> None:
    vessel = box(250, 80, 65)
    assert vessel.volume_at(32.5) == pytest.approx(vessel.volume_ml / 2)


@given(st.floats(0.1, 1e6), st.floats(1, 4e6), st.floats(1, 2000))
def test_what_stands_so_high_is_as_much_as_stands_there(volume: float, area: float, depth: float) -> None:
    vessel = Vessel(area, depth)
    assert vessel.volume_at(vessel.height_of(volume)) == pytest.approx(volume)


@pytest.mark.parametrize("depth", [0.99, 2000.1, 0, -1, math.nan, math.inf])
def test_an_impossible_depth_is_refused(depth: float) -> None:
    with pytest.raises(MouldError) as caught:
        Vessel(1000, depth)
    assert caught.value.field == "depth"


@pytest.mark.parametrize("area", [0, -1, 4.1e6, math.nan, math.inf])
def test_an_impossible_floor_is_refused(area: float) -> None:
    with pytest.raises(MouldError) as caught:
        Vessel(area, 50)
    assert caught.value.field == "area"
