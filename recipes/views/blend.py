"""The blend finder: a wish in the address, so that it can be bookmarked, and the blends that fulfil it."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone

from inventory.models import Kind
from recipes.blending import Fat
from recipes.design import design_of
from recipes.forms.blend import BLANK, BLANK_LIMITS, BlendForm, typed_limits
from recipes.found import Found, find
from recipes.models import Version
from recipes.queries import blending
from shared.blend import BlendError, Goal, Group, warm_up
from soapshop.core.access import SignedInRequest

LONGEST_KEY = 18  # digits that a database key can have
GROUPS = tuple(map(str, Group))


def blend(request: SignedInRequest) -> HttpResponse:
    """Ask for a blend, and see what was found. A step on the way only shows the form again."""
    typed = request.GET
    near = blending.last_version(_key(typed.get("recipe")))
    ticked = [_key(value) for value in typed.getlist("fat")]
    fats = blending.fats(
        day=timezone.localdate(), warn_days=request.workshop.expiry_warning_days, also=ticked
    )
    recipes = list(blending.recipes_in_use())
    if "find" in typed and not _step(typed):
        form = BlendForm(typed, fats=fats, recipes=recipes)
        found = _found(request, form, near)
    else:
        warm_up()
        form, found = BlendForm(fats=fats, recipes=recipes, **_shown(typed, fats)), None
    template = "recipes/blend.html#limits" if request.htmx else "recipes/blend.html"
    return render(request, template, {"form": form, "found": found})


def _found(request: SignedInRequest, form: BlendForm, near: Version | None) -> Found | None:
    if not form.is_valid():
        return None
    try:
        return find(form.wish(_shares(near)), form.fats, request.workshop)
    except BlendError as error:
        form.blame(error)
    return None


def _shown(typed: QueryDict, fats: tuple[Fat, ...]) -> dict[str, Any]:
    """What the form says before anything was asked, or on the way: then just what was typed."""
    if not _step(typed):
        goal = Goal.RECIPE if "recipe" in typed else Goal.CHEAPEST
        in_stock = [str(fat.material.pk) for fat in fats if fat.on_hand]
        initial = {"fat": in_stock, "goal": goal, "recipe": typed.get("recipe", "")}
        return {"initial": initial, "limits": [BLANK] * BLANK_LIMITS}
    limits = typed_limits(typed)
    remove = typed.get("remove", "")
    if remove.isdecimal():
        limits = [row for index, row in enumerate(limits) if str(index) != remove]
    if "add" in typed:
        limits.append(BLANK)
    names = [name for name in ("goal", "recipe", "grams", "no_palm", "no_animal") if name in typed]
    names += [name for name in GROUPS if name in typed]
    return {
        "initial": {name: typed[name] for name in names} | {"fat": typed.getlist("fat")},
        "limits": limits,
    }


def _step(typed: QueryDict) -> bool:
    return "add" in typed or "remove" in typed


def _shares(version: Version | None) -> dict[str, float]:
    """The fats of a recipe in %, by name."""
    parts = design_of(version).of(Kind.FAT) if version else ()
    total = sum(part.amount for part in parts)
    return {part.material.name: float(100 * part.amount / total) for part in parts}


def _key(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) <= LONGEST_KEY else 0
