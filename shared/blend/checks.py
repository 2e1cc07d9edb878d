"""Keeping nonsense out of a wish."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from shared.blend.acids import Group
from shared.blend.wish import HIGHEST, BlendError, Candidate, Goal, Kind, Limit, Side, Wish
from shared.fats import fatty_acids
from shared.formula import WAX_ALONE
from shared.ingredients import HIGHEST_SAP, LOWEST_SAP, MAX_GRAMS, MIN_GRAMS
from shared.words import Phrase

MOST_FATS = 1000
MOST_LIMITS = 1000
FULL_PROFILE = 102.0
"""Per cent that a profile may add up to: published ones are rounded."""
HALF_A_POINT = 0.5
FINEST_STEP = 0.01
_SHORT = 60
"""Letters of an unknown name that a message repeats."""

_ONE_SIDED = {Kind.MOVED: Side.AT_MOST, Kind.COUNT: Side.AT_MOST, Kind.SMALLEST: Side.AT_LEAST}


def check(wish: Wish) -> None:
    """Raise BlendError unless every figure of the wish makes sense by itself."""
    check_fats(wish.fats)
    if all(fat.wax for fat in wish.fats):
        raise BlendError("fats", WAX_ALONE)
    if len(wish.limits) > MOST_LIMITS:
        raise BlendError("limits", Phrase("That is more than %(most)s limits.", most=MOST_LIMITS))
    names = {fat.name for fat in wish.fats}
    for limit in wish.limits:
        _check_limit(limit, names)
    _check_aim(wish)
    if wish.batch_grams is not None:
        check_grams("batch_grams", Phrase("The batch"), wish.batch_grams)
    if wish.recipe:
        check_recipe(wish.recipe)
    check_step(wish.step)
    _check_number("near", Phrase("How near an alternative must come"), wish.near, 0, 100)
    _check_number("apart", Phrase("How far alternatives lie apart"), wish.apart, 0.1, 100)
    _check_number("most", Phrase("The number of alternatives"), wish.most, 0, 20)


def check_fats(fats: Sequence[Candidate]) -> None:
    """Raise BlendError unless there are fats, each named once, with figures that can be."""
    if not fats:
        raise BlendError("fats", Phrase("Choose at least one fat."))
    if len(fats) > MOST_FATS:
        raise BlendError("fats", Phrase("That is more than %(most)s fats.", most=MOST_FATS))
    seen = set()
    for fat in fats:
        if fat.name in seen or not fat.name:
            raise BlendError(
                "fats", Phrase("Each fat needs a name of its own; “%(name)s” is none.", name=fat.name)
            )
        seen.add(fat.name)
        check_fat(fat)


def check_fat(fat: Candidate) -> None:
    """Raise BlendError unless each figure of this fat can be."""
    figures = (
        (Phrase("%(name)s: the iodine value", name=fat.name), fat.iodine, 0.0, HIGHEST[Kind.IODINE]),
        (Phrase("%(name)s: the saponification value", name=fat.name), fat.sap, LOWEST_SAP, HIGHEST_SAP),
        (Phrase("%(name)s: the price", name=fat.name), fat.price, 0.0, HIGHEST[Kind.COST]),
        (Phrase("%(name)s: the weight on hand", name=fat.name), fat.on_hand, 0.0, HIGHEST[Kind.STOCK]),
        (
            Phrase("%(name)s: the weight that goes off soon", name=fat.name),
            fat.expiring,
            0.0,
            HIGHEST[Kind.STOCK],
        ),
    )
    for what, value, low, high in figures:
        if value is not None:
            _check_number("fats", what, value, low, high)
    check_profile("fats", fat.profile)


def check_profile(field: str, profile: Mapping[str, float]) -> None:
    """Raise BlendError unless the acids are known and add up to a whole at most."""
    for acid, percent in profile.items():
        if acid not in fatty_acids():
            raise BlendError(
                field, Phrase("%(acid)s is none of the fatty acids known here.", acid=acid[:_SHORT])
            )
        _check_number(field, Phrase("The share of %(name)s", name=acid), percent, 0, 100)
    total = sum(profile.values())
    if total > FULL_PROFILE:
        raise BlendError(field, Phrase("The fatty acids add up to %(total)s %%.", total=f"{total:.1f}"))


def check_recipe(recipe: Mapping[str, float]) -> None:
    """Raise BlendError unless the shares of a recipe's fats add up to 100 %."""
    check_shares("recipe", recipe)
    total = sum(recipe.values())
    if abs(total - 100) > HALF_A_POINT:
        raise BlendError(
            "recipe",
            Phrase("The fats of the recipe add up to %(total)s %%, not to 100 %%.", total=f"{total:.1f}"),
        )


