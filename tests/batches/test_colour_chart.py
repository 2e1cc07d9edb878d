"""The chart of colours: where its lines, levels, days and letters stand."""

from itertools import pairwise

import pytest

from batches.queries.colour_chart import (
    BOTTOM,
    LEFT,
    LINE_OF_TEXT,
    MOST_LINES,
    RIGHT,
    SHAPES,
    TOP,
    Charted,
    Measured,
    draw,
)


def portion(letter: str, *readings: tuple[int, float, float]) -> Charted:
    """Readings by day, lightness and difference."""
    return Charted(letter, [Measured(*each, "#c8a27d") for each in readings])


def test_readings_of_one_day_are_no_chart():
    assert draw([portion("A", (3, 60, 0)), portion("B", (3, 80, 0))]) is None


def test_lines_run_from_the_first_day_to_the_last():
    chart = draw([portion("A", (1, 60, 0), (8, 54, 6), (15, 52, 8))])

    [line] = chart.lightness.lines
    assert [point.x for point in line.points] == [LEFT, (LEFT + RIGHT) / 2, RIGHT]
    assert line.path.startswith(f"M{LEFT:g} ")
    assert line.path.count("L") == 2


def test_darker_is_lower_and_more_change_is_higher():
    chart = draw([portion("A", (1, 60, 0), (8, 52, 8))])

    first, last = chart.lightness.lines[0].points
    assert first.y < last.y
    first, last = chart.difference.lines[0].points
    assert first.y > last.y


def test_levels_hold_every_reading_and_are_few():
    for low, high in ((50, 50), (0, 100), (49.9, 50.1), (3, 97), (20, 31)):
        levels = draw([portion("A", (1, low, 0), (8, high, 1))]).lightness.levels
        assert levels[0].figure <= low
        assert levels[-1].figure >= high
        assert (levels[0].at, levels[-1].at) == (BOTTOM, TOP)
        assert 2 <= len(levels) <= MOST_LINES + 1


def test_a_colour_that_stays_is_drawn_at_rest_below_what_the_eye_sees():
    panel = draw([portion("A", (1, 50, 0), (8, 50, 0))]).difference

    assert {point.y for point in panel.lines[0].points} == {BOTTOM}
    assert TOP < panel.side_by_side < BOTTOM


def test_letters_of_lines_that_end_together_stand_apart():
    for ends in ((50, 50, 50), (50, 51, 90), (90, 50, 50.5)):
        chart = draw([portion("ABC"[n], (1, 70, 0), (8, end, 1)) for n, end in enumerate(ends)])
        heights = sorted(line.letter_y for line in chart.lightness.lines)
        assert all(b - a >= LINE_OF_TEXT for a, b in pairwise(heights))
        assert heights[-1] <= BOTTOM


def test_each_portion_has_a_mark_of_its_own():
    lines = draw([portion(str(n), (1, 50, 0), (8, 50 + n, n)) for n in range(7)]).lightness.lines

    assert [line.shape for line in lines] == [*SHAPES, SHAPES[0]]


@pytest.mark.parametrize(
    ("days", "written"),
    [((0, 30), [0, 30]), ((0, 1, 2, 30), [0, 30]), ((0, 15, 29, 30), [0, 15, 30]), ((0, 1), [0, 1])],
)
def test_days_are_written_where_there_is_room(days, written):
    chart = draw([portion("A", *((day, 50, 0) for day in days))])

    assert [day.figure for day in chart.days] == written
