"""A fat has run out: what may stand in for it."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes import queries, swapping
from recipes.design import design_of
from recipes.errors import DesignError
from recipes.models import Recipe, Version
from recipes.queries import blending
from shared.blend import BlendError
from soapshop.core.access import SignedInRequest
from soapshop.core.words import in_words


def swap(request: SignedInRequest, pk: int) -> HttpResponse:
    """The nearest ways to make a recipe without one of its fats."""
    found = get_object_or_404(Recipe, pk=pk)
    number = request.GET.get("version", "")
    try:
        page = queries.recipe_page(found, int(number[:5]) if number.isdecimal() else None)
    except Version.DoesNotExist as error:
        raise Http404("There is no such version.") from error
    fats = [part.material for part in design_of(page.version).of(Kind.FAT)]
    missing = next((fat for fat in fats if str(fat.pk) == request.GET.get("material")), None)
    whole = "whole" in request.GET
    context = {"recipe": found, "page": page, "fats": fats, "missing": missing, "whole": whole}
    if missing is not None:
        context |= _answer(request, page.version, missing, whole=whole)
    return render(request, "recipes/swap.html", context)


def _answer(
    request: SignedInRequest, version: Version, missing: Material, *, whole: bool
) -> dict[str, object]:
    """The ways, or the problem in words."""
    day, design = timezone.localdate(), design_of(version)
    also = [part.material.pk for part in design.parts]
    warn_days = request.workshop.expiry_warning_days
    try:
        sheet = queries.sheet(design, workshop=request.workshop, day=day, recipe=version.recipe)
        worked_out = sheet.worked_out
        fats = blending.fats(day=day, warn_days=warn_days, also=also)
        ways = swapping.ways(worked_out, missing, fats, request.workshop, whole=whole)
    except DesignError as error:
        return {"problem": error.message}
    except BlendError as error:
        return {"problem": in_words(error.args[0])}
    note = gettext("Without %(fat)s.") % {"fat": missing}
    return {"ways": ways, "bar": swapping.bar_now(worked_out, fats), "note": note}
