"""The fragrances of a design in its bars: against the limits of their certificates, and how brown they turn.

No queries: certificates and what the workshop's own bars have taught are handed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal

from django.utils.translation import gettext

from inventory.models import Certificate, Kind, Material
from recipes.contents import contents_of
from recipes.design import Mould
from recipes.formulation import WorkedOut
from recipes.models import Destination, Stage
from recipes.portions import PortionDesign
from recipes.said import Said, said
from recipes.splitting import Jug
from shared.browning import Browned, Forecast, Fragrance, bleeding, forecast, vanillin_in_bar
from shared.explained import Statement
from shared.finished_bar import finish
from shared.fragrance import Certified, Dose, Verdict, assess
from shared.scented import Bar, Scented, mean_bar, strongest_bar
from soapshop.core.words import in_words, with_decimal_sign

HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Browning:
    """How brown a portion turns; None where the vanillin of what scents it is not known."""

    name: str
    vanillin: float | None
    forecast: Forecast | None


@dataclass(frozen=True, slots=True)
class Scent:
    """The mean bar and the strongest, and what is poured elsewhere, each with its verdict.

    `of_fats` is how much fragrance the recipe says, in % of the fats; None where portions have figures of
    their own. `factor` is by how much all of it may at most be multiplied; None where nothing limits it.
    """

    mean: Verdict
    strongest: Verdict
    strongest_of: str
    elsewhere: tuple[tuple[str, Verdict], ...]
    browning: tuple[Browning, ...]
    bleeding: tuple[Statement, ...]
    of_fats: Decimal | None
    factor: float | None

    @property
    def refusals(self) -> tuple[Statement, ...]:
        """Why bars of it may not be made; empty where they may."""
        refusals = (one for verdict in self._verdicts for one in verdict.refusals)
        return tuple(dict.fromkeys(refusals))

    @property
    def told_watches(self) -> tuple[Said, ...]:
        """What is not certain of the bars."""
        watches = (one for verdict in self._verdicts for one in verdict.watches)
        return tuple(said(one) for one in dict.fromkeys(watches))

    @property
    def allergens_named(self) -> tuple[str, ...]:
        """Those that a label of one of the bars has to name."""
        named = (one.name for verdict in self._verdicts for one in verdict.allergens if one.named)
        return tuple(dict.fromkeys(named))

    @property
    def _verdicts(self) -> tuple[Verdict, ...]:
        return (self.strongest, self.mean, *(verdict for _, verdict in self.elsewhere))

    @property
    def is_browning_unknown(self) -> bool:
        """Whether there is anything of which nobody can tell how brown it turns."""
        return any(one.forecast is None for one in self.browning)

    @property
    def browning_unknown(self) -> str:
        """The names of those portions; empty for a batter that is not split."""
        return ", ".join(one.name for one in self.browning if one.forecast is None)

    @property
    def refused_words(self) -> str:
        """The refusals, and the figure that would pass; empty where it passes."""
        if not self.refusals:
            return ""
        told = [f"{in_words(one.text)} ({in_words(one.because)})" for one in self.refusals]
        return with_decimal_sign(" ".join(filter(None, [*told, self._passes_with])))

    @property
    def passing(self) -> Decimal | None:
        """The most fragrance in % of the fats that would pass; None where nothing limits it, or no one
        figure says how much there is.
        """
        if self.of_fats is None or self.factor is None:
            return None
        return _floor(self.of_fats * Decimal(str(self.factor)))

    @property
    def _passes_with(self) -> str:
        if self.of_fats is not None and self.passing:
            words = gettext("It passes with %(most)s %% of the fats instead of %(now)s %%.")
            return words % {"most": _figure(self.passing), "now": _figure(self.of_fats)}
        if self.of_fats is None and self.factor:
            words = gettext("It passes with %(share)s %% of the fragrance that each portion has now.")
            return words % {"share": _figure(_floor(100 * Decimal(str(self.factor))))}
        return ""


def scent_of(
    worked_out: WorkedOut, certificates: Mapping[int, Certificate], taught: Iterable[Browned] = ()
) -> Scent | None:
    """What is found of the fragrances; None where there are none. `certificates` are by material id."""
    if not worked_out.of(Kind.FRAGRANCE):
        return None
    portions = _portions(worked_out, certificates)
    here = [one for destination, one in portions if destination == Destination.MOULD]
    away = [one for destination, one in portions if destination != Destination.MOULD]
    here = here or away
    strongest = strongest_bar(here, cut_across=_cut_across(worked_out.design.mould))
    verdicts = [_assessed(strongest), *(_assessed(mean_bar([one])) for one in away)]
    browning = _browning([one for _, one in portions], list(taught))
    return Scent(
        mean=_assessed(mean_bar(here)),
        strongest=verdicts[0],
        strongest_of=", ".join(filter(None, strongest.names)),
        elsewhere=tuple((one.name, verdict) for one, verdict in zip(away, verdicts[1:], strict=True)),
        browning=browning,
        bleeding=_bleeding(browning, {one.name for one in here}),
        of_fats=_said(worked_out),
        factor=min((one.factor for one in verdicts if one.factor is not None), default=None),
    )


def cured_share(worked_out: WorkedOut) -> float:
    """What is left of a gram of batter after the cure, as if fragrance and what is stirred into portions held
    no water: then the rest of a bar weighs the same, however much fragrance there is.
    """
    soap = [line for line in worked_out.lines if line.kind != Kind.FRAGRANCE and line.part.stage != Stage.JUG]
    cured = finish(contents_of(replace(worked_out, lines=tuple(soap)))).cured
    if worked_out.split is not None:
        return cured / float(worked_out.split.batter)
    fragrance = sum(line.grams for line in worked_out.of(Kind.FRAGRANCE))
    return (cured + float(fragrance)) / float(worked_out.batter_grams)


def _portions(
    worked_out: WorkedOut, certificates: Mapping[int, Certificate]
) -> list[tuple[Destination, Scented]]:
    """Each portion by where it goes, in grams of cured soap; a batter that is not split is one of them."""
    left = cured_share(worked_out)
    if worked_out.split is None:
        doses = ((line.material, line.grams) for line in worked_out.of(Kind.FRAGRANCE))
        whole = Scented("", float(worked_out.batter_grams) * left, _doses(doses, certificates))
        return [(Destination.MOULD, whole)]
    return [(jug.design.destination, _portion(jug, left, certificates)) for jug in worked_out.split.jugs]


def _portion(jug: Jug, left: float, certificates: Mapping[int, Certificate]) -> Scented:
    """`left` is how much of a gram of batter the cure leaves; what was stirred in stays."""
    stirred_in = float(jug.grams - jug.batter)
    doses = ((one.material, one.grams) for one in jug.of(Kind.FRAGRANCE))
    return Scented(
        jug.design.name,
        float(jug.batter) * left + stirred_in,
        _doses(doses, certificates),
        jug.design.technique,
    )


def _doses(
    fragrances: Iterable[tuple[Material, Decimal]], certificates: Mapping[int, Certificate]
) -> tuple[Dose, ...]:
    return tuple(
        Dose(certified_of(material, certificates.get(material.pk)), float(grams))
        for material, grams in fragrances
    )


def certified_of(material: Material, certificate: Certificate | None) -> Certified:
    """What is certified of a fragrance; its name alone where nothing is."""
    return certificate.certified if certificate else Certified(material.name)


def _cut_across(mould: Mould | None) -> bool:
    kept = mould.kept if mould else None
    return kept is None or kept.is_cut_across


def _assessed(bar: Bar) -> Verdict:
    return assess(bar.doses, bar.grams)


def _said(worked_out: WorkedOut) -> Decimal | None:
    """How much fragrance the recipe says, in % of the fats; None where portions have figures of their own."""
    design = worked_out.design
    if any(portion.fragrance or _has_scent(portion) for portion in design.portions):
        return None
    return sum((part.amount for part in design.of(Kind.FRAGRANCE)), Decimal(0))


def _has_scent(portion: PortionDesign) -> bool:
    return any(into.material.kind == Kind.FRAGRANCE for into in portion.additions)


def _figure(per_cent: Decimal) -> str:
    return f"{per_cent.normalize():f}"


def _floor(per_cent: Decimal) -> Decimal:
    return per_cent.quantize(HUNDREDTH, ROUND_DOWN)


def _browning(portions: Iterable[Scented], taught: list[Browned]) -> tuple[Browning, ...]:
    return tuple(_browned(portion, taught) for portion in portions)


def _browned(portion: Scented, taught: list[Browned]) -> Browning:
    if any(dose.certified.vanillin is None for dose in portion.doses):
        return Browning(portion.name, None, None)
    vanillin = vanillin_in_bar(
        Fragrance(dose.certified.vanillin or 0.0, 100 * dose.grams / portion.grams) for dose in portion.doses
    )
    return Browning(portion.name, vanillin, forecast(vanillin, taught))


def _bleeding(browning: Iterable[Browning], together: set[str]) -> tuple[Statement, ...]:
    known = {one.name: one.forecast for one in browning if one.forecast and one.name in together}
    return bleeding(known)
