"""Amounts of materials on pages: weights or pieces, as the material is weighed or counted."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import template
from django.template.context import Context
from django.utils import timezone
from django.utils.translation import gettext

from inventory.amounts import in_words, pieces
from inventory.models import Lot, Material
from shared.units import format_stock
from soapshop.core.templatetags.soapshop import money, number, stock_weight, weight
from soapshop.core.words import with_decimal_sign

register = template.Library()

PLUS, MINUS = "+", "\N{MINUS SIGN}"
TIE = "\N{NO-BREAK SPACE}"


@register.simple_tag(takes_context=True)
def amount(context: Context, quantity: Decimal, material: Material) -> str:
    """A stock at a glance: '11.2 kg', '850 g', '120 pieces'."""
    if material.counted:
        return pieces(quantity)
    return with_decimal_sign(format_stock(quantity, units=_units(context)))


@register.simple_tag(takes_context=True)
def held(context: Context, quantity: Decimal, material: Material) -> str:
    """A stock beside what a recipe needs of it: '11.2 kg', '120 pcs'."""
    return _few_pieces(quantity) if material.counted else stock_weight(quantity, context.get("workshop"))


@register.simple_tag(takes_context=True)
def weighed(context: Context, quantity: Decimal, material: Material) -> str:
    """What a recipe needs, as the scale shows it: '1 268 g', '10 pcs'."""
    return _few_pieces(quantity) if material.counted else weight(quantity, context.get("workshop"))


def _few_pieces(count: Decimal) -> str:
    return gettext("%(count)s pcs").replace(" ", TIE) % {"count": number(count)}


@register.simple_tag(takes_context=True)
def exact_amount(context: Context, quantity: Decimal, material: Material) -> str:
    """An amount to the last gram (or less, where it is not whole)."""
    return in_words(quantity, material, workshop=context.get("workshop"))


@register.simple_tag(takes_context=True)
def change(context: Context, quantity: Decimal, material: Material) -> str:
    """What a movement did, with its sign: '−1 268 g', '+5 000 g'."""
    return (PLUS if quantity > 0 else MINUS) + exact_amount(context, abs(quantity), material)


@register.simple_tag(takes_context=True)
def lot_state(context: Context, lot: Lot) -> str:
    """The class of words about its best-before: 'stop' when past, 'watch' when near, else none."""
    if not lot.on_hand:
        return ""
    if lot.expired_on(timezone.localdate()):
        return "stop"
    return "watch" if lot.expires_within(context["workshop"].expiry_warning_days) else ""


@register.simple_tag(takes_context=True)
def unit_price(context: Context, unit_cost: Decimal, material: Material) -> str:
    """A price by the unit that people compare: a kilogram, or a piece."""
    currency = getattr(context.get("workshop"), "currency", "")
    if material.counted:
        return gettext("%(price)s a piece") % {"price": money(unit_cost, currency)}
    return gettext("%(price)s a kg") % {"price": money(unit_cost * 1000, currency)}


def _units(context: Context) -> Any:
    return getattr(context.get("workshop"), "units", None) or "metric"
