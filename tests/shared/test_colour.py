"""The colour of soap from a photo with a card in it, and how it changes over weeks."""

import math
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shared.colour import (
    GREY_CARD,
    WHITE_CARD,
    ColourError,
    Course,
    Lab,
    Reading,
    Rgb,
    course,
    difference,
    measured,
    to_hex,
    to_lab,
)
from shared.explained import COMMON_PRACTICE
from shared.words import Phrase

FIRST = date(2026, 3, 1)
CREAM, TAN, BROWN, CHARCOAL, MADDER = (
    Lab(88, 1, 12),
    Lab(70, 8, 26),
    Lab(38, 14, 22),
    Lab(22, 0, 1),
    Lab(52, 34, 15),
)
quick = settings(max_examples=60, deadline=None)
channels = st.floats(0, 255)
rgbs = st.builds(Rgb, channels, channels, channels)
labs = st.builds(Lab, st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120))
soaps = st.builds(Lab, st.floats(20, 92), st.floats(-12, 22), st.floats(-12, 30))


def light(channel: float) -> float:
    """Linear light of an sRGB channel from 0 to 1 (IEC 61966-2-1)."""
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def signal(part: float) -> float:
    part = min(max(part, 0.0), 1.0)
    return 12.92 * part if part <= 0.0031308 else 1.055 * part ** (1 / 2.4) - 0.055


def seen_colour(colour: Lab) -> Rgb:
    """The sRGB of a colour in a photo without any cast, to the 8 bits of the photo."""
    drawn = to_hex(colour)
    return Rgb(*(int(drawn[start : start + 2], 16) for start in (1, 3, 5)))


def under(cast: tuple[float, float, float], colour: Rgb) -> Rgb:
    """The same patch where each channel gets another share of the light."""
    parts = (share * light(channel / 255) for share, channel in zip(cast, colour, strict=True))
    return Rgb(*(255 * signal(part) for part in parts))


def patch(mean: Rgb, random: Random, *, pixels: int = 400) -> Rgb:
    """The mean of a noisy patch in whole steps of 8 bits."""
    return Rgb(
        *(
            sum(min(max(round(random.gauss(channel, 4)), 0), 255) for _ in range(pixels)) / pixels
            for channel in mean
        )
    )


# sRGB and CIELAB


@pytest.mark.parametrize(
    ("colour", "lab"),
    [
        (Rgb(255, 255, 255), (100, 0, 0)),
        (Rgb(0, 0, 0), (0, 0, 0)),
        (Rgb(255, 0, 0), (53.23, 80.11, 67.22)),
        (Rgb(0, 0, 255), (32.30, 79.19, -107.86)),
        (Rgb(119, 119, 119), (50.03, 0, 0)),
    ],
)
def test_known_colours_have_their_known_values(colour: Rgb, lab: tuple[float, float, float]) -> None:
    """The primaries and greys of sRGB in CIELAB, recalled."""
    assert to_lab(colour) == pytest.approx(lab, abs=0.01)


@quick
@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_a_colour_of_a_screen_comes_back_as_it_was(colour: tuple[int, int, int]) -> None:
    assert to_hex(to_lab(Rgb(*colour))) == "#{:02x}{:02x}{:02x}".format(*colour)


@pytest.mark.parametrize(
    ("colour", "drawn"),
    [
        (Lab(100, 0, 0), "#ffffff"),
        (Lab(0, 0, 0), "#000000"),
        (Lab(100, 0, 150), "#fffa00"),
        (Lab(50, 150, 0), "#ff007e"),
        (Lab(0, -150, 0), "#003500"),
    ],
)
def test_what_no_screen_shows_is_cut_off_channel_by_channel(colour: Lab, drawn: str) -> None:
    """As the library coloraide 8.13 cuts them off."""
    assert to_hex(colour) == drawn


@quick
@given(labs)
def test_every_colour_can_be_drawn(colour: Lab) -> None:
    assert len(to_hex(colour)) == 7
    assert 0 <= int(to_hex(colour)[1:], 16) <= 0xFFFFFF


