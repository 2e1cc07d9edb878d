"""What pages say and draw: weights, money and days in words, icons, cross-sections and safety ranges.

Filters take anything a page may hold. What is missing is shown as nothing at all, never as a wrong figure.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from functools import partial
from typing import Any

from django import template
from django.forms import BaseForm, BoundField
from django.templatetags.static import static
from django.utils import dateformat, timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shared import cross_section as bar
from shared import safety_strip, units
from shared.safety import SCALE

register = template.Library()

MINUS = "\N{MINUS SIGN}"
GROUP = "\N{NARROW NO-BREAK SPACE}"
TIE = "\N{NO-BREAK SPACE}"
MOST_DIGITS = 20  # before the decimal point; no figure of a workshop is longer
BATTER = "#e6d9bd"  # unscented, uncoloured batter, where a recipe says nothing of its colour


def _decimal(value: object) -> Decimal | None:
    """Read a figure; None for what is missing, is no finite number or is beyond all reason."""
    try:
        figure = Decimal(str(value))
    except InvalidOperation:
        return None
    return figure if figure.is_finite() and figure.adjusted() < MOST_DIGITS else None


@register.filter
def number(value: object, places: int = 0) -> str:
    """Write a figure with `places` decimals, narrow spaces between thousands and a true minus sign."""
    figure = _decimal(value)
    if figure is None:
        return ""
    rounded = figure.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return f"{rounded or abs(rounded):,f}".replace(",", GROUP).replace("-", MINUS)


@register.filter
def percent(value: object, places: int = 0) -> str:
    """Write a figure in per cent: 2.2 becomes '2.2 %'."""
    text = number(value, places)
    return text and f"{text}{TIE}%"


@register.filter
def weight(grams: object, workshop: Any = None) -> str:
    """Write grams as read off the scale, in the workshop's units and to its scale's step."""
    figure = _decimal(grams)
    if figure is None:
        return ""
    step = getattr(workshop, "scale_step", None) or Decimal(1)
    return units.format_weight(figure, units=_units(workshop), step=step)


@register.filter
def stock_weight(grams: object, workshop: Any = None) -> str:
    """Write grams as a stock on a shelf: kilograms or pounds once there is plenty."""
    figure = _decimal(grams)
    return "" if figure is None else units.format_stock(figure, units=_units(workshop))


def _units(workshop: Any) -> Any:
    return getattr(workshop, "units", None) or "metric"


@register.filter
def money(amount: object, currency: Any = None) -> str:
    """Write an amount with two decimals and its currency, given as a code or as the workshop."""
    text = number(amount, 2)
    code = currency if isinstance(currency, str) else getattr(currency, "currency", "")
    return f"{text}{TIE}{code}" if text and code else text


def _local_day(when: date | datetime | None) -> date | None:
    if isinstance(when, datetime):
        return timezone.localtime(when).date() if timezone.is_aware(when) else when.date()
    return when if isinstance(when, date) else None


@register.filter
def short_day(when: date | datetime | None) -> str:
    """Write a day as 'Tue 12 May', with its year unless that is this year."""
    day_ = _local_day(when)
    if day_ is None:
        return ""
    this_year = day_.year == timezone.localdate().year
    return dateformat.format(day_, "D j M" if this_year else "D j M Y")


@register.filter
def day(when: date | datetime | None) -> str:
    """Write a day and how far off it is: 'Tue 12 May, in 9 days'."""
    day_ = _local_day(when)
    return "" if day_ is None else f"{short_day(day_)}, {_distance((day_ - timezone.localdate()).days)}"


@register.filter
def how_far(when: date | datetime | None) -> str:
    """Write only how far off a day is: 'yesterday', 'in 9 days'."""
    day_ = _local_day(when)
    return "" if day_ is None else _distance((day_ - timezone.localdate()).days)


def _distance(days: int) -> str:
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}
    if days in near:
        return near[days]
    apart = f"{abs(days)} days" if abs(days) < 100 else f"{round(abs(days) / 30.44)} months"
    return f"in {apart}" if days > 0 else f"{apart} ago"


@register.filter
def ago(when: datetime | None) -> str:
    """Write how long ago something happened: 'just now', '5 minutes ago', '3 hours ago', then the day."""
    if not isinstance(when, datetime):
        return day(when)
    past = timezone.now() - when
    if past < timedelta(minutes=1):
        return "just now"
    if past < timedelta(hours=1):
        return f"{_count(past // timedelta(minutes=1), 'minute')} ago"
    if past < timedelta(hours=12):
        return f"{_count(past // timedelta(hours=1), 'hour')} ago"
    return day(when)


def _count(amount: int, noun: str) -> str:
    return f"{amount} {noun}" if amount == 1 else f"{amount} {noun}s"


@register.simple_tag
def icon(name: str) -> SafeString:
    """Draw an icon of the sprite. It says nothing to a screen reader: a word stands beside it."""
    return format_html(
        '<svg class="icon" aria-hidden="true" focusable="false"><use href="{}#{}"></use></svg>',
        static("soapshop/icons.svg"),
        name,
    )


@register.simple_tag
def invalid_fields(form: BaseForm) -> list[BoundField]:
    """Return the fields a maker has to look at again."""
    return [field for field in form.visible_fields() if field.errors]


@register.simple_tag
def swatch(colour: str) -> SafeString:
    """Draw a small square of a colour; its name stands beside it."""
    return format_html(
        '<svg class="swatch" viewBox="0 0 16 16" aria-hidden="true" focusable="false">'
        '<rect width="16" height="16" fill="{}"></rect></svg>',
        colour,
    )


@register.simple_block_tag(takes_context=True)
def navigation(context: template.Context, content: str) -> SafeString:
    """Show the navigation; the tag's content is the key of the place the page belongs to."""
    engine = context.template.engine  # type: ignore[union-attr]
    with context.push(current=content.strip()):
        return engine.get_template("components/nav.html").render(context)


