"""Keeping what a file of recipes brings: its recipes, and the materials and moulds that the workshop lacks.

Trying it out and doing it are the same steps; what was tried is taken back. So what the page says beforehand
is what happens, as long as nobody changes anything in between.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import takewhile
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext, gettext_lazy

from inventory.models import Kind, Material
from inventory.services.materials import create_material
from recipes.errors import DesignError
from recipes.exchange import entries, materials, moulds
from recipes.exchange.matching import Shelf, numbered
from recipes.models import Mould, Version
from recipes.queries import exchange as queries
from recipes.services.moulds import create_mould
from recipes.services.recipes import archive, create_recipe
from recipes.services.tags import set_tags
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

# What a figure is called where a sentence about it stands alone.
_FIELDS = {
    "superfat": gettext_lazy("Superfat"),
    "liquid_value": gettext_lazy("Liquid"),
    "size_grams": gettext_lazy("Size"),
    "size": gettext_lazy("Size"),
    "mould_length": gettext_lazy("Mould"),
    "mould_height": gettext_lazy("Mould"),
    "length": gettext_lazy("Length"),
    "width": gettext_lazy("Width"),
    "depth": gettext_lazy("Depth"),
    "diameter": gettext_lazy("Diameter"),
    "cavities": gettext_lazy("Cavities"),
    "millilitres": gettext_lazy("Holds"),
    "liner": gettext_lazy("Liner"),
    "bars": gettext_lazy("Bars"),
    "trim": gettext_lazy("Cut off each end"),
    "kerf": gettext_lazy("What one cut takes"),
    "fragrance": gettext_lazy("Fragrance"),
    "piece_grams": gettext_lazy("Weight of a piece"),
    "piece_length": gettext_lazy("Length of a piece"),
    "amount": gettext_lazy("Amount"),
    "density": gettext_lazy("Density"),
    "sap_low": gettext_lazy("Saponification value"),
    "sap_nominal": gettext_lazy("Saponification value"),
    "sap_high": gettext_lazy("Saponification value"),
    "purity_low": gettext_lazy("Purity"),
    "purity_high": gettext_lazy("Purity"),
}


class Fate(StrEnum):
    """What becomes of a recipe of a file."""

    ADDED = "added"
    SAME = "same"  # the workshop has it already
    LEFT_OUT = "left_out"  # as the maker wants it
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Brought:
    """A recipe of a file. `name` is the file's; `version` is what was made of it, or what is the same."""

    index: int
    name: str
    fate: Fate
    version: Version | None = None
    why: str = ""

    @property
    def renamed(self) -> str:
        """What it is called here, where that is not what the file calls it."""
        return self.version.recipe.name if self.version and self.version.recipe.name != self.name else ""


@dataclass(frozen=True, slots=True)
class Matched:
    """A material of a file: `material` is the workshop's, `differs` what of it the file says otherwise."""

    name: str
    material: Material
    added: bool
    differs: str = ""


