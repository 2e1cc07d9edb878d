"""How a maker weighs, kept by the phone: the scale zeroed for each thing, or one on top of the other.

The phone keeps the way in one cookie, for good, and for each batch in a cookie of the pot and one of the jug
what the scale shows beyond what the book knows to be in there.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from django.http import HttpResponse
from django.urls import reverse

from batches.forms.pour import Way
from batches.models import Line
from batches.queries.weighing import ToWeigh
from soapshop.core.access import SignedInRequest

WAY_COOKIE = "weighing"
YEAR, DAY = 60 * 60 * 24 * 365, 60 * 60 * 24  # seconds
MOST = Decimal(1_000_000)


def way_of(request: SignedInRequest) -> Way:
    return Way.ON_TOP if request.COOKIES.get(WAY_COOKIE) == Way.ON_TOP else Way.ZEROED


def zero_of(request: SignedInRequest, line: Line) -> Decimal | None:
    """Grams that the scale shows beyond what the book knows; None where it is zeroed for each thing."""
    if way_of(request) == Way.ZEROED:
        return None
    try:
        zero = Decimal(request.COOKIES.get(_name(line), "0"))
    except InvalidOperation:
        return Decimal(0)
    return zero if zero.is_finite() and abs(zero) <= MOST else Decimal(0)


def told_before(request: SignedInRequest, item: ToWeigh) -> dict[str, str]:
    """What the form begins with: the way, and the reading where the scale shows another than the book."""
    told = {"way": str(way_of(request))}
    if item.on_top and item.on_top.before > 0 and item.on_top.before != item.on_top.below:
        told["shows"] = f"{item.on_top.before.normalize():f} g"
    return told


def remember(answer: HttpResponse, line: Line, *, way: Way, shows: Decimal | None, below: Decimal) -> None:
    """Has the phone keep the way, and what the scale shows now beyond the `below` that the book knows."""
    answer.set_cookie(WAY_COOKIE, way, max_age=YEAR, httponly=True, samesite="Lax")
    zero = Decimal(0) if shows is None else shows - below
    path = reverse("batches:batch", args=[line.batch_id])
    answer.set_cookie(_name(line), str(zero), max_age=2 * DAY, path=path, httponly=True, samesite="Lax")


def _name(line: Line) -> str:
    return f"scale_{line.kind}"
