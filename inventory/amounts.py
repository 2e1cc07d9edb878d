"""Amounts of a material in words: weights in the workshop's units, embeds and packaging in pieces."""

from __future__ import annotations

import math
from decimal import Decimal

from django.utils.translation import ngettext

from inventory.models import Material
from shared.units import format_weight
from soapshop.core.models import Workshop
from soapshop.core.queries import workshop as the_workshop
from soapshop.core.words import with_decimal_sign

HUNDREDTH = Decimal("0.01")
MOST = Decimal(10_000_000)  # ten tonnes, or as many pieces: more is a slip of the finger


def pieces(count: Decimal) -> str:
    """A count in words: '1 piece', '1 200 pieces' with a narrow space between thousands."""
    figure = with_decimal_sign(f"{count.normalize():,f}".replace(",", "\N{NARROW NO-BREAK SPACE}"))
    words = ngettext("%(count)s piece", "%(count)s pieces", math.ceil(count))
    return words.replace(" ", "\N{NO-BREAK SPACE}") % {"count": figure}


def in_words(quantity: Decimal, material: Material, *, workshop: Workshop | None = None) -> str:
    """The amount of that material with its unit, to a hundredth of a gram where it is not whole."""
    return pieces(quantity) if material.counted else weight_in_words(quantity, workshop=workshop)


def weight_in_words(quantity: Decimal, *, workshop: Workshop | None = None) -> str:
    """Grams in the workshop's units, to a hundredth of a gram where they are not whole."""
    units = (workshop or the_workshop()).units
    step = Decimal(1) if quantity == quantity.to_integral_value() else HUNDREDTH
    return with_decimal_sign(format_weight(quantity, units="us" if units == "us" else "metric", step=step))