@dataclass(frozen=True, slots=True)
class MatchedMould:
    """A mould of a file: `mould` is the workshop's, `differs` what of it the file says otherwise."""

    mould: Mould
    added: bool
    differs: str = ""


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of what a file brings: of its recipes all, of its materials and moulds those that these
    use."""

    recipes: tuple[Brought, ...]
    materials: tuple[Matched, ...]
    moulds: tuple[MatchedMould, ...] = ()

    def of(self, fate: Fate) -> tuple[Brought, ...]:
        return tuple(one for one in self.recipes if one.fate == fate)

    @property
    def added(self) -> tuple[Brought, ...]:
        return self.of(Fate.ADDED)


def keep(*, found: Mapping[str, Any], file: str, only: Collection[int], by: User) -> Kept:
    """Keep the recipes of a file that was read, `only` those of these numbers, counted from 0.

    A recipe whose name another has gets a number behind it; one that is here already and says the same is
    not made twice, however often the file is sent. What cannot be made is left out and says why.
    """
    require_maker(by)
    with transaction.atomic():
        return _Keeper(found, file, by).keep(only)


def try_out(*, found: Mapping[str, Any], file: str, by: User) -> Kept:
    """What `keep` would do with all of them, without doing it."""
    require_maker(by)
    with transaction.atomic():
        kept = _Keeper(found, file, by).keep(range(len(found["recipes"])))
        transaction.set_rollback(True)
    return kept


class _Keeper:
    """One file on its way in."""

    def __init__(self, found: Mapping[str, Any], file: str, by: User) -> None:
        self.entries: list[Mapping[str, Any]] = found["recipes"]
        self.file, self.by = file, by
        self.told: dict[str, Mapping[str, Any]] = {
            said["name"].strip().lower(): said for said in found["materials"]
        }
        self.shelf = Shelf(queries.all_materials())
        self.matched: dict[str, Matched] = {}
        self.told_moulds: dict[str, Mapping[str, Any]] = {
            said["name"].strip().lower(): said for said in found.get("moulds", ())
        }
        self.moulds_here = queries.moulds_by_name()
        self.matched_moulds: dict[str, MatchedMould] = {}
        self.taken = queries.names_taken()
        names = {name.lower() for entry in self.entries for name in self._taken_names(entry)}
        self.here = queries.newest_of(self.taken[name] for name in names)

    def keep(self, only: Collection[int]) -> Kept:
        recipes = tuple(
            self._keep_one(index, entry, wanted=index in only) for index, entry in enumerate(self.entries)
        )
        return Kept(recipes, tuple(self.matched.values()), tuple(self.matched_moulds.values()))

    def _keep_one(self, index: int, entry: Mapping[str, Any], *, wanted: bool) -> Brought:
        name, before = entry["name"].strip(), (dict(self.matched), dict(self.matched_moulds))
        if not wanted:
            return Brought(index, name, Fate.LEFT_OUT)
        try:
            if same := self._same(entry):
                return Brought(index, name, Fate.SAME, same)
            with transaction.atomic():
                version = self._create(entry)
        except (DesignError, ValidationError) as error:
            self.matched, self.matched_moulds = before
            return Brought(index, name, Fate.REFUSED, why=_why(error))
        self.taken[version.recipe.name.lower()] = version.recipe_id
        return Brought(index, name, Fate.ADDED, version)

    def _same(self, entry: Mapping[str, Any]) -> Version | None:
        """The recipe here, under that name or one with a number, that says what the entry says."""
        known = {name: self.shelf.match(self._said(name)) for name in entries.material_names(entry)}
        poured_into = entries.mould_names(entry)
        if not all(known.values()) or not all(name in self.moulds_here for name in poured_into):
            return None
        meant = entries.design(entry, {name: one for name, one in known.items() if one}, self.moulds_here)
        here = (self.here.get(self.taken[name.lower()]) for name in self._taken_names(entry))
        return next((one for one in here if one and entries.says_the_same(one, entry, meant)), None)

    def _create(self, entry: Mapping[str, Any]) -> Version:
        used = {name: self._material(name) for name in entries.material_names(entry)}
        poured_into = {name: self._mould(name) for name in entries.mould_names(entry)}
        name = next(each for each in numbered(entry["name"].strip()) if each.lower() not in self.taken)
        design = entries.design(entry, used, poured_into)
        version = create_recipe(name=name, design=design, by=self.by, **entries.words(entry))
        set_tags(recipe=version.recipe, names=entry.get("tags", ()), by=self.by)
        words = gettext("%(name)s came from the file %(file)s") % {"name": name, "file": self.file}
        record(by=self.by, subject=version.recipe, what=words)
        if entry.get("put_away"):
            archive(recipe=version.recipe, by=self.by)
        return version

    def _taken_names(self, entry: Mapping[str, Any]) -> Iterator[str]:
        """The names under which something here stands in the way of this one."""
        return takewhile(lambda name: name.lower() in self.taken, numbered(entry["name"].strip()))

    def _said(self, name: str) -> Mapping[str, Any]:
        if name not in self.told:
            words = gettext("“%(material)s” is not among the materials of the file.")
            raise ValidationError(words % {"material": name})
        return self.told[name]

    def _material(self, name: str) -> Material:
        """The workshop's material for that of the file, added where it has none."""
        if name not in self.matched:
            said = self._said(name)
            if known := self.shelf.match(said):
                differs = materials.differences(known, said)
                self.matched[name] = Matched(said["name"], known, added=False, differs=differs)
            else:
                self.matched[name] = Matched(said["name"], self._added(said), added=True)
        return self.matched[name].material

    def _added(self, said: Mapping[str, Any]) -> Material:
        if problem := materials.unknown_fat(said):
            raise ValidationError(problem)
        name = self.shelf.free_name(said["name"].strip())
        try:
            fields = materials.fields(said, self.file)
            return create_material(kind=Kind(said["kind"]), by=self.by, name=name, **fields)
        except ValidationError as error:
            raise ValidationError(f"{name}: {_why(error)}") from error

    def _mould(self, name: str) -> Mould:
        """The workshop's mould of that name, written down where it has none."""
        if name not in self.matched_moulds:
            if name not in self.told_moulds:
                words = gettext("“%(mould)s” is not among the moulds of the file.")
                raise ValidationError(words % {"mould": name})
            said, known = self.told_moulds[name], self.moulds_here.get(name)
            differs = moulds.differences(known, said) if known else ""
            mould = known or self._added_mould(said)
            self.matched_moulds[name] = MatchedMould(mould, added=not known, differs=differs)
        return self.matched_moulds[name].mould

    def _added_mould(self, said: Mapping[str, Any]) -> Mould:
        name = said["name"].strip()
        try:
            mould = create_mould(by=self.by, name=name, **moulds.fields(said))
        except ValidationError as error:
            raise ValidationError(f"{name}: {_why(error)}") from error
        words = gettext("%(name)s came from the file %(file)s") % {"name": name, "file": self.file}
        record(by=self.by, subject=mould, what=words)
        return mould


def _why(error: DesignError | ValidationError) -> str:
    """What was refused, after what it speaks of where the words do not tell."""
    if isinstance(error, DesignError):
        return _about(error.field, error.message)
    if hasattr(error, "error_dict"):
        said = error.message_dict.items()
        return " ".join(_about(name, message) for name, messages in said for message in messages)
    return " ".join(error.messages)


def _about(name: str, message: str) -> str:
    if name not in _FIELDS:
        return message
    return gettext("%(field)s: %(problem)s") % {"field": _FIELDS[name], "problem": message}
