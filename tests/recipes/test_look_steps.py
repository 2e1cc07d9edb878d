"""Portions added, moved and taken away while the form of a look is filled in, and the colours they show."""

import pytest
from django.http import QueryDict

from recipes.forms.look import keys, typed_rows
from recipes.look_colours import settle
from recipes.look_steps import DARK, LIGHT, take
from recipes.portions import MOST_ADDITIONS
from tests.bad_input import EVERYTHING
from tests.recipes.portions_typed import portion, query, two

CLAY, COAL = "11", "12"
COLOURS = {CLAY: "#c98f80", COAL: "#3a3a3a"}
NATURAL = "#efe6cf"
TWO_ROWS = [(CLAY, "2", "fats"), (COAL, "1", "spoons")]


def sizes(data: QueryDict) -> list[tuple[str, str]]:
    return [(data[f"{key}-size_by"], data[f"{key}-size"]) for key in keys(data)]


# --- one more -----------------------------------------------------------------------------------------------


def test_a_batter_in_one_is_split_in_half():
    data = query(portion(), add="1")

    assert take(data) == "p2"

    assert sizes(data) == [("share", "50"), ("rest", "")]
    assert [data["p1-name"], data["p2-name"]] == ["Portion 1", "Portion 2"]


def test_a_portion_that_was_given_a_name_keeps_it_when_it_is_split():
    data = query(portion(name="Slate"), add="1")

    take(data)

    assert data["p1-name"] == "Slate"


def test_the_next_takes_half_of_the_rest():
    data = query(*two(), add="1")

    assert take(data) == "p3"

    assert sizes(data) == [("share", "50"), ("rest", ""), ("share", "25")]


def test_small_shares_are_halved_to_the_hundredth_and_never_to_nothing():
    for share, half in (("99", "0.50"), ("99.99", "0.01")):
        data = query(*two(size=share), add="1")
        take(data)
        assert sizes(data)[-1] == ("share", half)


def test_shares_that_leave_nothing_to_the_rest_make_room_of_ten_per_cent():
    data = query(*two(size="100"), add="1")

    take(data)

    assert sizes(data)[-1] == ("share", "10")


def test_where_shares_take_all_the_largest_gives_up_half_of_it():
    whole = portion("p2", name="Dark", size_by="share", size="70 %")
    data = query(two(size="30")[0], whole, add="1")

    take(data)

    assert sizes(data) == [("share", "30"), ("share", "35"), ("rest", "")]


def test_where_no_share_takes_all_the_new_one_is_the_rest():
    weighed = portion("p1", size_by="grams", size="300")
    for there in ((weighed,), two(size="40")[:1]):
        data = query(*there, add="1")
        take(data)
        assert sizes(data)[-1] == ("rest", "")


@pytest.mark.parametrize("size", EVERYTHING)
def test_a_portion_is_added_beside_any_size(size: str):
    data = query(*two(size=size), add="1")

    take(data)

    assert len(keys(data)) == 3
    assert data["p1-size"] == size


def test_a_new_portion_is_told_apart_from_the_one_below_by_its_light():
    for below, above in (("#efe6cf", DARK), ("#222222", LIGHT), ("nonsense", DARK)):
        data = query(portion(colour=below), add="1")
        take(data)
        assert data["p2-colour"] == above


def test_a_key_that_is_free_again_is_taken_first():
    data = query(portion("p1"), portion("p3"), add="1")

    assert take(data) == "p2"
    assert keys(data) == ["p1", "p3", "p2"]


def test_the_first_of_none_is_the_rest_of_the_batter():
    data = query(add="1")

    take(data)

    assert sizes(data) == [("rest", "")]


# --- away, earlier, later, rows -----------------------------------------------------------------------------


def test_a_portion_is_taken_away_but_never_the_last():
    data = query(*two(), remove="p1")
    assert take(data) == "p2"
    assert keys(data) == ["p2"]

    data = query(portion(), remove="p1")
    assert take(data) == ""
    assert keys(data) == ["p1"]


