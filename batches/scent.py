"""The fragrances that really went into a batch, held against the limits of their certificates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from django.utils.translation import gettext

from batches.frozen import FrozenRecipe
from batches.models import Line
from batches.splitting import JugCard, Splitting, batter_of, weighed
from inventory.models import Certificate, Kind, Material
from inventory.queries.made import shares
from recipes.models import Destination, Stage
from recipes.scent import certified_of
from shared.cross_section import Technique
from shared.fragrance import Dose, Verdict, assess
from shared.scented import Bar, Scented, mean_bar, strongest_bar
from soapshop.core.templatetags.soapshop import number
from soapshop.core.words import in_words

Certificates = Mapping[int, Certificate]


def over_limit(
    frozen: FrozenRecipe,
    lines: Sequence[Line],
    splitting: Splitting | None,
    certificates: Certificates,
    *,
    cut_across: bool,
) -> str:
    """Why bars of what was weighed may not be sold, in words; empty where they may.

    `lines` with their materials and weighings fetched, `certificates` by material id.
    """
    verdicts = [
        assess(bar.doses, bar.grams)
        for bar in _bars(frozen, lines, splitting, certificates, cut_across=cut_across)
        if bar.doses
    ]
    refused = dict.fromkeys(one for verdict in verdicts for one in verdict.refusals)
    words = [f"{in_words(one.text)} ({in_words(one.because)})" for one in refused]
    return " ".join([*words, *dict.fromkeys(_most(verdicts))]) if refused else ""


def portions_of(
    frozen: FrozenRecipe, lines: Sequence[Line], splitting: Splitting | None, certificates: Certificates
) -> list[tuple[Destination, Scented]]:
    """What is in each jug by where it goes, in grams of cured soap; a batter that is not split is one."""
    left, batter = _left(frozen, lines), float(batter_of(lines))
    common = [_dose(material, grams, certificates) for material, grams in scented_with(lines)]
    if splitting is None:
        return [(Destination.MOULD, Scented("", batter * left, tuple(common)))]
    return [
        (Destination(card.jug.destination), _portion(card, left, _share(common, card, batter), certificates))
        for card in splitting.cards
        if card.jug.grams
    ]


def scented_with(lines: Iterable[Line]) -> list[tuple[Material, Decimal]]:
    """Fragrances that went into the whole batter with their grams, those within batter kept back too.

    `lines` with their weighings and the weighings' lots fetched. No queries without such batter.
    """
    lines = [line for line in lines if line.stage != Stage.JUG]
    own = [(one.material, weighed(one.weighings.all())) for one in lines if one.kind == Kind.FRAGRANCE]
    kept_back = [one for line in lines if line.kind == Kind.BATTER for one in line.weighings.all()]
    within = shares((one.lot, one.quantity) for one in kept_back) if kept_back else []
    return own + [(lot.material, grams) for lot, grams in within if lot.material.kind == Kind.FRAGRANCE]


def _bars(
    frozen: FrozenRecipe,
    lines: Sequence[Line],
    splitting: Splitting | None,
    certificates: Certificates,
    *,
    cut_across: bool,
) -> Iterable[Bar]:
    portions = portions_of(frozen, lines, splitting, certificates)
    here = [one for destination, one in portions if destination == Destination.MOULD]
    if here:
        yield strongest_bar(here, cut_across=cut_across)
    yield from (mean_bar([one]) for destination, one in portions if destination != Destination.MOULD)


def _left(frozen: FrozenRecipe, lines: Sequence[Line]) -> float:
    """What the cure leaves of a gram of batter; where nobody kept that, all its liquid is taken to leave."""
    if frozen.cured_share is not None:
        return frozen.cured_share
    liquid = sum(float(weighed(line.weighings.all())) for line in lines if line.kind == Kind.LIQUID)
    return 1 - liquid / max(float(batter_of(lines)), 1.0)


def _dose(material: Material, grams: Decimal, certificates: Certificates) -> Dose:
    return Dose(certified_of(material, certificates.get(material.pk)), float(grams))


def _share(common: Iterable[Dose], card: JugCard, batter: float) -> tuple[Dose, ...]:
    """What of the fragrances in the whole batter is in a jug."""
    part = float(card.jug.grams or 0) / batter
    return tuple(Dose(dose.certified, dose.grams * part) for dose in common)


def _portion(card: JugCard, left: float, common: tuple[Dose, ...], certificates: Certificates) -> Scented:
    stirred_in = sum((stir.weighed for stir in card.stir), Decimal(0))
    return Scented(
        card.jug.name,
        float(card.jug.grams or 0) * left + float(stirred_in),
        common
        + tuple(
            _dose(stir.line.material, stir.weighed, certificates)
            for stir in card.stir
            if stir.line.kind == Kind.FRAGRANCE
        ),
        Technique(card.portion.technique) if card.portion else Technique.LAYER,
    )


def _most(verdicts: Iterable[Verdict]) -> Iterable[str]:
    """How much of each fragrance that is over would pass."""
    for verdict in verdicts:
        for one in verdict.fragrances:
            if one.most is not None and one.grams > one.most:
                words = gettext("At most %(most)s g of %(name)s passes, not %(grams)s g.")
                figures = {"name": one.name, "most": number(one.most, 1), "grams": number(one.grams, 1)}
                yield words % figures
