"""Weights as the bench shows them: what was typed or frozen is never rounded again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django import template
from django.template import Context
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext, ngettext

from batches.queries.weighing import CardLine
from inventory.amounts import pieces
from inventory.models import Material
from soapshop.core.templatetags.soapshop import MINUS, TIE, big_weight, weight

register = template.Library()

FINER_STEPS = (Decimal("0.1"), Decimal("0.01"))  # the books keep hundredths of a gram


@dataclass(frozen=True, slots=True)
class Scale:
    """The workshop's units, and the step that a weight is shown to."""

    units: str
    scale_step: Decimal


@register.filter
def grams(quantity: Decimal, workshop: Any = None) -> str:
    """Write a weight in the workshop's units, to a hundredth of a gram where the scale does not show it."""
    return weight(quantity, _scale(quantity, workshop))


@register.simple_tag(takes_context=True)
def weighed_together(context: Context, cards: list[CardLine]) -> SafeString:
    """Write what was weighed for several lines of the card: '145 g Lye and 20 g Potash'."""
    amount = '<strong class="weight">{}</strong> {}'
    workshop = context.get("workshop")
    parts = [format_html(amount, grams(card.weighed, workshop), card.line.material) for card in cards]
    together = parts[0] if parts else SafeString()
    for part in parts[1:]:
        together = format_html(gettext("{one} and {other}"), one=together, other=part)
    return together


@register.simple_tag(takes_context=True)
def measured(context: Context, quantity: Decimal, material: Material) -> str:
    """Write so much of a material: what is counted in pieces, all else as `grams` does."""
    return pieces(quantity) if material.counted else grams(quantity, context.get("workshop"))


@register.simple_tag(takes_context=True)
def off_plan(context: Context, quantity: Decimal, material: Material) -> str:
    """The same with its sign: '+12 g', '−3 pieces'; nothing where there is none."""
    if not quantity:
        return ""
    return f"{'+' if quantity > 0 else MINUS}{measured(context, abs(quantity), material)}"


@register.inclusion_tag("components/big_weight.html")
def scale_shows(
    quantity: Decimal, workshop: Any = None, material: Material | None = None
) -> dict[str, object]:
    """The weight to read at arm's length; of what is counted, the pieces."""
    if material is not None and material.counted:
        return {"parts": [pieces(quantity).rsplit(TIE, 1)], "long": False}
    return big_weight(quantity, _scale(quantity, workshop))


def _scale(quantity: Decimal, workshop: Any) -> Scale:
    """The coarsest step that shows all of the weight, the scale's own before others."""
    own = getattr(workshop, "scale_step", None) or Decimal(1)
    step = next((step for step in (own, *FINER_STEPS) if quantity % step == 0), FINER_STEPS[-1])
    return Scale(getattr(workshop, "units", None) or "metric", step)


@register.filter
def span(passed: timedelta) -> str:
    """Write how much time passed: '12 min', '1 h 05 min', '3 days'. js/timers.js writes the same."""
    minutes = max(0, passed // timedelta(minutes=1))
    hours, days = minutes // 60, minutes // (24 * 60)
    if hours < 1:
        return _tied(gettext("%(count)s min"), minutes)
    if hours < 48:
        full = _tied(gettext("%(count)s h"), hours)
        return f"{full} {_tied(gettext('%(count)s min'), f'{minutes % 60:02d}')}"
    return _tied(ngettext("%(count)s day", "%(count)s days", days), days)


def _tied(words: str, count: object) -> str:
    return words.replace(" ", TIE) % {"count": count}


@register.simple_tag
def timer(since: datetime) -> SafeString:
    """Write how long ago something was; js/timers.js keeps it running."""
    passed = span(timezone.now() - since)
    return format_html('<span class="timer" data-since="{}">{}</span>', since.isoformat(), passed)
