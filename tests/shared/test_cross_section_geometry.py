"""Points and outlines of the drawing of a bar."""

from itertools import islice

import pytest

from shared.cross_section.geometry import areas, chances, find, path, simplified


def test_chance_is_the_same_for_the_same_seed_and_spread_over_the_whole_range() -> None:
    drawn = list(islice(chances("26-0147"), 1000))
    assert drawn == list(islice(chances("26-0147"), 1000))
    assert drawn != list(islice(chances("26-0148"), 1000))
    assert all(0 <= one < 1 for one in drawn)
    assert sum(drawn) / 1000 == pytest.approx(0.5, abs=0.05)


def test_areas_add_up_from_the_left() -> None:
    assert areas([1, 3, 1], 4) == [0, 4, 8]


def test_a_value_is_found_in_its_step_and_never_outside() -> None:
    assert find([0, 2, 6], 3) == (1, 0.25)
    assert find([0, 2, 6], -1) == (0, 0)
    assert find([0, 2, 6], 7) == (1, 1)
    assert find([0, 0, 0], 0) == (1, 0)


def test_points_on_a_line_are_left_out_and_corners_stay() -> None:
    assert simplified([(0, 0), (1, 0.05), (2, 0), (2, 2)], 0.1) == [(0, 0), (2, 0), (2, 2)]
    assert simplified([(0, 0), (1, 0.2), (2, 0)], 0.1) == [(0, 0), (1, 0.2), (2, 0)]


def test_a_line_that_ends_where_it_began_keeps_its_furthest_point() -> None:
    assert simplified([(0, 0), (1, 0), (5, 0), (1, 0), (0, 0)], 0.1) == [(0, 0), (5, 0), (0, 0)]


def test_outlines_are_written_to_a_tenth() -> None:
    assert path([[(0, 0), (10, 0.04), (3.25, 7.16)], [(1, 1)]]) == "M0 0 10 0 3.2 7.2ZM1 1Z"
