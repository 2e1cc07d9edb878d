"""How the figures of a colour came about: the card, the light of the photo, the change since."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext

from batches.queries.colour import ColourRecord, PortionColour, Turn
from batches.services.colour import COLOUR_OF, Card
from recipes.explain import Entry, Explanation
from shared.colour import SIDE_BY_SIDE, Lab
from soapshop.core.templatetags.soapshop import number, short_day
from soapshop.core.words import in_words


def explain_colour(record: ColourRecord | None) -> tuple[Explanation, ...]:
    """For each portion the last colour, and once there are two, its change and whether it has settled."""
    portions = record.portions if record else ()
    return tuple(one for portion in portions for one in _explained(portion))


def _explained(portion: PortionColour) -> Iterator[Explanation]:
    yield _measured(portion.name, portion.latest)
    if len(portion.turns) > 1:
        yield _changed(portion)


def _measured(name: str, turn: Turn) -> Explanation:
    card = Card(turn.reading.card)
    return Explanation(
        name=gettext("%(portion)s, day %(day)s") % {"portion": name, "day": turn.day},
        figure=_in_figures(turn.colour),
        formula=gettext(
            "The mean of a small disc in the photo, without its darkest and brightest quarter. Red, green "
            "and blue light are each scaled so that the card comes out as it is known to be; then lightness "
            "L*, a* (green to red) and b* (blue to yellow)."
        ),
        entries=(
            Entry(str(card.label), _in_figures(COLOUR_OF[card]), gettext("common practice, no source")),
            Entry(gettext("Photo"), short_day(turn.change.on)),
        ),
        source=gettext("Light of a photo: IEC 61966-2-1 (sRGB). L*, a*, b*: CIE 15:2004, for daylight D65."),
    )


def _changed(portion: PortionColour) -> Explanation:
    course, first, last = portion.course, portion.turns[0], portion.latest
    return Explanation(
        name=gettext("%(portion)s, change since the first photo") % {"portion": portion.name},
        figure=number(last.change.difference, 1),
        formula=gettext(
            "How far two colours lie apart for the eye, by CIEDE2000. It has settled once it differs by less "
            "than the eye sees side by side from what it was a week ago."
        ),
        entries=(
            Entry(short_day(first.change.on), _in_figures(first.colour)),
            Entry(short_day(last.change.on), _in_figures(last.colour)),
            Entry(
                gettext("Seen side by side from"),
                number(SIDE_BY_SIDE, 1),
                gettext("common practice, no source"),
            ),
            Entry(in_words(course.verdict.text), "", in_words(course.verdict.because)),
        ),
        source=gettext("CIEDE2000: Sharma, Wu and Dalal 2005."),
    )


def _in_figures(colour: Lab) -> str:
    lightness, a, b = (number(figure, 1) for figure in colour)
    return f"L* {lightness}, a* {a}, b* {b}"
