"""Two versions, or two recipes, side by side."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext

from recipes import queries
from recipes.comparing import Side, rows_by_part
from recipes.design import design_of
from recipes.errors import DesignError
from recipes.explain import Explanation, explain, explain_card
from recipes.models import Version
from recipes.queries import blending
from soapshop.core.access import SignedInRequest

LONGEST_KEY = 18  # digits that a database key can have


def compare(request: SignedInRequest) -> HttpResponse:
    """Choose two versions, and see what differs."""
    keys = [_key(request.GET.get(name, "")) for name in ("a", "b")]
    found = blending.versions(keys)
    before, after = (_side(request, found.get(key)) for key in keys)
    chosen = [side.version for side in (before, after) if side]
    context: dict[str, object] = {
        "choices": blending.versions_to_compare(version.recipe_id for version in chosen),
        "before": before,
        "after": after,
        "lost": _lost(request, before, after),
    }
    if before and after:
        context |= {
            "sides": (before, after),
            "names": _names(before.version, after.version),
            "parts": rows_by_part(before, after, request.workshop),
            "how": tuple((side.version, _how(side, request)) for side in (before, after)),
        }
    return render(request, "recipes/compare.html", context)


def _key(typed: str) -> int:
    """A key of the database; none has 0."""
    return int(typed) if typed.isdecimal() and len(typed) <= LONGEST_KEY else 0


def _side(request: SignedInRequest, version: Version | None) -> Side | None:
    if version is None:
        return None
    day = timezone.localdate()
    try:
        sheet = queries.sheet(design_of(version), workshop=request.workshop, day=day, recipe=version.recipe)
    except DesignError as error:
        return Side(version, None, error.message)
    return Side(version, sheet)


def _how(side: Side, request: SignedInRequest) -> tuple[Explanation, ...]:
    """How the figures of a side came about; none where it cannot be worked out."""
    if side.sheet is None:
        return ()
    return (*explain(side.sheet, request.workshop), *explain_card(side.sheet, request.workshop))


def _names(before: Version, after: Version) -> tuple[str, str]:
    """What the columns are called."""
    if before.recipe_id != after.recipe_id:
        return before.recipe.name, after.recipe.name
    words = gettext("version %(number)d")
    return words % {"number": before.number}, words % {"number": after.number}


def _lost(request: SignedInRequest, before: Side | None, after: Side | None) -> str:
    """What to say of a choice that is none."""
    asked = (("a", before), ("b", after))
    if any(request.GET.get(name) and side is None for name, side in asked):
        return gettext("One of these versions does not exist. Choose two from the lists.")
    return ""
