"""The finished bar: what it holds, drawn to scale, what may be claimed of it, and its list of ingredients."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from inventory.models import Kind, Material
from recipes.contents import contents_of, inci_name, is_known
from recipes.depth.strip import Share, Strip, lay_out
from recipes.depth.told import grams, opened, share
from recipes.explain import Entry, Explanation
from recipes.formulation import WorkedOut
from shared.finished_bar import Amount, FinishedBar, finish
from shared.finished_figures import explain_fatty_matter, explain_glycerin, explain_water
from shared.label_order import as_put_in, as_sold, claims
from soapshop.core.templatetags.soapshop import percent
from soapshop.core.words import in_words


@dataclass(frozen=True, slots=True)
class Named:
    """A line of a list of ingredients; `known` says that the name is an INCI name."""

    name: str
    share: str
    known: bool


@dataclass(frozen=True, slots=True)
class MadeWith:
    """How much of something went in: of the fats ("" for what is none), of all, against the cured bar."""

    name: str
    of_fats: str
    of_all: str
    of_bar: str


@dataclass(frozen=True, slots=True)
class Finished:
    """`bar_grams` is a cured bar, `bar_colour` that of its soap; `figures` explain its weight and its fatty
    matter, and shares are told of `fats`, `all_put_in` and `cured`.

    `unnamed` are materials without an INCI name, `as_water` liquids that are more than the water they are
    counted as.
    """

    strip: Strip
    figures: tuple[Explanation, ...]
    fats: str
    all_put_in: str
    cured: str
    bar_grams: Decimal
    bar_colour: str
    water: str
    water_assumed: bool
    made_with: tuple[MadeWith, ...]
    put_in: tuple[Named, ...]
    sold: tuple[Named, ...]
    unnamed: tuple[Material, ...]
    as_water: tuple[Material, ...]


def finished_of(worked_out: WorkedOut, *, bar_colour: str) -> Finished:
    contents = contents_of(worked_out)
    bar = finish(contents)
    return Finished(
        strip=lay_out(_shares(bar)),
        figures=(_bar(bar, worked_out.bars), opened(explain_fatty_matter(bar))),
        fats=grams(float(worked_out.fat_grams)),
        all_put_in=grams(contents.grams),
        cured=grams(bar.cured),
        bar_grams=Decimal(str(bar.cured / worked_out.bars)),
        bar_colour=bar_colour,
        water=share(bar.share(bar.water_left)),
        water_assumed=bar.water_assumed,
        made_with=tuple(
            MadeWith(
                in_words(claim.name),
                "" if claim.of_fats is None else percent(claim.of_fats, 1),
                percent(claim.of_all, 1),
                percent(claim.of_bar, 1),
            )
            for claim in claims(contents, bar)
        ),
        put_in=_named(as_put_in(contents), contents.grams),
        sold=_named(as_sold(bar), bar.cured),
        unnamed=tuple(line.material for line in worked_out.weighed_lines if _lacks_name(line.material)),
        as_water=tuple(line.material for line in worked_out.of(Kind.LIQUID) if not is_known(line.material)),
    )


def _bar(bar: FinishedBar, bars: int) -> Explanation:
    return Explanation(
        name=gettext("A cured bar"),
        figure=grams(bar.cured / bars),
        formula=gettext(
            "All that goes into the pot, less the water and the alcohol that leave while it cures, divided "
            "by the bars."
        ),
        entries=(
            Entry(gettext("All that goes into the pot"), grams(bar.put_in)),
            Entry(gettext("Water and alcohol that leave"), grams(bar.fresh - bar.cured)),
            Entry(gettext("Bars"), str(bars)),
        ),
        source=gettext("Mass balance of the card as weighed; how much water stays is told below."),
    )


def _lacks_name(material: Material) -> bool:
    """Alkalis and acids are named after what they are."""
    return not (inci_name(material) or material.alkali or material.acid)


def _named(amounts: Iterable[Amount], whole: float) -> tuple[Named, ...]:
    return tuple(
        Named(
            name=amount.inci_name or in_words(amount.name),
            share=percent(100 * amount.grams / whole, 1),
            known=bool(amount.inci_name),
        )
        for amount in amounts
    )


def _shares(bar: FinishedBar) -> list[Share]:
    """What the cured bar holds, from what makes it soap to what leaves it last."""
    unsaponified = sum(part.grams for part in bar.unsaponified) + bar.unsaponifiable
    others = sum(part.grams for part in (*bar.salts, *bar.rest))
    alkali = sum(part.grams for part in bar.free_alkali)
    parts = (
        (bar.soap, "soap", _soap(bar)),
        (bar.glycerin, "dots", opened(explain_glycerin(bar))),
        (unsaponified, "lines", _fat(bar)),
        (others, "cross", _others(bar)),
        (alkali, "solid", _alkali(bar)),
        (bar.water_left, "waves", opened(explain_water(bar))),
    )
    return [
        Share(bar.share(weight), fill, _in_the_bar(how, bar.share(weight), weight))
        for weight, fill, how in parts
    ]


def _in_the_bar(how: Explanation, per_cent: float, weight: float) -> Explanation:
    """The same, with its share of the cured bar as the figure and its weight put in."""
    whole = Entry(gettext("In all the bars"), grams(weight))
    return Explanation(
        how.name, share(per_cent), how.formula, (*how.entries, whole), how.source, how.alarming
    )


def _soap(bar: FinishedBar) -> Explanation:
    return Explanation(
        name=gettext("Soap"),
        figure="",
        formula=gettext(
            "Of each fat, without its unsaponifiable matter, the share that the alkali reaches; with the "
            "alkali that it takes, less the glycerin that it gives."
        ),
        entries=(
            *(
                Entry(
                    gettext("%(fat)s with %(metal)s")
                    % {"fat": in_words(soap.fat.fat.name), "metal": in_words(soap.alkali.metal_name)},
                    grams(soap.grams),
                )
                for soap in bar.soaps
            ),
            Entry(gettext("Share of the fats that became soap"), percent(bar.saponified, 1)),
        ),
        source=gettext("IUPAC standard atomic weights; saponification values as in the card."),
    )


def _fat(bar: FinishedBar) -> Explanation:
    return Explanation(
        name=gettext("Fat that stays fat"),
        figure="",
        formula=gettext(
            "What the alkali does not reach, with what in a fat never turns into soap. Which fat really "
            "stays cannot be known: the same share of each is taken."
        ),
        entries=(
            *(Entry(in_words(part.name), grams(part.grams)) for part in bar.unsaponified),
            Entry(
                gettext("Unsaponifiable matter"),
                grams(bar.unsaponifiable),
                gettext("half the published limits"),
            ),
        ),
        source=gettext("Mass balance of the card as weighed."),
    )


def _others(bar: FinishedBar) -> Explanation:
    return Explanation(
        name=gettext("Everything else"),
        figure="",
        formula=gettext(
            "Salts of acids, and what does not react: fragrance, colour, additives, and what of the alkali "
            "is none."
        ),
        entries=tuple(Entry(in_words(part.name), grams(part.grams)) for part in (*bar.salts, *bar.rest)),
        source=gettext("Mass balance of the card as weighed."),
    )


def _alkali(bar: FinishedBar) -> Explanation:
    return Explanation(
        name=gettext("Alkali left over"),
        figure="",
        formula=gettext("More alkali than all the fats can take. Do not pour this."),
        entries=tuple(Entry(in_words(part.name), grams(part.grams)) for part in bar.free_alkali),
        source=gettext("Mass balance of the card as weighed."),
        alarming=True,
    )
