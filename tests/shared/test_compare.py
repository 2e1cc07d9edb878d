"""Two recipes side by side."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.compare import Change, Line, Row, compare


def fat(name: str, share: str) -> Line:
    return Line("fat", name, Decimal(share), "%")


OLD = (fat("Olive oil", "45"), fat("Palm oil", "25"), Line("lye", "Superfat", Decimal(5), "%"))
NEW = (
    fat("Olive oil", "45"),
    fat("Lard", "20"),
    Line("lye", "Superfat", Decimal(6), "%"),
    Line("lye", "Liquid by", "ratio"),
)


def test_lines_are_set_side_by_side_part_by_part() -> None:
    rows = compare(OLD, NEW)
    assert [(row.name, row.change, row.difference) for row in rows] == [
        ("Olive oil", Change.SAME, 0),
        ("Lard", Change.GAINED, 20),
        ("Palm oil", Change.LOST, -25),
        ("Superfat", Change.CHANGED, 1),
        ("Liquid by", Change.GAINED, None),
    ]
    assert rows[1].before is None
    assert rows[2].after is None


@pytest.mark.parametrize(
    ("before", "after", "difference"),
    [
        (Line("lye", "Liquid", "ratio"), Line("lye", "Liquid", "concentration"), None),
        (Line("lye", "Liquid", "ratio"), Line("lye", "Liquid", Decimal(2)), None),
        (Line("lye", "Liquid", Decimal(2)), Line("lye", "Liquid", "ratio"), None),
        (Line("lye", "Liquid", Decimal(2), "g/g"), Line("lye", "Liquid", Decimal(33), "%"), None),
        (
            Line("lye", "Liquid", Decimal(2), "g/g"),
            Line("lye", "Liquid", Decimal("2.2"), "g/g"),
            Decimal("0.2"),
        ),
    ],
)
def test_only_figures_of_one_unit_have_a_difference(
    before: Line, after: Line, difference: Decimal | None
) -> None:
    assert compare((before,), (after,)) == (Row("lye", "Liquid", before, after, difference, Change.CHANGED),)


def test_figures_written_otherwise_are_the_same() -> None:
    (row,) = compare((fat("Olive oil", "45"),), (fat("Olive oil", "45.00"),))
    assert row.change is Change.SAME


def test_one_name_in_two_parts_makes_two_rows() -> None:
    lines = (fat("Coconut", "25"), Line("liquid", "Coconut", Decimal(100), "%"))
    assert len(compare(lines, lines)) == 2


def test_nothing_compares_with_nothing() -> None:
    assert compare((), ()) == ()


@pytest.mark.parametrize(
    "lines",
    [(fat("Olive oil", "1"), fat("Olive oil", "2")), (fat("Olive oil", "NaN"),), (fat("a", "Infinity"),)],
)
def test_lines_that_make_no_sense_are_refused(lines: tuple[Line, ...]) -> None:
    with pytest.raises(ValueError, match=r"Olive oil|not a figure"):
        compare(lines, ())
    with pytest.raises(ValueError, match=r"Olive oil|not a figure"):
        compare((), lines)


lines = st.lists(
    st.builds(
        Line, st.sampled_from(["fat", "liquid"]), st.sampled_from("abcde"), st.decimals(0, 100, places=1)
    ),
    unique_by=lambda line: (line.part, line.name),
    max_size=8,
)


@given(lines, lines)
def test_every_line_stands_once_and_the_other_way_round_is_the_opposite(
    old: list[Line], new: list[Line]
) -> None:
    rows = compare(old, new)
    assert [row.before for row in rows if row.before] == [
        line for row in rows for line in old if (line.part, line.name) == (row.part, row.name)
    ]
    assert len([row for row in rows if row.after]) == len(new)
    back = {(row.part, row.name): row for row in compare(new, old)}
    assert len(back) == len(rows)
    for row in rows:
        assert row.difference is not None
        assert back[row.part, row.name].difference == -row.difference