def check_shares(field: str, shares: Mapping[str, float]) -> None:
    for name, share in shares.items():
        _check_number(field, Phrase("The share of %(name)s", name=name), share, 0, 100)


def check_grams(field: str, what: str, grams: float) -> None:
    _check_number(field, what, grams, MIN_GRAMS, MAX_GRAMS, " g")


def check_step(step: float) -> None:
    """Raise BlendError unless shares can be given in this step: a whole number of them makes 100 %."""
    _check_number("step", Phrase("The step of the shares"), step, FINEST_STEP, 25, " %")
    if abs(100 / step - round(100 / step)) > 1e-6:
        raise BlendError("step", Phrase("Steps of %(step)s %% do not add up to 100 %%.", step=f"{step:g}"))


def _check_number(field: str, what: str, value: float, low: float, high: float, unit: str = "") -> None:
    if not low <= value <= high:
        ends = {"low": f"{low:g}", "high": f"{high:g}{unit}"}
        raise BlendError(field, Phrase("%(what)s must lie between %(low)s and %(high)s.", what=what, **ends))


def _check_limit(limit: Limit, names: Iterable[str]) -> None:
    if limit.kind is Kind.STOCK:
        raise BlendError("limits", Phrase("What is on hand belongs to the fat."))
    known = {Kind.GROUP: tuple(Group), Kind.ACID: fatty_acids(), Kind.FAT: names}.get(limit.kind, ("",))
    if limit.of not in known:
        raise BlendError("limits", Phrase("There is no “%(name)s” here to limit.", name=limit.of[:_SHORT]))
    if limit.side is not _ONE_SIDED.get(limit.kind, limit.side):
        raise BlendError("limits", Phrase("A limit of this kind can only be set on its other side."))
    lowest = 1 if limit.kind is Kind.COUNT else 0
    _check_number(
        "limits", Phrase("The limit “%(limit)s”", limit=limit.words), limit.value, lowest, HIGHEST[limit.kind]
    )
    if limit.kind is Kind.COUNT and limit.value % 1:
        raise BlendError("limits", Phrase("The number of fats must be a whole number."))


def _check_aim(wish: Wish) -> None:
    if wish.aim.goal is Goal.PROFILE:
        _check_target(wish.aim.target)
    if wish.aim.goal is Goal.EXPIRING and wish.batch_grams is None:
        raise BlendError("batch_grams", Phrase("To use up what goes off soon, say how large the batch is."))
    if wish.aim.goal is Goal.EXPIRING and not any(fat.expiring for fat in wish.fats):
        raise BlendError("aim", Phrase("Nothing among these fats goes off soon."))
    moved = wish.aim.goal is Goal.RECIPE or any(limit.kind is Kind.MOVED for limit in wish.limits)
    if moved and not wish.recipe:
        raise BlendError("recipe", Phrase("Say which recipe to keep near to."))


def _check_target(target: Mapping[str, float]) -> None:
    if not target:
        raise BlendError("aim", Phrase("Say which profile to come near to."))
    for part, percent in target.items():
        if part not in tuple(Group) and part not in fatty_acids():
            raise BlendError(
                "aim", Phrase("%(acid)s is none of the fatty acids known here.", acid=part[:_SHORT])
            )
        _check_number("aim", Phrase("The share of %(name)s", name=part), percent, 0, 100)