@pytest.mark.parametrize("wrong", [-1, 256, math.nan, math.inf])
def test_a_channel_that_cannot_be_is_refused(wrong: float) -> None:
    for field, call in (
        ("colour", lambda: to_lab(Rgb(10, wrong, 10))),
        ("bar", lambda: measured(Rgb(wrong, 10, 10), Rgb(200, 200, 200))),
        ("card", lambda: measured(Rgb(10, 10, 10), Rgb(200, 200, wrong))),
    ):
        with pytest.raises(ColourError, match="between 0 and 255") as caught:
            call()
        assert caught.value.field == field


@pytest.mark.parametrize(
    "wrong",
    [
        Lab(-1, 0, 0),
        Lab(101, 0, 0),
        Lab(math.nan, 0, 0),
        Lab(50, math.nan, 0),
        Lab(50, 0, math.inf),
        Lab(50, 201, 0),
    ],
)
def test_a_colour_that_cannot_be_is_refused(wrong: Lab) -> None:
    for field, call in (
        ("colour", lambda: to_hex(wrong)),
        ("colour", lambda: difference(CREAM, wrong)),
        ("colour", lambda: difference(wrong, CREAM)),
        ("card_colour", lambda: measured(Rgb(10, 10, 10), Rgb(200, 200, 200), card_colour=wrong)),
    ):
        with pytest.raises(ColourError, match="between 0 and 100, a and b between -200 and 200") as caught:
            call()
        assert caught.value.field == field


# A patch of a photo


@pytest.mark.parametrize("card", [WHITE_CARD, GREY_CARD, Lab(93, 1, -4)])
def test_a_bar_of_the_colour_of_the_card_has_its_colour(card: Lab) -> None:
    assert measured(Rgb(190, 170, 140), Rgb(190, 170, 140), card_colour=card) == pytest.approx(card, abs=1e-4)


@pytest.mark.parametrize(
    "cast", [(1.0, 1.0, 1.0), (0.95, 0.75, 0.48), (0.5, 0.6, 0.75), (0.35, 0.3, 0.22)], ids=str
)
@pytest.mark.parametrize("colour", [CREAM, TAN, BROWN, CHARCOAL, MADDER], ids=str)
@pytest.mark.parametrize("card", [WHITE_CARD, GREY_CARD], ids=["white", "grey"])
def test_a_photo_with_a_cast_gives_the_colour_back_within_2(
    colour: Lab, cast: tuple[float, float, float], card: Lab
) -> None:
    """As tapped: noisy pixels of 8 bits under warm, cool and weak light."""
    random = Random(7)
    bar_patch = patch(under(cast, seen_colour(colour)), random)
    card_patch = patch(under(cast, seen_colour(card)), random)
    assert difference(measured(bar_patch, card_patch, card_colour=card), colour) < 2


@pytest.mark.parametrize("colour", [CREAM, TAN, BROWN, CHARCOAL], ids=str)
def test_the_light_of_an_afternoon_gives_the_colour_back_within_2(colour: Lab) -> None:
    """A cast that is no scaling of the channels: D65 to D50 by Bradford, matrix and whites as ICC.1 has them.

    The rounded matrices of sRGB are written out again here, so that the way there is not the way back.
    """
    cones = ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))
    cones_back = ((0.98699, -0.14705, 0.15996), (0.43231, 0.51836, 0.04929), (-0.00853, 0.04004, 0.96849))
    to_xyz = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
    to_srgb = ((3.2406, -1.5372, -0.4986), (-0.9689, 1.8758, 0.0415), (0.0557, -0.2040, 1.0570))

    def times(matrix: tuple[tuple[float, ...], ...], vector: list[float]) -> list[float]:
        return [sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix]

    d65, d50 = times(cones, [0.9505, 1.0, 1.089]), times(cones, [0.9642, 1.0, 0.8249])

    def in_the_afternoon(seen: Rgb) -> Rgb:
        response = times(cones, times(to_xyz, [0.8 * light(channel / 255) for channel in seen]))
        turned = [part * b / a for part, a, b in zip(response, d65, d50, strict=True)]
        return Rgb(*(255 * signal(part) for part in times(to_srgb, times(cones_back, turned))))

    bar, card = in_the_afternoon(seen_colour(colour)), in_the_afternoon(seen_colour(WHITE_CARD))
    assert difference(to_lab(bar), colour) > 3
    assert difference(measured(bar, card), colour) < 2


