"""Recipes carried out in files, and in."""

from __future__ import annotations

import json

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext, ngettext

from recipes import services
from recipes.exchange import document
from recipes.exchange.table import table
from recipes.forms.exchange import FileForm, KeepForm
from recipes.models import Recipe, Version
from recipes.queries import exchange as queries
from recipes.services import Fate, Kept
from soapshop.core.access import SignedInRequest, maker_required

LONGEST_NUMBER = 4  # digits of how many recipes a file may hold


def version_json(request: SignedInRequest, pk: int, number: int) -> HttpResponse:
    """A version of a recipe as a file of our own format."""
    version = _version(pk, number)
    return _json(request, [version], _named(version))


def version_csv(request: SignedInRequest, pk: int, number: int) -> HttpResponse:
    """A version of a recipe as a table."""
    version = _version(pk, number)
    return _csv(request, [version], _named(version))


def all_json(request: SignedInRequest) -> HttpResponse:
    """The last version of every recipe as a file of our own format."""
    return _json(request, queries.versions_to_carry(), "recipes")


def all_csv(request: SignedInRequest) -> HttpResponse:
    """The last version of every recipe as a table."""
    return _csv(request, queries.versions_to_carry(), "recipes")


def schema(request: SignedInRequest) -> HttpResponse:
    """What a file of our own format looks like, as JSON Schema."""
    return _download(document.schema_text(), "application/schema+json", "recipe.schema.json")


@maker_required
def bring_in(request: SignedInRequest) -> HttpResponse:
    """Choose a file, look at what it would bring, keep it."""
    if request.method != "POST":
        return render(request, "recipes/import.html", {"form": FileForm()})
    return _keep(request) if "packed" in request.POST else _look(request)


def _look(request: SignedInRequest) -> HttpResponse:
    form = FileForm(request.POST, request.FILES, materials=queries.all_materials())
    if not form.is_valid():
        return render(request, "recipes/import.html", {"form": form}, status=422)
    if form.beginning:
        return redirect(f"{reverse('recipes:add')}?{form.beginning}")
    kept = services.try_out(found=form.found, file=form.file_name, by=request.user)
    carried = KeepForm(initial={"packed": form.packed, "file_name": form.file_name})
    context = {"kept": kept, "form": carried, "file": form.file_name}
    return render(request, "recipes/import_preview.html", context)


def _keep(request: SignedInRequest) -> HttpResponse:
    form = KeepForm(request.POST)
    if not form.is_valid():
        context = {"form": FileForm(), "carried": form}
        return render(request, "recipes/import.html", context, status=422)
    ticked = request.POST.getlist("take")
    wanted = {int(one) for one in ticked if one.isdecimal() and len(one) <= LONGEST_NUMBER}
    file = form.cleaned_data["file_name"]
    kept = services.keep(found=form.found, file=file, only=wanted, by=request.user)
    _tell(request, kept)
    if len(kept.added) == 1 and kept.added[0].version:
        return redirect("recipes:recipe", kept.added[0].version.recipe_id)
    return redirect("recipes:list")


def _tell(request: SignedInRequest, kept: Kept) -> None:
    added = len(kept.added)
    if added:
        words = ngettext(
            "%(count)d recipe was added to yours.", "%(count)d recipes were added to yours.", added
        )
        messages.success(request, words % {"count": added})
    else:
        messages.success(request, gettext("Nothing was added."))
    for one in kept.of(Fate.REFUSED):
        words = gettext("%(name)s was not added: %(why)s")
        messages.warning(request, words % {"name": one.name, "why": one.why})


def _version(pk: int, number: int) -> Version:
    found = queries.version_to_carry(get_object_or_404(Recipe, pk=pk), number)
    if found is None:
        raise Http404("There is no such version.")
    return found


def _named(version: Version) -> str:
    """A name for a file that every system takes."""
    return f"{slugify(version.recipe.name) or 'recipe'}-{version.number}"


def _json(request: SignedInRequest, versions: list[Version], name: str) -> HttpResponse:
    found = document.document(versions, workshop=request.workshop.name, at=timezone.now())
    text = json.dumps(found, indent=2, ensure_ascii=False)
    return _download(text + "\n", "application/json", f"{name}.json")


def _csv(request: SignedInRequest, versions: list[Version], name: str) -> HttpResponse:
    lots = queries.first_lots(versions, timezone.localdate())
    densities = queries.densities(versions)
    text = table(versions, workshop=request.workshop, lots=lots, densities=densities)
    return _download(text, "text/csv; charset=utf-8", f"{name}.csv")


def _download(text: str, kind: str, name: str) -> HttpResponse:
    shown = f'attachment; filename="{name}"'
    return HttpResponse(text, content_type=kind, headers={"Content-Disposition": shown})
