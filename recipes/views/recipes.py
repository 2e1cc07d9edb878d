"""Pages of recipes: the list, a recipe in any of its versions, and the form that writes one down."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_POST

from inventory.models import Kind
from recipes import forms, queries, services
from recipes.depth import Depth, depth_of
from recipes.design import design_of
from recipes.editing import Editor, Result
from recipes.errors import DesignError
from recipes.form_steps import STEPS
from recipes.forms import RecipeForm
from recipes.forms.exchange import TagsForm
from recipes.models import NATURAL, Recipe, Version
from recipes.portions import portions_of
from recipes.usual_cure import usual_cure
from soapshop.core.access import SignedInRequest, maker_required

LONGEST_KEY = 18  # digits that a database key can have


def recipe_list(request: SignedInRequest) -> HttpResponse:
    """All recipes with their last version: found by a word or a tag, or those put away."""
    search, tag, archived = _asked(request, "q"), _asked(request, "tag"), "archived" in request.GET
    page = queries.recipe_rows(search=search, tag=tag, archived=archived, page=request.GET.get("page"))
    context = {"page": page, "q": search, "tag": tag, "archived": archived}
    context |= {"tags": queries.tags_in_use(archived=archived), "kept": _kept(tag, archived=archived)}
    template = "recipes/list.html#results" if request.htmx else "recipes/list.html"
    return render(request, template, context)


def recipe(request: SignedInRequest, pk: int, number: int | None = None) -> HttpResponse:
    """A recipe in its last version, or in the one of that number."""
    found = get_object_or_404(Recipe.objects.select_related("created_by"), pk=pk)
    return _recipe_page(request, found, number)


@require_POST
@maker_required
def tags(request: SignedInRequest, pk: int) -> HttpResponse:
    """Give a recipe its tags."""
    found, form = get_object_or_404(Recipe, pk=pk), TagsForm(request.POST)
    if form.is_valid():
        try:
            services.set_tags(recipe=found, names=form.cleaned_data["tags"], by=request.user)
            return redirect("recipes:recipe", found.pk)
        except ValidationError as error:
            form.add_error(None, error)
    return _recipe_page(request, found, None, form)


@maker_required
def add(request: SignedInRequest) -> HttpResponse:
    """Write down a new recipe, from nothing or from a copy."""
    if request.method == "POST":
        return _posted(request, None)
    version = _copied(request)
    if version is None:
        return _blank(request)
    name = gettext("%(name)s (copy)") % {"name": version.recipe.name[:73]}
    return _filled_in(request, version, name=name, note="", seen="")


@maker_required
def edit(request: SignedInRequest, pk: int) -> HttpResponse:
    """Change a recipe, starting from its last version or from an earlier one."""
    found = get_object_or_404(Recipe, pk=pk)
    if request.method == "POST":
        return _posted(request, found)
    number = request.GET.get("from", "")
    try:
        page = queries.recipe_page(found, int(number[:5]) if number.isdecimal() else None)
    except Version.DoesNotExist as error:
        raise Http404("There is no such version.") from error
    note = page.version.note if page.is_latest and not page.latest.is_poured else ""
    return _filled_in(request, page.version, latest=page.latest, seen=page.latest.stamp, note=note)


@require_POST
@maker_required
def preview(request: SignedInRequest) -> HttpResponse:
    """What the form comes to while it is being filled in; with a list where a row was added or taken away."""
    typed = request.POST.copy()
    if request.htmx.target == "result":
        # htmx sends the button last pressed along with whatever the form asks for next.
        typed.pop("add", None)
        typed.pop("remove", None)
    form, result = _editor(request, typed).step(typed)
    rows = form.lists.get(request.htmx.target or "")
    context = {"form": form, "result": result, "rows": rows, "live": True}
    return render(request, "recipes/recipe_form.html#live", context)


@require_POST
@maker_required
def archive(request: SignedInRequest, pk: int) -> HttpResponse:
    """Put a recipe away, or bring it back."""
    found = get_object_or_404(Recipe, pk=pk)
    if "back" in request.POST:
        services.bring_back(recipe=found, by=request.user)
        messages.success(request, gettext("%(name)s is among your recipes again.") % {"name": found})
    else:
        services.archive(recipe=found, by=request.user)
        messages.success(request, gettext("%(name)s is put away. Nothing of it is lost.") % {"name": found})
    return redirect("recipes:recipe", found.pk)


def _asked(request: SignedInRequest, name: str) -> str:
    """A word of the address, as far as it can be looked for."""
    return request.GET.get(name, "").replace("\x00", "").strip()[:80]


def _kept(tag: str, *, archived: bool) -> dict[str, str]:
    """What a search keeps of where it is made."""
    return ({"tag": tag} if tag else {}) | ({"archived": ""} if archived else {})


def _recipe_page(
    request: SignedInRequest, found: Recipe, number: int | None, form: TagsForm | None = None
) -> HttpResponse:
    """A version of a recipe, with the tags as they are or as they were typed, and refused."""
    try:
        page = queries.recipe_page(found, number)
    except Version.DoesNotExist as error:
        raise Http404("There is no such version.") from error
    result, tags = _worked_out(request, page.version), [tag.name for tag in found.tags.all()]
    card = result.sheet.worked_out if result.sheet else None
    context = {
        "recipe": found,
        "page": page,
        "result": result,
        "behaviours": queries.bad_news(card) if card else (),
        "has_embeds": bool(card and card.of(Kind.EMBED)),
        "outcomes": queries.outcomes(page.version),
        "depth": _depth(page.version, result),
        "tags": tags,
        "tags_form": form or TagsForm(initial={"tags": ", ".join(tags)}),
    }
    return render(request, "recipes/recipe.html", context, status=422 if form else 200)


def _copied(request: SignedInRequest) -> Version | None:
    """The version that a new recipe begins from, where the address names one."""
    copied = request.GET.get("copy", "")
    if not copied.isdecimal():
        return None
    return get_object_or_404(Version.objects.with_ingredients(), pk=copied[:LONGEST_KEY])


def _posted(request: SignedInRequest, found: Recipe | None) -> HttpResponse:
    """The form came back: for a step on the way, or to be saved."""
    editor = _editor(request, request.POST, found)
    latest = _latest(found)
    if any(step in request.POST for step in STEPS):
        form, result = editor.step(request.POST)
        return _form_page(request, form, result, latest)
    form = editor.bound(request.POST)
    version = _saved(form, found, request) if form.is_valid() else None
    if version is not None:
        words = gettext("Saved as version %(number)d of %(name)s.")
        messages.success(request, words % {"number": version.number, "name": version.recipe})
        return redirect("recipes:recipe", version.recipe_id)
    return _refused(request, editor, form, latest)


def _saved(form: RecipeForm, found: Recipe | None, request: SignedInRequest) -> Version | None:
    """Save through the service; what it refuses stands beside the fields."""
    said = {name: form.cleaned_data[name] for name in ("name", "bar_colour", "note")}
    said["cure_days"] = form.cleaned_data["cure_days"] or usual_cure(form.design, request.workshop).days
    try:
        if found is None:
            begun_from = _copied(request)
            return services.create_recipe(design=form.design, by=request.user, begun_from=begun_from, **said)
        seen = form.cleaned_data["seen"] or None
        return services.save_version(recipe=found, design=form.design, by=request.user, seen=seen, **said)
    except services.ChangedMeanwhile as error:
        form.blame(error)
        form.build_on(error.latest)
    except (DesignError, ValidationError) as error:
        form.blame(error)
    return None


def _refused(
    request: SignedInRequest, editor: Editor, form: RecipeForm, latest: Version | None
) -> HttpResponse:
    """The form with what was typed and what is wrong with it; the next save builds on the last version."""
    result = editor.result(form)
    form.show(result.sheet.needs if result.sheet else ())
    return _form_page(request, form, result, latest, status=422)


def _filled_in(
    request: SignedInRequest, version: Version, *, latest: Version | None = None, **changed: str
) -> HttpResponse:
    """The form with what a version says, but for what is `changed`; the address may name other fats."""
    known, rows = forms.fields_of(version) | changed, forms.rows_of(version)
    if forms.given_rows(request.GET):
        return _begun(request, known, rows, latest)
    also = [one.material_id for one in version.ingredients.all()]
    form = RecipeForm(
        catalogue=queries.catalogue(also=also, mould=version.mould_id),
        workshop=request.workshop,
        initial=known,
        rows=rows,
        portions=portions_of(version),
    )
    result = _worked_out(request, version)
    form.show(result.sheet.needs if result.sheet else ())
    return _form_page(request, form, result, latest)


def _blank(request: SignedInRequest) -> HttpResponse:
    """The form of a new recipe; the address may name its fats."""
    catalogue = queries.catalogue()
    rows = forms.blank_rows(catalogue)
    if forms.given_rows(request.GET):
        return _begun(request, {}, rows)
    form = RecipeForm(catalogue=catalogue, workshop=request.workshop, rows=rows)
    return _form_page(request, form, Result())


def _begun(
    request: SignedInRequest,
    known: dict[str, Any],
    rows: dict[str, list[forms.Row]],
    latest: Version | None = None,
) -> HttpResponse:
    """The form with what is known, and instead of its fats those that the address names."""
    typed = forms.as_typed(known | forms.given_fields(request.GET), rows | forms.given_rows(request.GET))
    form, result = _editor(request, typed).step(typed)
    return _form_page(request, form, result, latest)


def _form_page(
    request: SignedInRequest,
    form: RecipeForm,
    result: Result,
    latest: Version | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    context = {"form": form, "result": result, "latest": latest}
    return render(request, "recipes/recipe_form.html", context, status=status)


def _worked_out(request: SignedInRequest, version: Version) -> Result:
    """A stored version worked out today; a material that changed since may stand in its way."""
    day = timezone.localdate()
    try:
        found = queries.sheet(design_of(version), workshop=request.workshop, day=day, recipe=version.recipe)
    except DesignError as error:
        return Result(problems=(error.message,))
    return Editor(queries.Catalogue({}), request.workshop, day).shown(found, version.bar_colour)


def _depth(version: Version, result: Result) -> Depth | None:
    """What is behind a version that could be worked out."""
    if result.sheet is None:
        return None
    colour = version.bar_colour or NATURAL
    return depth_of(result.sheet, bar_colour=colour, cure_days=version.cure_days, day=timezone.localdate())


def _editor(request: SignedInRequest, typed: QueryDict, found: Recipe | None = None) -> Editor:
    chosen = [row.material for rows in forms.typed_rows(typed).values() for row in rows]
    also = [int(key) for key in chosen if _is_key(key)]
    look_of, mould = str(typed.get("look_of", "")), str(typed.get("mould", ""))
    return Editor(
        queries.catalogue(also, mould=int(mould) if _is_key(mould) else None),
        request.workshop,
        timezone.localdate(),
        queries.portions_from(int(look_of)) if _is_key(look_of) else (),
        found,
    )


def _is_key(text: str) -> bool:
    return text.isdecimal() and len(text) <= LONGEST_KEY


def _latest(found: Recipe | None) -> Version | None:
    return found.versions.select_related("recipe").order_by("-number").first() if found else None
