"""What to mind when lye is made with more than cold water and dry alkali: what the recipe itself calls for.

The cautions that hold for all lye stand where lye is made, not here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple

from shared.explained import Statement
from shared.heat import solubility
from shared.ingredients import Acid, Alkali
from shared.liquids import Liquid
from shared.lye_estimate import LyeEstimate
from shared.words import Phrase

_COLD_ROOM: Final = 10.0
"""°C of a cold workshop or shed."""
_SOURCED: Final = Phrase("heat of solution against the boiling point of this lye")
_COMMON: Final = Phrase("common practice, no source")
_SOLUBILITY: Final = Phrase("published solubility; 10 °C recalled")


def lye_cautions(
    *,
    estimate: LyeEstimate,
    alkalis: Sequence[Alkali],
    concentration: float,
    for_lye: Iterable[Liquid] = (),
    at_trace: Iterable[Liquid] = (),
    acids: Sequence[Acid] = (),
) -> tuple[Statement, ...]:
    """Cautions for this lye: heat first, then what is in the liquids. ``concentration`` in % m/m."""
    in_lye = tuple(for_lye)
    return (
        *_of_heat(estimate),
        *(said for liquid in in_lye for said in _of_liquid(liquid)),
        *(said for liquid in at_trace for said in _of_sugar(liquid)),
        *_of_acids(acids),
        *_of_solutions(alkalis),
        *_of_cold(alkalis, concentration),
    )


def cook_cautions() -> tuple[Statement, ...]:
    """What to mind while soap is cooked."""
    return (
        Statement(
            Phrase(
                "Batter rises and can boil over while it cooks. Take a pot that it fills to half, "
                "keep the heat low, and stay with it."
            ),
            Phrase("hot process"),
            _COMMON,
        ),
        Statement(
            Phrase(
                "Make sure that the cook is through before fat or fragrance goes in: "
                "until then the batter burns like lye."
            ),
            Phrase("hot process"),
            _COMMON,
        ),
    )


class Additive(NamedTuple):
    """An additive by its share, and its usual share from and to, in % of the fats."""

    name: str
    share: float
    usual: tuple[float, float]


def share_cautions(additives: Iterable[Additive]) -> tuple[Statement, ...]:
    """What of the additives is out of the usual."""
    return tuple(
        Statement(
            Phrase("%(name)s is less than usual.", name=one.name)
            if one.share < one.usual[0]
            else Phrase("%(name)s is more than usual.", name=one.name),
            Phrase(
                "%(share)s %% of the fats; %(low)s to %(high)s %% is usual",
                share=f"{one.share:g}",
                low=f"{one.usual[0]:g}",
                high=f"{one.usual[1]:g}",
            ),
            _COMMON,
        )
        for one in additives
        if not one.usual[0] <= one.share <= one.usual[1]
    )


def _of_heat(estimate: LyeEstimate) -> Iterator[Statement]:
    most = Phrase("%(most)s °C if no heat is lost", most=f"{estimate.most_celsius:.0f}")
    if estimate.boils:
        yield Statement(
            Phrase(
                "This lye can boil and spit. Stand the jug in cold water and add the alkali by the spoonful."
            ),
            most,
            _SOURCED,
        )
    elif estimate.near_boiling:
        yield Statement(
            Phrase(
                "It will not boil if you stir, but grains that cake at the bottom can spit. Add them slowly."
            ),
            most,
            _SOURCED,
        )


def _of_liquid(liquid: Liquid) -> Iterator[Statement]:
    if liquid.alcohol:
        yield Statement(
            Phrase(
                "Boil the alcohol and the bubbles out of %(name)s and let it go cold: otherwise the lye "
                "foams over, and the batter sets at once.",
                name=liquid.name,
            ),
            Phrase("%(grams)s g alcohol in 100 g", grams=f"{liquid.alcohol:.1f}"),
        )
    if liquid.scorches:
        yield Statement(
            Phrase(
                "Hot lye browns %(name)s and makes it smell. Freeze it and add the alkali a little at a "
                "time, or mix the lye with water and add %(name)s at trace.",
                name=liquid.name,
            ),
            Phrase(
                "%(sugar)s g sugar and %(other)s g protein and the like in 100 g",
                sugar=f"{liquid.sugar:.1f}",
                other=f"{liquid.other:.1f}",
            ),
        )
    if liquid.effective_sap:
        yield Statement(
            Phrase(
                "The fat of %(name)s turns to soap in the jug: stir, and strain before pouring.",
                name=liquid.name,
            ),
            Phrase("%(fat)s g fat in 100 g", fat=f"{liquid.fat:.1f}"),
        )
    yield from _of_sugar(liquid)


def _of_sugar(liquid: Liquid) -> Iterator[Statement]:
    if liquid.sugar >= 2:
        yield Statement(
            Phrase(
                "The sugar of %(name)s heats the batter: pour cool and do not wrap the mould.",
                name=liquid.name,
            ),
            Phrase("%(sugar)s g sugar in 100 g", sugar=f"{liquid.sugar:.1f}"),
        )


def _of_acids(acids: Iterable[Acid]) -> Iterator[Statement]:
    for acid in acids:
        yield Statement(
            Phrase(
                "%(acid)s: dissolve it in the liquid before the alkali goes in; never add it to hot lye.",
                acid=Phrase(acid.kind.label),
            ),
            Phrase("acid and lye heat each other"),
        )


def _of_solutions(alkalis: Iterable[Alkali]) -> Iterator[Statement]:
    for alkali in alkalis:
        if alkali.dissolved:
            yield Statement(
                Phrase(
                    "Check that the lye solution is clear, and keep it closed and labelled: it takes up "
                    "carbon dioxide from the air, which makes it weaker."
                ),
                Phrase("%(kind)s comes as a solution", kind=alkali.kind.label),
            )


def _of_cold(alkalis: Iterable[Alkali], concentration: float) -> Iterator[Statement]:
    for kind in dict.fromkeys(alkali.kind for alkali in alkalis):
        limit = solubility(kind, _COLD_ROOM)
        if concentration > limit:
            yield Statement(
                Phrase(
                    "Keep this lye warm: it can crystallise in a cold room, and is weaker for what settles."
                ),
                Phrase("at 10 °C no more than %(limit)s %% stays dissolved", limit=f"{limit:.0f}"),
                _SOLUBILITY,
            )
