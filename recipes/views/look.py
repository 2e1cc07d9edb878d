"""The look of a recipe: its batter split into portions, drawn as a bar while it is being said."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from inventory.models import Kind
from recipes import queries, services
from recipes.design import design_of
from recipes.editing import Editor, Result
from recipes.errors import DesignError
from recipes.forms.look import LookForm, keys, typed_rows
from recipes.look_colours import settle
from recipes.look_steps import STEPS, all_of_it, take
from recipes.models import NATURAL, Recipe, Version
from recipes.portions import PortionDesign, portions_of
from soapshop.core.access import SignedInRequest, maker_required

LONGEST_KEY = 18  # digits that a database key can have


@maker_required
def look(request: SignedInRequest, pk: int) -> HttpResponse:
    """Say how the batter of a recipe's last version is split, and save it."""
    version = _latest(pk)
    if request.method != "POST":
        designs = portions_of(version) or _whole()
        form = LookForm.of(version, designs, _catalogue(version, designs))
        return _page(request, version, form, _worked_out(request, version, designs))
    typed = request.POST.copy()
    if any(step in typed for step in STEPS):
        form = _step(version, typed)
        return _page(request, version, form, _result(request, version, form))
    return _saved(request, version, _step(version, typed))


@require_POST
@maker_required
def look_preview(request: SignedInRequest, pk: int) -> HttpResponse:
    """What the form comes to while it is filled in; with the portions where one was added or moved."""
    typed = request.POST.copy()
    if request.htmx.target == "result":
        # htmx sends the button last pressed along with whatever the form asks for next.
        for step in STEPS:
            typed.pop(step, None)
    version = _latest(pk)
    form = _step(version, typed)
    result = _result(request, version, form)
    part = "portions" if any(step in typed for step in STEPS) else "result"
    context = _context(version, form, result) | {"live": True, "swapped": part}
    return render(request, f"recipes/look.html#{part}", context)


def _latest(pk: int) -> Version:
    # Asked for by the recipe's own key: there a number larger than the database holds finds nothing.
    versions = Version.objects.with_ingredients().filter(recipe__in=Recipe.objects.filter(pk=pk))
    found = versions.order_by("-number").first()
    if found is None:
        raise Http404(gettext("There is no such recipe."))
    return found


def _whole() -> tuple[PortionDesign, ...]:
    """What to begin with: all of the batter, as one portion."""
    return (PortionDesign(all_of_it()),)


def _step(version: Version, data: QueryDict) -> LookForm:
    """Take the step that was asked for, if any; the form then shows what was typed."""
    looked_at = take(data)
    catalogue = _catalogue_typed(data)
    colours = {str(one.pk): one.colour for one in catalogue.of(Kind.COLOUR) if one.colour}
    recoloured = settle(data, colours, version.bar_colour or NATURAL)
    form = LookForm.typed(data, catalogue)
    form.show(looked_at=looked_at, last_row="add_into" in data, recoloured=recoloured)
    return form


def _result(request: SignedInRequest, version: Version, form: LookForm) -> Result:
    if not form.is_valid():
        return Result(problems=tuple(form.problems))
    return _worked_out(request, version, form.designs)


def _worked_out(request: SignedInRequest, version: Version, designs: tuple[PortionDesign, ...]) -> Result:
    design = replace(design_of(version), portions=designs)
    day = timezone.localdate()
    try:
        found = queries.sheet(design, workshop=request.workshop, day=day, recipe=version.recipe)
    except DesignError as error:
        named = error.portion in error.message
        return Result(problems=(error.message if named else f"{error.portion}: {error.message}",))
    return Editor(queries.Catalogue({}), request.workshop, day).shown(found, version.bar_colour)


def _saved(request: SignedInRequest, version: Version, form: LookForm) -> HttpResponse:
    """Save through the service; what it refuses stands beside the portions."""
    if not form.is_valid():
        return _page(request, version, form, Result(problems=tuple(form.problems)), status=422)
    try:
        kept = services.save_look(
            version=version, portions=form.designs, seen=form.seen or None, by=request.user
        )
    except (DesignError, ValidationError) as error:
        result = _worked_out(request, version, form.designs)
        form.blame(error)
        if isinstance(error, services.ChangedMeanwhile):
            form.seen = error.latest.stamp
        return _page(request, version, form, result, status=422)
    words = gettext("Saved how version %(number)d of %(name)s looks.")
    messages.success(request, words % {"number": kept.number, "name": kept.recipe})
    return redirect("recipes:recipe", kept.recipe_id)


def _page(
    request: SignedInRequest, version: Version, form: LookForm, result: Result, *, status: int = 200
) -> HttpResponse:
    return render(request, "recipes/look.html", _context(version, form, result), status=status)


def _context(version: Version, form: LookForm, result: Result) -> dict[str, Any]:
    behaviours = queries.bad_news(result.sheet.worked_out) if result.sheet else ()
    return {
        "version": version,
        "recipe": version.recipe,
        "form": form,
        "result": result,
        "behaviours": behaviours,
    }


def _catalogue(version: Version, designs: tuple[PortionDesign, ...]) -> queries.Catalogue:
    also = [into.material.pk for one in designs for into in one.additions]
    return queries.catalogue(also)


def _catalogue_typed(data: QueryDict) -> queries.Catalogue:
    chosen = [row.material for key in keys(data) for row in typed_rows(data, key)]
    return queries.catalogue([int(pk) for pk in chosen if pk.isdecimal() and len(pk) <= LONGEST_KEY])
