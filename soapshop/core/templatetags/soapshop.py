"""What pages say and draw: weights, money and days in words, icons, cross-sections and safety ranges.

Filters take anything a page may hold. What is missing is shown as nothing at all, never as a wrong figure.
"""

import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from functools import partial
from typing import Any

from django import template
from django.forms import BaseForm
from django.templatetags.static import static
from django.utils import dateformat, timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext, ngettext, pgettext

from shared import cross_section as bar
from shared import safety_strip as strips
from shared import units
from shared.bar_picture import BarPicture
from shared.corrections import superfat_without_lye
from shared.safety import SCALE
from soapshop.core import words
from soapshop.core.addresses import Address, workshop_address
from soapshop.core.models import Units, Workshop
from soapshop.core.qr import qr_svg

register = template.Library()

MINUS = "\N{MINUS SIGN}"
GROUP = "\N{NARROW NO-BREAK SPACE}"
TIE = "\N{NO-BREAK SPACE}"
MOST_DIGITS = 20  # before the decimal point; no figure of a workshop is longer
SMALL_CUTS = {"thumb", "small"}  # sizes of a cross-section at which no fine detail is seen
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
    plain = f"{rounded or abs(rounded):,f}".replace(",", GROUP).replace("-", MINUS)
    return words.with_decimal_sign(plain)


@register.filter
def percent(value: object, places: int = 0) -> str:
    """Write a figure in per cent: 2.2 becomes '2.2 %'."""
    text = number(value, places)
    return text and f"{text}{TIE}%"


@register.filter
def weight(grams: object, workshop: Any = None) -> str:
    """Write grams as read off the scale, in the workshop's units and to the step of the scale for so much."""
    figure = _decimal(grams)
    if figure is None:
        return ""
    if isinstance(workshop, Workshop):
        step = workshop.step_for(abs(figure))
    else:
        step = getattr(workshop, "scale_step", None) or Decimal(1)
    return words.with_decimal_sign(units.format_weight(figure, units=_units(workshop), step=step))


@register.filter
def pinch(grams: object, workshop: Workshop) -> str:
    """Write grams that may be less than the scale shows: those to a hundredth of a gram."""
    figure = _decimal(grams)
    if figure is not None and figure % workshop.step_for(figure):
        return f"{number(figure, 2)}{TIE}g"
    return weight(figure, workshop)


@register.filter
def stock_weight(grams: object, workshop: Any = None) -> str:
    """Write grams as a stock on a shelf: kilograms or pounds once there is plenty."""
    figure = _decimal(grams)
    if figure is None:
        return ""
    return words.with_decimal_sign(units.format_stock(figure, units=_units(workshop)))


@register.filter
def weights(many_grams: Iterable[object], workshop: Any = None) -> str:
    """Write several weights one after the other."""
    return " ".join(weight(grams, workshop) for grams in many_grams)


def _units(workshop: Any) -> Any:
    return getattr(workshop, "units", None) or "metric"


@register.filter
def money(amount: object, currency: Any = None) -> str:
    """Write an amount with two decimals and its currency, given as a code or as the workshop."""
    text = number(amount, 2)
    code = currency if isinstance(currency, str) else getattr(currency, "currency", "")
    return f"{text}{TIE}{code}" if text and code else text


@register.filter
def degrees(celsius: float, workshop: Any = None) -> str:
    """Write a temperature in the workshop's units: '93 °C', '199 °F'."""
    if _units(workshop) == Units.US:
        return f"{number(celsius * 9 / 5 + 32)}{TIE}°F"
    return f"{number(celsius)}{TIE}°C"


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
    # Translators: a day as in 'Tue 12 May', written in the letters of Django's date filter.
    near, far = pgettext("date", "D j M"), pgettext("date", "D j M Y")
    return dateformat.format(day_, near if this_year else far)


@register.filter
def day(when: date | datetime | None) -> str:
    """Write a day and how far off it is: 'Tue 12 May, in 9 days'."""
    day_ = _local_day(when)
    if day_ is None:
        return ""
    figures = {"day": short_day(day_), "distance": _distance((day_ - timezone.localdate()).days)}
    # Translators: a day and how far off it is, as in 'Tue 12 May, in 9 days'.
    return gettext("%(day)s, %(distance)s") % figures


@register.filter
def how_far(when: date | datetime | None) -> str:
    """Write only how far off a day is: 'yesterday', 'in 9 days'."""
    day_ = _local_day(when)
    return "" if day_ is None else _distance((day_ - timezone.localdate()).days)


def _distance(days: int) -> str:
    if abs(days) <= 1:
        return (gettext("yesterday"), gettext("today"), gettext("tomorrow"))[days + 1]
    if abs(days) >= 100:
        return _months(days)
    if days > 0:
        return ngettext("in %(count)d day", "in %(count)d days", days) % {"count": days}
    return ngettext("%(count)d day ago", "%(count)d days ago", -days) % {"count": -days}


