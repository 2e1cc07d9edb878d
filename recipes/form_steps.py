"""Steps between two looks at the form of a recipe: a row more or less, another way to say the same.

Each takes the fields as they were typed and gives them back changed; nothing is saved.
"""

from __future__ import annotations

from decimal import Decimal

from django.http import QueryDict

from inventory.models import Kind
from recipes.design import LIST_OF, WHOLE
from recipes.formulation import WorkedOut
from recipes.models import LiquidBy, LiquidScope, SizeBy

HUNDREDTH = Decimal("0.01")
STEPS = ("add", "remove", "by_weight", "by_share", "by_liquid", "work_out")

ROW = ("material", "amount", "stage")
FATS = f"{LIST_OF[Kind.FAT]}-amount"


def add_row(data: QueryDict, name: str) -> None:
    """One more empty row at the end of a list."""
    for part in ROW:
        data.appendlist(f"{name}-{part}", "")


def remove_row(data: QueryDict, name: str, index: int) -> None:
    """Without the row of that number, counted from 0; a number that no row has changes nothing."""
    for part in ROW:
        typed = data.getlist(f"{name}-{part}")
        data.setlist(f"{name}-{part}", [value for at, value in enumerate(typed) if at != index])


def to_weights(data: QueryDict, worked_out: WorkedOut) -> None:
    """Each fat by the weight that its share came to."""
    _set_fats(data, [line.grams for line in worked_out.of(Kind.FAT)])
    data["size_by"] = SizeBy.WEIGHTS


def to_shares(data: QueryDict, worked_out: WorkedOut) -> None:
    """Each fat by its share of the weights; the largest takes what rounding leaves."""
    grams = [line.grams for line in worked_out.of(Kind.FAT)]
    total = sum(grams, Decimal(0))
    shares = [(WHOLE * weight / total).quantize(HUNDREDTH) for weight in grams]
    shares[shares.index(max(shares))] += WHOLE - sum(shares, Decimal(0))
    _set_fats(data, shares)
    data["size_by"], data["size_grams"] = SizeBy.FATS, plain(total)


def say_liquid_by(data: QueryDict, method: LiquidBy, worked_out: WorkedOut) -> None:
    """The same liquid, said by another method."""
    made, in_lye = worked_out.formulation, worked_out.design.liquid_scope == LiquidScope.LYE
    water = made.lye_water_grams if in_lye else made.water_grams
    alkali = sum(alkali.grams - alkali.water for alkali in made.alkalis)
    value = {
        LiquidBy.CONCENTRATION: 100 * alkali / (alkali + water),
        LiquidBy.RATIO: water / alkali,
        LiquidBy.OF_FATS: 100 * water / made.fat_grams,
    }[method]
    data["liquid_by"], data["liquid_value"] = method, plain(Decimal(f"{value:.2f}"))


def plain(figure: Decimal) -> str:
    """A figure as one would type it."""
    return f"{figure.normalize():f}"


def _set_fats(data: QueryDict, amounts: list[Decimal]) -> None:
    """Amounts for the rows that hold a fat; empty rows stay empty."""
    left = iter(amounts)
    chosen = data.getlist(f"{LIST_OF[Kind.FAT]}-material")
    data.setlist(FATS, [plain(next(left)) if material else "" for material in chosen])
