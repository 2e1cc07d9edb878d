"""What is said of the fragrances in a bar: what is over a limit, and what is not certain."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from shared.explained import Statement
from shared.fragrance.inputs import Blend
from shared.fragrance.result import FragranceVerdict, SubstanceVerdict
from shared.words import Phrase

_LIMIT: Final = Phrase("certificate of conformity with the IFRA Standards")
_BLEND: Final = Phrase(
    "follows from what a limit means: with a fragrance at its limit, no substance in it is beyond its own"
)


def fragrances_over(fragrances: Iterable[FragranceVerdict]) -> Iterator[Statement]:
    for each in fragrances:
        if each.passes or each.limit is None or each.most is None:
            continue
        if each.limit == 0:
            text = Phrase("%(name)s may not go into soap.", name=each.name)
            because = Phrase("its certificate does not permit it in bar soap")
        else:
            grams = math.floor(each.most * 100) / 100
            text = Phrase(
                "%(name)s is over its limit: at most %(grams)s g of it may go in.",
                name=each.name,
                grams=f"{grams:g}",
            )
            because = Phrase(
                "it is %(share)s %% of the bar, and its certificate allows %(limit)s %%",
                share=_figure(each.share),
                limit=_figure(each.limit),
            )
        yield Statement(text, because, _LIMIT)


def substances_over(substances: Iterable[SubstanceVerdict]) -> Iterator[Statement]:
    for each in substances:
        if not each.passes:
            because = Phrase(
                "%(share)s %% of the bar, brought by %(fragrances)s; the lowest limit stated is %(limit)s %%",
                fragrances=", ".join(each.brought_by),
                share=_figure(each.share),
                limit=_figure(each.limit),
            )
            yield Statement(Phrase("%(substance)s is over its limit.", substance=each.name), because, _LIMIT)


def unstated(fragrances: Iterable[FragranceVerdict]) -> Iterator[Statement]:
    for each in fragrances:
        if each.limit is None and each.grams:
            yield Statement(
                Phrase("Nobody has noted how much %(name)s a bar may hold.", name=each.name),
                Phrase("the limit for bar soap stands on its supplier's certificate"),
                _LIMIT,
            )


def unproven(blend: Blend, fragrances: Iterable[FragranceVerdict]) -> Iterator[Statement]:
    """A blend, each part of which keeps its limit, where what they have in common may still add up.

    A fragrance at its limit holds no restricted substance beyond that substance's own limit. So at share s of
    limit l it brings at most s / l of what is allowed of any, and fragrances whose s / l add up to 1 or less
    keep the limits of all substances, whatever is in them. Above 1 only the lists of restricted substances
    can tell, and where each certificate has one, their sums decide.
    """
    used_up = blend.limited
    listed = all(any(part.limit is not None for part in each.substances) for each in used_up)
    together = sum(used_up.values())
    if len(used_up) < 2 or listed or together <= 100 or not all(each.passes for each in fragrances):
        return
    text = Phrase(
        "Each fragrance keeps its own limit, but that does not prove the blend: what is restricted in them "
        "may add up. Ask the supplier which substances are, or use less."
    )
    because = Phrase(
        "they use up %(used)s %% of their limits together; up to 100 %% keep them whatever is in the blend",
        used=math.ceil(together),
    )
    yield Statement(text, because, _BLEND)


def _figure(share: float) -> str:
    return f"{share:.4g}"