@pytest.mark.parametrize(
    ("step", "key", "order"),
    [
        ("earlier", "p2", ["p2", "p1", "p3"]),
        ("earlier", "p1", ["p1", "p2", "p3"]),
        ("later", "p2", ["p1", "p3", "p2"]),
        ("later", "p3", ["p1", "p2", "p3"]),
    ],
)
def test_a_portion_is_poured_earlier_or_later(step: str, key: str, order: list[str]):
    data = query(portion("p1"), portion("p2"), portion("p3"), **{step: key})

    assert take(data) == key
    assert keys(data) == order


def test_a_row_is_added_and_taken_away_with_all_its_fields():
    data = query(portion(rows=TWO_ROWS), add_into="p1")
    assert take(data) == "p1"
    assert data.getlist("p1-amount_by") == ["fats", "spoons", "fats"]

    data = query(portion(rows=TWO_ROWS), remove_into="p1:0")
    assert take(data) == "p1"
    assert data.getlist("p1-material") == [COAL]
    assert data.getlist("p1-amount") == ["1"]


@pytest.mark.parametrize("step", ["remove", "earlier", "later", "add_into", "remove_into"])
@pytest.mark.parametrize("value", ["p9", "p9:0", "p1:9", "p1:x", f"p1:{'9' * 5000}", "²:²", *EVERYTHING])
def test_a_step_that_is_of_nothing_changes_nothing(step: str, value: str):
    data = query(portion(rows=TWO_ROWS), **{step: value})

    take(data)

    assert keys(data) == ["p1"]
    assert data.getlist("p1-material") == [CLAY, COAL]


def test_no_step_changes_nothing():
    data = query(*two())
    before = data.copy()

    assert take(data) == ""
    assert data == before


def test_rows_beyond_what_a_portion_holds_are_read_up_to_one_more():
    data = query(portion(rows=[(CLAY, "1", "fats")] * 50))

    assert len(typed_rows(data, "p1")) == MOST_ADDITIONS + 1


# --- colours ------------------------------------------------------------------------------------------------


def settled(**changed: str) -> tuple[QueryDict, frozenset[str]]:
    rows = TWO_ROWS if changed.pop("filled", "") else []
    data = query(portion(rows=rows, **changed))
    return data, settle(data, COLOURS, NATURAL)


def test_what_colours_a_portion_proposes_its_colour():
    data, changed = settled(filled="yes", colour=NATURAL, shown=NATURAL, made="on")

    assert data["p1-colour"] == COLOURS[CLAY]
    assert changed == {"p1"}


def test_without_it_the_portion_is_of_the_colour_of_the_bar():
    data, changed = settled(colour="#c98f80", shown="#c98f80", made="on")

    assert data["p1-colour"] == NATURAL
    assert changed == {"p1"}


def test_a_colour_that_was_picked_stays_and_takes_the_tick_away():
    data, changed = settled(filled="yes", colour="#AA3366", shown=NATURAL, made="on")

    assert data["p1-colour"] == "#AA3366"
    assert "p1-made" not in data
    assert not changed


def test_a_tick_gives_a_picked_colour_up_again():
    data, changed = settled(filled="yes", colour="#aa3366", shown="#AA3366", made="on")

    assert data["p1-colour"] == COLOURS[CLAY]
    assert changed == {"p1"}


def test_a_colour_that_was_picked_before_stays_without_a_tick():
    data, changed = settled(filled="yes", colour="#aa3366", shown="#aa3366")

    assert data["p1-colour"] == "#aa3366"
    assert not changed


def test_a_fresh_colour_stays_until_something_colours_the_portion():
    data, changed = settled(colour=DARK, shown=DARK, fresh="1")
    assert (data["p1-colour"], data["p1-fresh"]) == (DARK, "1")
    assert not changed

    data, changed = settled(filled="yes", colour=DARK, shown=DARK, fresh="1")
    assert data["p1-colour"] == COLOURS[CLAY]
    assert "p1-fresh" not in data
    assert changed == {"p1"}


def test_a_fresh_colour_that_was_changed_is_a_picked_one():
    data, _ = settled(filled="yes", colour="#aa3366", shown=DARK, fresh="1")

    assert data["p1-colour"] == "#aa3366"
    assert "p1-fresh" not in data


def test_a_colour_that_is_shown_already_is_not_shown_anew():
    _, changed = settled(filled="yes", colour=COLOURS[CLAY], shown=COLOURS[CLAY], made="on")

    assert not changed
