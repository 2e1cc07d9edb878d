"""The fatty acids of a blend as a picture of their groups, one by one, and its iodine value."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext

from inventory.models import Kind
from recipes.depth.strip import Share, Strip, lay_out
from recipes.depth.told import opened, share
from recipes.explain import Entry, Explanation
from recipes.formulation import WorkedOut
from shared.blend.acids import Group, group_shares, profile_of
from shared.fats import FatReference, fatty_acids
from shared.profile import Blend
from soapshop.core.templatetags.soapshop import percent, trimmed
from soapshop.core.words import in_words

# The firmer the acids are, the denser they are drawn.
FILLS = {
    Group.SHORT_SATURATED: "solid",
    Group.LONG_SATURATED: "cross",
    Group.OLEIC: "lines",
    Group.RICINOLEIC: "dots",
    Group.POLYUNSATURATED: "open",
}

LEAST_SHOWN = 0.05  # per cent; less would be shown as nothing


@dataclass(frozen=True, slots=True)
class Acid:
    """A fatty acid by its trade name and shorthand, with its share of all in words."""

    name: str
    shorthand: str
    share: str


@dataclass(frozen=True, slots=True)
class FattyAcids:
    """`unknown` names fats whose acids are not published, which are `unknown_share` of the fats by weight.

    `iodine` is None where the value of one of the fats is not known.
    """

    strip: Strip
    acids: tuple[Acid, ...]
    unknown: tuple[str, ...]
    unknown_share: str
    iodine: Explanation | None


def fatty_acids_of(worked_out: WorkedOut, blend: Blend) -> FattyAcids:
    iodine = blend.explain_iodine()
    shares = (_share(worked_out, group, per_cent) for group, per_cent in blend.groups.items())
    return FattyAcids(
        strip=lay_out(shares),
        acids=tuple(_acid(acid, per_cent) for acid, per_cent in _most_first(blend)),
        unknown=blend.unknown,
        unknown_share=share(blend.unknown_share),
        iodine=opened(iodine) if iodine else None,
    )


def _most_first(blend: Blend) -> list[tuple[str, float]]:
    shown = ((acid, per_cent) for acid, per_cent in blend.acids.items() if per_cent >= LEAST_SHOWN)
    return sorted(shown, key=lambda one: -one[1])


def _acid(acid: str, per_cent: float) -> Acid:
    return Acid(in_words(fatty_acids()[acid].name), acid, percent(per_cent, 1))


def _share(worked_out: WorkedOut, group: Group, per_cent: float) -> Share:
    how = Explanation(
        name=in_words(group.label).capitalize(),
        figure=share(per_cent),
        formula=gettext(
            "What each fat holds of them, by the weight of the fats whose fatty acids are published. That a "
            "gram of one fat holds a little more fatty acid than a gram of another is left out."
        ),
        entries=tuple(_entries(worked_out, group)),
        source=gettext(
            "Typical composition of each fat, else the middle of the published range; not measured. The "
            "division into groups is common practice, no source."
        ),
    )
    return Share(per_cent, FILLS[group], how)


def _entries(worked_out: WorkedOut, group: Group) -> Iterator[Entry]:
    """The fats that bring acids of the group, with how much of the fat they are."""
    for line in worked_out.of(Kind.FAT):
        reference = line.material.published
        held = group_shares(profile_of(reference))[group] if reference else 0.0
        if reference and held:
            figure = gettext("%(share)s of %(weight)s g")
            figure %= {"share": percent(held, 1), "weight": trimmed(line.grams)}
            yield Entry(line.material.name, figure, _source(reference))


def _source(reference: FatReference) -> str:
    if not reference.sources:
        return gettext("as entered in the stockroom")
    wanted = "typical fatty acids" if reference.typical else "range of fatty acids"
    return next((source.source for source in reference.sources if source.what == wanted), "")