@register.inclusion_tag("components/cross_section.html")
def cross_section(
    layers: Sequence[bar.Layer] | None,
    size: str = "thumb",
    *,
    seed: object = "",
    decorative: bool = False,
    width: Any = None,
    height: Any = None,
) -> dict[str, object]:
    """Draw a bar cut across. `width` and `height` of the mould set its proportions where they are known."""
    shown = tuple(layers or ()) or (bar.Layer(BATTER, 1.0),)
    sides = {"width": float(width), "height": float(height)} if width and height else {}
    return {
        "drawing": bar.draw(shown, seed=str(seed), **sides),
        "words": "" if decorative else bar.describe(shown),
        "size": size,
    }


@register.inclusion_tag("components/safety_range.html")
def safety_range(
    safety: Any, aim: Any = None, *, compact: bool = False, lead: str = "", advice: str = ""
) -> dict[str, object]:
    """Show a safety range: the word, the likely superfat, the picture, and what to do about it.

    `safety` is a `SafetyRange` or a mapping with its names. `compact` leaves out what does not fit the foot
    of the weighing screen; `lead` is put before the range; `advice` replaces the usual words.
    """
    get = safety.__getitem__ if isinstance(safety, Mapping) else partial(getattr, safety)
    figures = {name: float(get(name)) for name in ("likely_low", "likely_high", "worst_low", "worst_high")}
    aimed = _decimal(aim)
    return {
        **figures,
        "verdict": str(get("verdict")),
        "aim": aimed,
        "chance": 100 * float(get("chance_lye_heavy")),
        "narrows_most": get("narrows_most"),
        "finer_scale": get("narrows_most") == SCALE,
        "strip": safety_strip.lay_out(**figures, aim=None if aimed is None else float(aimed)),
        "compact": compact,
        "lead": lead,
        "advice": advice,
    }


@register.filter
def trimmed(value: object) -> str:
    """Write a figure without the noughts at its end: 5.00 becomes '5', 5.50 becomes '5.5'."""
    figure = _decimal(value)
    if figure is None:
        return ""
    places = max(0, -int(figure.normalize().as_tuple().exponent))
    return number(figure, places)


@register.inclusion_tag("components/progress_strip.html")
def progress_strip(done: int, total: int) -> dict[str, object]:
    """Show how far along a job is; the one after the `done` is the current one."""
    states = ["done" if step < done else "now" if step == done else "left" for step in range(total)]
    return {"states": states, "current": min(done + 1, total), "total": total}


@register.inclusion_tag("components/big_weight.html")
def big_weight(grams: object, workshop: Any = None) -> dict[str, object]:
    """Show a weight in numerals to be read at arm's length, each with its unit."""
    parts = re.findall(rf"([\d.,{GROUP}]+)\s*([^\d\s]+)", weight(grams, workshop))
    return {"parts": parts, "long": any(len(figure) > 5 for figure, _ in parts)}
