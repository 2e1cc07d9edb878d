"""Writing recipes down: a new one, a change to one, putting one away."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext

from recipes.design import Design, design_of
from recipes.formulation import WorkedOut, work_out
from recipes.models import Ingredient, Recipe, Version
from recipes.picture import picture_of
from recipes.portions import PortionDesign, says_nothing
from recipes.services.look import write_portions
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.queries import workshop
from soapshop.core.services.history import record


class ChangedMeanwhile(ValidationError):
    """Someone saved the recipe after this form was opened. `latest` is what they saved."""

    def __init__(self, latest: Version) -> None:
        super().__init__(
            gettext(
                "%(person)s saved version %(number)d of this recipe while you were writing. "
                "What you typed is still here: look at theirs first, then save yours on top of it."
            )
            % {"person": latest.made_by, "number": latest.number}
        )
        self.latest = latest


def create_recipe(
    *,
    name: str,
    design: Design,
    cure_days: int,
    by: User,
    bar_colour: str = "",
    note: str = "",
    begun_from: Version | None = None,
) -> Version:
    """Write down a new recipe as its version 1; `begun_from` is the version of another it is a copy of.

    Raises DesignError for a design that cannot be made, ValidationError by field for the rest.
    """
    require_maker(by)
    worked_out = work_out(design, workshop=workshop())
    recipe = Recipe(name=name, created_by=by)
    recipe.full_clean(exclude=["created_by"], validate_constraints=False)
    with transaction.atomic():
        _check_name(recipe)
        _save_named(recipe)
        version = _version(recipe, 1, cure_days=cure_days, bar_colour=bar_colour, note=note, by=by)
        version.begun_from = begun_from
        _write(version, worked_out)
        record(by=by, subject=recipe, what=gettext("wrote down %(name)s") % {"name": recipe.name})
    return version


def save_version(
    *,
    recipe: Recipe,
    name: str,
    design: Design,
    cure_days: int,
    by: User,
    bar_colour: str = "",
    note: str = "",
    seen: str | None = None,
) -> Version:
    """Save a change: in place while the last version was never poured, else as the next one.

    A form that changes nothing, or is sent twice, leaves the last version as it is. `seen` is the `stamp` of
    the version the form was opened with. Raises ChangedMeanwhile where that is no longer the last one,
    DesignError for a design that cannot be made, ValidationError by field for the rest.
    """
    require_maker(by)
    worked_out = work_out(design, workshop=workshop())
    with transaction.atomic():
        recipe = Recipe.objects.select_for_update().get(pk=recipe.pk)
        latest = _latest(recipe)
        _rename(recipe, name, by=by)
        if _says(latest, design, cure_days=cure_days, bar_colour=bar_colour, note=note):
            return latest
        if seen is not None and seen != latest.stamp:
            raise ChangedMeanwhile(latest)
        number = latest.number + 1 if latest.is_poured else latest.number
        version = _version(recipe, number, cure_days=cure_days, bar_colour=bar_colour, note=note, by=by)
        if not latest.is_poured:
            version.pk, version.begun_from_id = latest.pk, latest.begun_from_id
        _write(version, worked_out)
        words = gettext("saved version %(number)d of %(name)s")
        record(by=by, subject=recipe, what=words % {"number": number, "name": recipe.name})
    return version


def save_look(
    *, version: Version, portions: tuple[PortionDesign, ...], by: User, seen: str | None = None
) -> Version:
    """Save how the batter of a recipe's last version is split: in place while it was never poured, else as
    the next one. One portion that is the whole batter, and nothing else is said of it, is none.

    `version` was fetched `with_ingredients`. Raises as `save_version` does.
    """
    plain = len(portions) == 1 and says_nothing(portions[0], version.bar_colour)
    design = replace(design_of(version), portions=() if plain else portions)
    return save_version(
        recipe=version.recipe,
        name=version.recipe.name,
        design=design,
        cure_days=version.cure_days,
        bar_colour=version.bar_colour,
        note="" if version.is_poured and design != design_of(version) else version.note,
        seen=seen,
        by=by,
    )


def archive(*, recipe: Recipe, by: User) -> None:
    """Put a recipe away: it is no longer offered for a pour. Nothing of it is lost."""
    _set_archived(recipe, archived=True, by=by)


def bring_back(*, recipe: Recipe, by: User) -> None:
    """Offer a recipe again that was put away."""
    _set_archived(recipe, archived=False, by=by)


def mark_poured(*, version: Version, pours: int, last_poured_at: datetime | None) -> None:
    """Keep how many pours of a version stand and when it was last poured, as its batches count them.

    Belongs into the transaction of a pour or of its undoing. A version that was ever poured, undone or not,
    is not changed any more.
    """
    Version.objects.filter(pk=version.pk).update(pours=pours, poured_at=last_poured_at)
    version.pours, version.poured_at = pours, last_poured_at


def _set_archived(recipe: Recipe, *, archived: bool, by: User) -> None:
    require_maker(by)
    with transaction.atomic():
        recipe.archived = archived
        recipe.save(update_fields=["archived"])
        what = gettext("put away %(name)s") if archived else gettext("brought back %(name)s")
        record(by=by, subject=recipe, what=what % {"name": recipe.name})


def _latest(recipe: Recipe) -> Version:
    """The last version, locked so that no pour can overtake the edit."""
    pk = recipe.versions.select_for_update().order_by("-number").values_list("pk", flat=True)[:1].get()
    return Version.objects.with_ingredients().select_related("made_by").get(pk=pk)


def _says(latest: Version, design: Design, *, cure_days: int, bar_colour: str, note: str) -> bool:
    """Whether the version says the same already."""
    said = (latest.cure_days, latest.bar_colour, latest.note)
    return design_of(latest) == design and said == (cure_days, bar_colour, note)


def _rename(recipe: Recipe, name: str, *, by: User) -> None:
    old, recipe.name = recipe.name, name
    if old == name:
        return
    recipe.full_clean(exclude=["created_by"], validate_constraints=False)
    _check_name(recipe)
    _save_named(recipe)
    record(by=by, subject=recipe, what=gettext("renamed %(old)s to %(new)s") % {"old": old, "new": name})


def _check_name(recipe: Recipe) -> None:
    if Recipe.objects.filter(name__iexact=recipe.name).exclude(pk=recipe.pk).exists():
        raise _name_taken(recipe)


def _save_named(recipe: Recipe) -> None:
    """Save; the database has the last word on a name that two people give at once."""
    try:
        with transaction.atomic():
            recipe.save()
    except IntegrityError as error:
        raise _name_taken(recipe) from error


def _name_taken(recipe: Recipe) -> ValidationError:
    words = gettext("There is a recipe called %(name)s already.")
    return ValidationError({"name": words % {"name": recipe.name}})


def _version(recipe: Recipe, number: int, *, cure_days: int, bar_colour: str, note: str, by: User) -> Version:
    return Version(
        recipe=recipe,
        number=number,
        cure_days=cure_days,
        bar_colour=bar_colour,
        note=note,
        made_by=by,
        made_at=timezone.now(),
    )


def _write(version: Version, worked_out: WorkedOut) -> None:
    """Store a version with its design, in place of what stands there under its key."""
    design = worked_out.design
    mould = design.mould
    version.superfat = design.superfat
    version.liquid_by, version.liquid_value = design.liquid_by, design.liquid_value
    version.size_by, version.size_grams = design.size_by, design.size_grams
    version.mould = mould.kept if mould else None
    version.mould_length = mould.length if mould else None
    version.mould_width = mould.width if mould else None
    version.mould_height = mould.height if mould else None
    version.bars = design.bars
    version.liquid_scope, version.process = design.liquid_scope, design.process
    version.picture = picture_of(worked_out, bar_colour=version.bar_colour).to_json()
    version.clean_fields(exclude=["recipe", "made_by", "begun_from", "mould", "picture"])
    version.save()
    ingredients = [
        Ingredient(
            version=version, material=part.material, amount=part.amount, stage=part.stage, position=position
        )
        for position, part in enumerate(design.parts)
    ]
    for ingredient in ingredients:
        ingredient.clean_fields(exclude=["version", "material"])
    version.ingredients.all().delete()
    Ingredient.objects.bulk_create(ingredients)
    write_portions(version, design)