def _months(days: int) -> str:
    months = round(abs(days) / 30.44)
    if days > 0:
        return ngettext("in %(count)d month", "in %(count)d months", months) % {"count": months}
    return ngettext("%(count)d month ago", "%(count)d months ago", months) % {"count": months}


@register.filter
def ago(when: datetime | None) -> str:
    """Write how long ago something happened: 'just now', '5 minutes ago', '3 hours ago', then the day."""
    if not isinstance(when, datetime):
        return day(when)
    past = timezone.now() - when
    if past < timedelta(minutes=1):
        return gettext("just now")
    if past < timedelta(hours=1):
        minutes = past // timedelta(minutes=1)
        return ngettext("%(count)d minute ago", "%(count)d minutes ago", minutes) % {"count": minutes}
    if past < timedelta(hours=12):
        hours = past // timedelta(hours=1)
        return ngettext("%(count)d hour ago", "%(count)d hours ago", hours) % {"count": hours}
    return day(when)


@register.filter
def in_words(english: object) -> str:
    """Write a word of the calculations in the reader's language."""
    return words.in_words(str(english))


@register.simple_tag
def icon(name: str) -> SafeString:
    """Draw an icon of the sprite. It says nothing to a screen reader: a word stands beside it."""
    return format_html(
        '<svg class="icon" aria-hidden="true" focusable="false"><use href="{}#{}"></use></svg>',
        static("soapshop/icons.svg"),
        name,
    )


@register.simple_tag
def qr_code(text: str, title: str) -> SafeString:
    """Draw a QR code; `title` says what it leads to."""
    return qr_svg(text, title=title)


@register.simple_tag(takes_context=True)
def shared_address(context: template.Context) -> Address:
    """Return the address under which another device finds the workshop."""
    return workshop_address(context["request"])


@register.filter
def full_address(path: str, address: Address) -> str:
    """Write a path as a whole address, for what leaves this page."""
    return address.of(path)


@register.simple_tag
def invalid_fields(form: BaseForm) -> SafeString:
    """Link to the fields a maker has to look at again."""
    wrong = [field for field in form.visible_fields() if field.errors]
    links = ((field.id_for_label or field.auto_id, field.label) for field in wrong)
    return format_html_join(", ", '<a href="#{}">{}</a>', links)


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
    look: BarPicture | None, size: str = "thumb", *, seed: object = "", decorative: bool = False
) -> dict[str, object]:
    """Draw a bar cut across. The sides of its face set its proportions where they are known."""
    shown = look or BarPicture((bar.Layer(BATTER, 1.0),))
    sides = {"width": shown.width, "height": shown.height} if shown.width and shown.height else {}
    return {
        "drawing": bar.draw(
            shown.layers,
            shown.embeds,
            shown.toppings,
            seed=str(seed),
            tolerance=bar.COARSE if size in SMALL_CUTS else bar.FINE,
            **sides,
        ),
        "words": ""
        if decorative
        else words.in_words(bar.describe(shown.layers, shown.embeds, shown.toppings)),
        "size": size,
    }


@register.inclusion_tag("components/safety_strip.html")
def safety_strip(safety: Any, aim: Any = None) -> dict[str, object]:
    """Draw a safety range: a bar from lye-heavy to softer, with the likely and the worst case and the aim.

    `safety` is a `SafetyRange` or a mapping with its names.
    """
    get = safety.__getitem__ if isinstance(safety, Mapping) else partial(getattr, safety)
    figures = {name: float(get(name)) for name in ("likely_low", "likely_high", "worst_low", "worst_high")}
    aimed = _decimal(aim)
    strip = strips.lay_out(**figures, aim=None if aimed is None else float(aimed))
    return {**figures, "verdict": str(get("verdict")), "aim": aimed, "strip": strip}


@register.inclusion_tag("components/safety_range.html")
def safety_range(
    safety: Any,
    aim: Any = None,
    *,
    compact: bool = False,
    lead: str = "",
    advice: str = "",
    stage: str = "planned",
) -> dict[str, object]:
    """Show a safety range: the word, the likely superfat, the picture, and what to do about it.

    `safety` is a `SafetyRange` or a mapping with its names. `compact` leaves out what does not fit the foot
    of the weighing screen; `lead` is put before the range; `advice` replaces the usual words, which go by the
    `stage`: "planned", "weighed" or "poured".
    """
    get = safety.__getitem__ if isinstance(safety, Mapping) else partial(getattr, safety)
    figures = {name: float(get(name)) for name in ("likely_low", "likely_high", "worst_low")}
    aimed = _decimal(aim)
    return {
        **figures,
        "safety": safety,
        "verdict": str(get("verdict")),
        "word": words.in_words(str(get("verdict"))),
        "aim": aimed,
        "chance": 100 * float(get("chance_lye_heavy")),
        "narrows_most": words.in_words(get("narrows_most") or ""),
        "finer_scale": get("narrows_most") == SCALE,
        "safe_from": None if aimed is None else superfat_without_lye(figures["worst_low"], float(aimed)),
        "compact": compact,
        "lead": lead,
        "advice": advice,
        "stage": stage,
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
