"""What the workshop's own batches have taught: how dense a batter is, how brown vanillin turns a bar, how
fragrances behave, and what came of a version."""

from __future__ import annotations

from inventory.models import Behaviour, Kind
from inventory.queries import misbehaved
from recipes.design import Mould
from recipes.models import Browned, Outcome, Recipe, Version
from recipes.queries.moulds import densities
from recipes.worked_out import WorkedOut
from shared import browning


def densities_of(mould: Mould | None, recipe: Recipe | None) -> tuple[float, ...]:
    """Of earlier pours into that mould, in g/mL: of the recipe, else of any. One query for a kept mould."""
    return densities(mould.kept, recipe) if mould and mould.kept else ()


def taught() -> list[browning.Browned]:
    """The settled colours of all batches that were measured. One query."""
    rows = Browned.objects.values_list("batch", "vanillin", "darkening")
    return [browning.Browned(batch, float(vanillin), float(darkening)) for batch, vanillin, darkening in rows]


def bad_news(worked_out: WorkedOut) -> tuple[Behaviour, ...]:
    """How its fragrances have behaved, as far as they did not behave well. One query where there are any."""
    return misbehaved([line.material.pk for line in worked_out.of(Kind.FRAGRANCE)])


def outcomes(version: Version) -> tuple[Outcome, ...]:
    """What came of a version and of the one before it, the latest first. One query."""
    near = (version.number - 1, version.number)
    found = Outcome.objects.filter(version__recipe=version.recipe_id, version__number__in=near)
    return tuple(found.select_related("version", "photo", "by"))
