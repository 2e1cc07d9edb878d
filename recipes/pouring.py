"""What is to be known of a design before it is poured: what of it goes into which jug, how high it stands in
its mould, and which layers will not stay apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from django.utils.translation import gettext

from recipes.explain.portions import ToldJug, explain_jugs
from recipes.formulation import WorkedOut
from recipes.models import Trace
from recipes.portions import PortionDesign
from recipes.said import Said
from shared.cross_section.design import bands_of
from shared.explained import COMMON_PRACTICE
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import number
from soapshop.core.words import in_words

THIN = (Trace.EMULSION, Trace.LIGHT)
HALF_A_MILLIMETRE = 0.5


@dataclass(frozen=True, slots=True)
class Pouring:
    """The jugs, what to mind, and in words how high it stands: none without a mould, or if it runs over."""

    jugs: tuple[ToldJug, ...]
    cautions: tuple[Said, ...]
    stands: str


def pouring_of(worked_out: WorkedOut, workshop: Workshop) -> Pouring:
    """What is to be known before it is poured."""
    over = tuple(_over_the_brim(worked_out))
    cautions = (*over, *_mixing(worked_out))
    return Pouring(explain_jugs(worked_out, workshop), cautions, "" if over else _stands(worked_out))


def _over_the_brim(worked_out: WorkedOut) -> Iterator[Said]:
    mould, stands = worked_out.design.mould, worked_out.stands_mm
    if mould is None or mould.kept is None or stands is None:
        return
    depth = mould.vessel.depth_mm
    if stands > depth + HALF_A_MILLIMETRE:
        text = gettext("It runs over: it would stand %(height)s mm high in %(mould)s, %(depth)s mm deep.")
        figures = {"height": number(stands), "mould": mould.kept, "depth": number(depth)}
        words = gettext("%(spare)s mL too much at a density of %(density)s g/mL")
        because = {
            "spare": number(mould.vessel.volume_at(stands - depth) * worked_out.scale),
            "density": number(worked_out.density.mean, 2),
        }
        yield Said(text % figures, words % because, in_words(worked_out.density.source.because))


def _stands(worked_out: WorkedOut) -> str:
    mould, stands = worked_out.design.mould, worked_out.stands_mm
    if mould is None or stands is None:
        return ""
    if mould.kept is None:
        return gettext("It stands %(height)s mm high in the mould.") % {"height": number(stands)}
    words = gettext("It stands %(height)s mm high in %(mould)s, %(depth)s mm deep.")
    figures = {"height": number(stands), "mould": mould.kept, "depth": number(mould.vessel.depth_mm)}
    return words % figures


def _mixing(worked_out: WorkedOut) -> Iterator[Said]:
    """Layers that are to lie on each other, one of them poured thin."""
    jugs = worked_out.split.jugs if worked_out.split else ()
    bands = bands_of([jug.design for jug in jugs if jug.in_mould])
    for lower, upper in pairwise(bands):
        thin = next((one for one in (upper[0], *lower) if one.trace in THIN), None)
        if thin:
            yield _mixes(lower[0], upper[0], thin)


def _mixes(lower: PortionDesign, upper: PortionDesign, thin: PortionDesign) -> Said:
    words = gettext("%(upper)s is to lie on %(lower)s, but with %(thin)s poured at %(trace)s the two mix.")
    figures = {
        "upper": upper.name,
        "lower": lower.name,
        "thin": thin.name,
        "trace": str(thin.trace.label).lower(),
    }
    because = gettext("A layer needs a batter thick enough to bear the next.")
    return Said(words % figures, because, in_words(COMMON_PRACTICE))
