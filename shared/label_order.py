"""Ingredients in the order of their weight, as put in and as sold, and how much of one a label may claim.

Weights are grams, shares per cent. What a region's law wants of the list is not decided here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from shared.contents import Contents
from shared.finished_bar import Amount, FinishedBar, inci_of, some
from shared.liquids import WATER
from shared.words import Phrase

AQUA: Final = "Aqua"


def as_put_in(contents: Contents) -> tuple[Amount, ...]:
    """What was weighed, the most first; the same INCI name once. A lye solution as its alkali and water."""
    amounts = [Amount(part.fat.name, part.fat.grams, part.names.fat) for part in contents.all_fats]
    for alkali in contents.alkalis:
        amounts.append(Amount(alkali.kind.label, alkali.grams - alkali.water, inci_of(alkali.kind)))
        amounts.append(Amount(WATER.name, alkali.water, AQUA))
    for acid in contents.acids:
        pure = acid.grams * acid.percent / 100
        name = acid.kind.label.split(",")[0].removesuffix(" monohydrate")
        amounts.append(Amount(acid.kind.label, pure, name.title()))
        amounts.append(Amount(WATER.name, acid.grams - pure, AQUA))
    amounts += [Amount(part.liquid.name, part.grams, part.inci_name) for part in contents.liquids]
    amounts += [Amount(extra.name, extra.grams, extra.inci_name) for extra in contents.extras]
    return _by_weight(amounts)


def as_sold(bar: FinishedBar) -> tuple[Amount, ...]:
    """What the cured bar holds, the most first; the same INCI name once.

    A soap without a known name is called after its fat and has no INCI name. Unsaponifiable matter is a part
    of the fats and has none.
    """
    soaps = [
        Amount(
            Phrase("%(metal)s soap of %(fat)s", metal=soap.alkali.metal_name, fat=soap.fat.fat.name),
            soap.grams,
            soap.fat.names.soap(soap.alkali),
        )
        for soap in bar.soaps
    ]
    others = [
        Amount(Phrase("Glycerin"), bar.glycerin, "Glycerin"),
        Amount(WATER.name, bar.water_left, AQUA),
        Amount(Phrase("Unsaponifiable matter"), bar.unsaponifiable),
    ]
    return _by_weight([*soaps, *others, *bar.unsaponified, *bar.salts, *bar.free_alkali, *bar.rest])


def _by_weight(amounts: Iterable[Amount]) -> tuple[Amount, ...]:
    merged: dict[str, Amount] = {}
    for amount in some(*amounts):
        key = amount.inci_name or amount.name
        before = merged.get(key)
        merged[key] = replace(before, grams=before.grams + amount.grams) if before else amount
    return tuple(sorted(merged.values(), key=lambda amount: -amount.grams))


@dataclass(frozen=True, slots=True)
class Claim:
    """How much of one ingredient there is, in %: of the fats (None for what is no fat), of all that was put
    in, and against the weight of the cured bar."""

    name: str
    of_fats: float | None
    of_all: float
    of_bar: float


def claims(contents: Contents, bar: FinishedBar) -> tuple[Claim, ...]:
    """What 'made with 30 % olive oil' may mean, for each fat, liquid and extra.

    ``of_bar`` is the weight put in against the cured bar, as for a food that lost water: more than 100 %
    of water can be meant, and what became soap is counted as it was put in.
    """
    fats = sum(part.fat.grams for part in contents.all_fats)
    rows: list[tuple[str, float, float | None]] = [
        (part.fat.name, part.fat.grams, 100 * part.fat.grams / fats) for part in contents.all_fats
    ]
    rows += [(part.liquid.name, part.grams, None) for part in contents.liquids]
    rows += [(extra.name, extra.grams, None) for extra in contents.extras]
    return tuple(
        Claim(name, of_fats, 100 * grams / contents.grams, bar.share(grams)) for name, grams, of_fats in rows
    )
