"""The words by which recipes are found again."""

from __future__ import annotations

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext

from recipes.models import Recipe, Tag
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

MOST_TAGS = 12


def set_tags(*, recipe: Recipe, names: Iterable[str], by: User) -> None:
    """Give a recipe these tags and no others; a tag that no recipe has any more is gone.

    A tag that is there already keeps its spelling, whatever its case. Raises ValidationError for `tags`.
    """
    require_maker(by)
    wanted = _once_each(names)
    if len(wanted) > MOST_TAGS:
        words = gettext("A recipe has up to %(most)d tags; these are %(tags)d.")
        raise ValidationError({"tags": words % {"most": MOST_TAGS, "tags": len(wanted)}})
    for name in wanted:
        _check(name)
    with transaction.atomic():
        # All of them, so that none is thrown away while somebody else is giving it to a recipe.
        list(Tag.objects.select_for_update().order_by("pk"))
        tags = [_tag(name) for name in wanted]
        if set(tags) == set(recipe.tags.all()):
            return
        recipe.tags.set(tags)
        Tag.objects.filter(recipes=None).delete()
        record(by=by, subject=recipe, what=_told(recipe, tags))


def _once_each(names: Iterable[str]) -> list[str]:
    """Without blanks around them, and without those that differ in case only."""
    found: dict[str, str] = {}
    for name in names:
        plain = " ".join(name.split())
        if plain:
            found.setdefault(plain.lower(), plain)
    return list(found.values())


def _check(name: str) -> None:
    try:
        Tag(name=name).clean_fields()
    except ValidationError as error:
        words = gettext("“%(tag)s…” is too long: a tag has up to 30 characters.") % {"tag": name[:20]}
        raise ValidationError({"tags": words}) from error


def _tag(name: str) -> Tag:
    return Tag.objects.get_or_create(name__iexact=name, defaults={"name": name})[0]


def _told(recipe: Recipe, tags: list[Tag]) -> str:
    if not tags:
        return gettext("took all tags from %(name)s") % {"name": recipe.name}
    words = gettext("tagged %(name)s: %(tags)s")
    return words % {"name": recipe.name, "tags": ", ".join(str(tag) for tag in tags)}