@quick
@given(soaps, st.tuples(*[st.floats(0.45, 0.9)] * 3))
def test_the_light_does_not_matter(colour: Lab, cast: tuple[float, float, float]) -> None:
    bar, card = seen_colour(colour), seen_colour(WHITE_CARD)
    assume(max(bar) < 253)
    assert measured(under(cast, bar), under(cast, card)) == pytest.approx(measured(bar, card), abs=1e-6)


def test_a_little_brighter_than_the_card_may_be_white_but_not_much() -> None:
    assert measured(Rgb(215, 212, 210), Rgb(200, 200, 200)) == pytest.approx((100, 0, 0), abs=1e-9)
    with pytest.raises(ColourError, match="brighter than white") as caught:
        measured(Rgb(240, 240, 240), Rgb(200, 200, 200))
    assert caught.value.field == "bar"


@pytest.mark.parametrize(
    ("bar", "card", "field", "words"),
    [
        (Rgb(120, 90, 60), Rgb(240, 253, 240), "card", "card is too bright"),
        (Rgb(120, 90, 60), Rgb(90, 70, 49.9), "card", "card is too dark"),
        (Rgb(120, 90, 60), Rgb(0, 0, 0), "card", "card is too dark"),
        (Rgb(253, 90, 60), Rgb(240, 240, 240), "bar", "bar is too bright"),
        (Rgb(120, 90, 60), Rgb(200, 190, 127), "card", "strongly coloured"),
        (Rgb(120, 90, 60), Rgb(120, 150, 240), "card", "strongly coloured"),
    ],
)
def test_a_patch_that_tells_nothing_is_refused(bar: Rgb, card: Rgb, field: str, words: str) -> None:
    with pytest.raises(ColourError, match=words) as caught:
        measured(bar, card)
    assert caught.value.field == field
    assert isinstance(caught.value.args[0], Phrase)


@pytest.mark.parametrize("card", [Lab(29, 0, 0), Lab(90, 8, 8), Lab(60, -40, 20)])
def test_a_card_that_is_neither_white_nor_grey_is_refused(card: Lab) -> None:
    with pytest.raises(ColourError, match="white or grey: its lightness at least 30") as caught:
        measured(Rgb(120, 90, 60), Rgb(200, 200, 200), card_colour=card)
    assert caught.value.field == "card_colour"


@quick
@given(rgbs, rgbs, st.builds(Lab, st.floats(30, 100), st.floats(-7, 7), st.floats(-7, 7)))
def test_a_photo_gives_a_colour_or_words(bar: Rgb, card: Rgb, card_colour: Lab) -> None:
    try:
        colour = measured(bar, card, card_colour=card_colour)
    except ColourError as error:
        told = isinstance(error.args[0], Phrase)
    else:
        told = -1e-9 <= colour.lightness <= 100 + 1e-9 and len(to_hex(colour)) == 7
    assert told


# How far apart


@quick
@given(labs, labs)
def test_a_difference_is_the_same_both_ways_and_none_to_itself(one: Lab, other: Lab) -> None:
    assert difference(one, other) == pytest.approx(difference(other, one), abs=1e-9)
    assert difference(one, other) >= 0
    assert difference(one, one) == 0


@pytest.mark.parametrize("hue", [0, 90, 179, 180, 270, 359])
def test_grey_has_no_hue_of_its_own(hue: float) -> None:
    colour = Lab(50, 20 * math.cos(math.radians(hue)), 20 * math.sin(math.radians(hue)))
    near_grey = Lab(50, 1e-9 * colour.a, 1e-9 * colour.b)
    for grey in (Lab(50, 0.0, 0.0), Lab(50, -0.0, -0.0)):
        assert difference(grey, colour) == pytest.approx(difference(near_grey, colour), abs=1e-4)


# Over weeks


def over(*lightness_by_day: tuple[int, float], a: float = 4, b: float = 15) -> Course:
    return course(Reading(FIRST + timedelta(day), Lab(value, a, b)) for day, value in lightness_by_day)


def test_a_browning_bar_is_followed_by_day() -> None:
    found = over((0, 85), (3, 80), (14, 62), (28, 55))
    assert [change.days for change in found.changes] == [0, 3, 14, 28]
    assert [change.lightness for change in found.changes] == [0, -5, -23, -30]
    assert found.changes[0].difference == 0
    assert found.changes[3].on == date(2026, 3, 29)
    assert found.changes[3].difference == difference(Lab(85, 4, 15), Lab(55, 4, 15))
    assert found.settled is False
    assert found.verdict.text == "The colour is still growing darker."
    assert "in the last 14 days" in found.verdict.because
    assert found.verdict.source == COMMON_PRACTICE


def test_settled_is_what_has_not_moved_for_a_week() -> None:
    found = over((0, 85), (21, 55), (26, 54.6), (28, 54.5))
    assert found.settled is True
    assert found.verdict.text == "The colour has settled."
    assert "in the last 7 days; from 1 on" in found.verdict.because


def test_the_threshold_is_the_workshops_own() -> None:
    readings = [Reading(FIRST, Lab(60, 4, 15)), Reading(FIRST + timedelta(8), Lab(58, 4, 15))]
    assert course(readings).settled is False
    assert course(readings, threshold=2.5).settled is True
    assert course(readings, threshold=difference(readings[0].colour, readings[1].colour)).settled is False
    assert "from 2.5 on" in course(readings, threshold=2.5).verdict.because


@pytest.mark.parametrize("readings", [((0, 85.0),), ((0, 85.0), (6, 85.0))])
def test_before_a_week_has_gone_by_it_is_too_early(readings: tuple[tuple[int, float], ...]) -> None:
    found = over(*readings)
    assert found.settled is None
    assert found.verdict.text == "It is too early to say whether the colour has settled."


def test_a_fading_colour_grows_lighter_or_changes_its_hue() -> None:
    assert over((0, 50), (10, 60)).verdict.text == "The colour is still growing lighter."
    fading = course([Reading(FIRST, Lab(50, -30, 20)), Reading(FIRST + timedelta(9), Lab(50.5, -8, 20))])
    assert fading.verdict.text == "The colour is still changing, though it is hardly lighter or darker."


def test_of_two_readings_on_one_day_the_later_counts() -> None:
    found = over((0, 99), (0, 85), (9, 80))
    assert [change.lightness for change in found.changes] == [0, -5]


@quick
@given(st.lists(st.tuples(st.integers(0, 60), st.floats(20, 95)), min_size=1, max_size=8), st.randoms())
def test_the_order_of_readings_does_not_matter(readings: list[tuple[int, float]], random: Random) -> None:
    one_a_day = list(dict(readings).items())
    shuffled = one_a_day[:]
    random.shuffle(shuffled)
    found = over(*shuffled)
    assert found == over(*one_a_day)
    assert (found.settled is None) == (found.changes[-1].days < 7)


def test_nothing_to_go_by_is_refused() -> None:
    with pytest.raises(ColourError, match="no reading") as caught:
        course([])
    assert caught.value.field == "readings"


@pytest.mark.parametrize("threshold", [0, -1, math.nan, math.inf])
def test_a_threshold_that_cannot_be_is_refused(threshold: float) -> None:
    with pytest.raises(ColourError, match="must be above 0") as caught:
        course([Reading(FIRST, CREAM)], threshold=threshold)
    assert caught.value.field == "threshold"
