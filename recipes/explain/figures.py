"""The figures that stand beside a recipe: alkali, liquid, lye, superfat, heat, bars, cost, cure."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext, ngettext

from inventory.models import Kind
from recipes.explain.explanation import Entry, Explanation, exact, pure, sap_in_words
from recipes.explain.safety import Tested, explain_superfat
from recipes.formulation import WeighLine, WorkedOut
from recipes.models import LiquidBy, LiquidScope, Stage
from recipes.queries.stock import Cost, Sheet
from recipes.usual_cure import MUCH_OLIVE, usual_cure
from shared.chemistry import AlkaliKind
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import TIE, degrees, money, number, percent, trimmed, weight
from soapshop.core.words import in_words


def explain(sheet: Sheet, workshop: Workshop) -> tuple[Explanation, ...]:
    """The explanations of a sheet, in the order in which its figures stand on the page."""
    worked_out = sheet.worked_out
    return (
        _alkali(worked_out),
        _liquid(worked_out),
        _lye(worked_out),
        *_superfats(worked_out, workshop),
        _heat(worked_out, workshop),
        _batter(worked_out, workshop),
        _bars(worked_out, workshop),
        _cost(sheet.cost, workshop),
        _cure(worked_out, workshop),
    )


def _alkali(worked_out: WorkedOut) -> Explanation:
    alkalis = [
        Entry(
            line.material.name,
            _strength(line),
            gettext("%(mass)s g/mol; purity: %(source)s")
            % {
                "mass": number(AlkaliKind(line.material.alkali).molar_mass, 3),
                "source": _purity_source(line),
            },
        )
        for line in worked_out.of(Kind.ALKALI)
    ]
    superfat = Entry(gettext("Superfat aimed at"), f"{trimmed(worked_out.design.superfat)} %")
    return Explanation(
        name=gettext("Alkali, before rounding"),
        figure=" + ".join(exact(alkali.grams) for alkali in worked_out.formulation.alkalis),
        formula=gettext(
            "Each fat takes its weight times its saponification value (mg of potassium hydroxide to a "
            "gram), divided by the molar mass of potassium hydroxide. Of the sum the superfat is left out, "
            "what acids take is added, and it is turned into the alkali by its molar mass and its purity."
        ),
        entries=(*_taking_alkali(worked_out), superfat, *alkalis),
        source=gettext(
            "Saponification value as in ISO 3657; molar masses from the IUPAC standard atomic weights."
        ),
    )


def _taking_alkali(worked_out: WorkedOut) -> Iterator[Entry]:
    """All that takes up alkali, and the fats after the cook, for which none is weighed."""
    times = gettext("%(weight)s g × %(value)s mg/g")
    for line in worked_out.of(Kind.FAT):
        if line.sap and line.part.stage != Stage.COOK:
            put_in = times % {"weight": number(line.grams), "value": number(line.sap.nominal, 1)}
            yield Entry(line.material.name, put_in, line.sap.source)
    for line in worked_out.of(Kind.FAT):
        if line.part.stage == Stage.COOK:
            words = gettext("goes in after the cook: no alkali is weighed for it")
            yield Entry(line.material.name, exact(float(line.grams)), words)
    for line in worked_out.lines:
        if line.liquid:
            yield from _in_a_liquid(line)
        elif line.kind == Kind.ADDITIVE and line.material.acid:
            pure_acid = {"weight": number(line.exact, 1), "share": trimmed(line.material.acid_percent)}
            words = gettext("takes up alkali before the fats do")
            yield Entry(
                line.material.name, gettext("%(weight)s g, %(share)s %% of it acid") % pure_acid, words
            )


def _in_a_liquid(line: WeighLine) -> Iterator[Entry]:
    """The fat and the acid in a liquid."""
    liquid, words = line.liquid, gettext("%(share)s %% of %(weight)s g")
    weighed = number(line.exact, 1)
    if liquid and liquid.sap:
        name = gettext("Fat in %(liquid)s") % {"liquid": line.material}
        yield Entry(name, words % {"share": trimmed(liquid.fat), "weight": weighed}, liquid.sap.source)
    if liquid and liquid.acid:
        name = gettext("Acid in %(liquid)s") % {"liquid": line.material}
        source = line.material.composition_source
        yield Entry(name, words % {"share": trimmed(line.material.acid_percent), "weight": weighed}, source)


def _liquid(worked_out: WorkedOut) -> Explanation:
    formulation, design = worked_out.formulation, worked_out.design
    formula = {
        LiquidBy.CONCENTRATION: gettext(
            "As much water as brings the alkali to the lye concentration, less the water that a ready-made "
            "lye solution brings; a liquid that is more than water gives only the water in it."
        ),
        LiquidBy.RATIO: gettext(
            "As much water to each gram of alkali as the recipe says, less the water that a ready-made lye "
            "solution brings; a liquid that is more than water gives only the water in it."
        ),
        LiquidBy.OF_FATS: gettext(
            "As much water as the recipe's share of the fats, less the water that a ready-made lye solution "
            "brings; a liquid that is more than water gives only the water in it."
        ),
    }[design.liquid_by]
    brought = sum(alkali.water for alkali in formulation.alkalis)
    return Explanation(
        name=gettext("Liquid, before rounding"),
        figure=exact(formulation.liquid_grams),
        formula=formula,
        entries=(
            Entry(str(design.liquid_by.label), _liquid_value(design.liquid_by, float(design.liquid_value))),
            Entry(gettext("The figure speaks of"), str(LiquidScope(design.liquid_scope).label)),
            Entry(gettext("Alkali without its water"), exact(_alkali_alone(worked_out))),
            *([Entry(gettext("Water that the lye solution brings"), exact(brought))] if brought else ()),
            Entry(gettext("Fats"), exact(formulation.fat_grams)),
            *(_water_of(line) for line in worked_out.lines if line.liquid),
        ),
        source=gettext("Definition. What dissolves at 20 °C sets the highest lye concentration."),
    )


def _water_of(line: WeighLine) -> Entry:
    liquid = line.liquid
    words = gettext("%(share)s %% of it water")
    source = line.material.composition_source or gettext("counted as water")
    return Entry(line.material.name, words % {"share": trimmed(liquid.water if liquid else 100)}, source)


def _lye(worked_out: WorkedOut) -> Explanation:
    made = worked_out.formulation
    return Explanation(
        name=gettext("Lye concentration"),
        figure=percent(made.lye_concentration, 1),
        formula=gettext(
            "The alkali in per cent of it and the water that it is mixed with. What goes in at trace is not "
            "in it. Liquid to each gram of alkali, and against the fats, counts all water of the batter."
        ),
        entries=(
            Entry(gettext("Alkali without its water"), exact(_alkali_alone(worked_out))),
            Entry(gettext("Water in the lye"), exact(made.lye_water_grams)),
            Entry(gettext("All water of the batter"), exact(made.water_grams)),
            Entry(gettext("Fats"), exact(made.fat_grams)),
            Entry(gettext("Water to each gram of alkali"), exact(made.liquid_ratio)),
            Entry(gettext("Water, of the fats"), percent(made.liquid_of_fats, 1)),
        ),
        source=gettext("Definition, with the weights before rounding."),
    )


def _alkali_alone(worked_out: WorkedOut) -> float:
    return sum(alkali.grams - alkali.water for alkali in worked_out.formulation.alkalis)


def _superfats(worked_out: WorkedOut, workshop: Workshop) -> Iterator[Explanation]:
    tested = Tested(
        workshop.scale_step, workshop.watch_from, workshop.stop_from, gettext("workshop settings")
    )
    fats = [_reacting(line) for line in worked_out.of(Kind.FAT)]
    others = [
        *(
            Entry(line.material.name, _weighed(line, _strength(line)), _purity_source(line))
            for line in worked_out.of(Kind.ALKALI)
        ),
        *(entry for line in worked_out.lines if line.liquid for entry in _in_a_liquid(line)),
    ]
    if worked_out.formulation.before_after_cook:
        cooked = [_reacting(line) for line in worked_out.of(Kind.FAT) if line.part.stage != Stage.COOK]
        safety = worked_out.formulation.before_after_cook
        yield explain_superfat(gettext("Superfat, while it cooks"), safety, [*cooked, *others], tested)
    yield explain_superfat(gettext("Superfat, as weighed"), worked_out.safety, [*fats, *others], tested)


def _reacting(line: WeighLine) -> Entry:
    sap = line.sap
    return Entry(
        line.material.name, _weighed(line, sap_in_words(sap) if sap else ""), sap.source if sap else ""
    )


def _weighed(line: WeighLine, value: str) -> str:
    words = gettext("%(weight)s g, %(value)s")
    return words % {"weight": trimmed(line.grams), "value": value}


def _heat(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    formulation, heat = worked_out.formulation, worked_out.heat
    likely, most = degrees(heat.celsius, workshop), degrees(heat.most_celsius, workshop)
    bare = likely.partition(TIE)[0]
    figure = (
        gettext("about %(likely)s, and can boil") % {"likely": likely}
        if heat.boils
        else gettext("about %(likely)s, at most %(most)s") % {"likely": bare, "most": most}
    )
    return Explanation(
        name=gettext("Lye solution"),
        figure=figure,
        formula=gettext(
            "The heat that the alkali gives off while it dissolves, less what the jug and the air take, "
            "warms the lye. At most is without any loss and with the alkali as pure as it may be. Counted "
            "as if the liquid were water."
        ),
        entries=(
            Entry(gettext("Likely"), likely, in_words(heat.assumption)),
            Entry(gettext("At most"), most, gettext("no heat is lost")),
            Entry(
                gettext("This lye boils at"),
                degrees(heat.boiling_celsius, workshop),
                gettext("published points, recalled and rounded down"),
            ),
            Entry(gettext("Lye concentration"), percent(formulation.lye_concentration, 1)),
            Entry(gettext("Lye solution"), exact(formulation.lye_solution_grams)),
        ),
        source=in_words(heat.source),
        alarming=heat.boils,
    )


def _batter(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    return Explanation(
        name=gettext("Batter"),
        figure=weight(worked_out.batter_grams, workshop),
        formula=gettext("All weights of the card together, as the scale shows them."),
        entries=tuple(
            Entry(line.material.name, weight(line.grams, workshop))
            for line in worked_out.weighed_lines
            if line.part.stage != Stage.TOP
        ),
        source=gettext("Sum of the card."),
    )


def _bars(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    return Explanation(
        name=gettext("Bars, fresh"),
        figure=ngettext("%(bars)d of %(weight)s", "%(bars)d of %(weight)s", worked_out.bars)
        % {"bars": worked_out.bars, "weight": weight(worked_out.bar_grams, workshop)},
        formula=gettext("All that goes into the pot, divided by the bars. Water leaves while they cure."),
        entries=(
            Entry(gettext("Batter"), weight(worked_out.batter_grams, workshop)),
            Entry(gettext("Bars"), number(worked_out.bars)),
        ),
        source=gettext("Sum of the card."),
    )


def _cost(cost: Cost, workshop: Workshop) -> Explanation:
    entries = (
        Entry(
            line.need.material.name,
            money(line.amount, workshop) if line.amount is not None else gettext("no price"),
            line.source,
        )
        for line in cost.lines
    )
    return Explanation(
        name=gettext("Cost a bar"),
        figure=money(cost.bar, workshop),
        formula=gettext(
            "The price of what is taken from each lot, the first to expire first; where the shelf lacks "
            "some, the price last paid. Work, power and what is cut off are not in it."
        ),
        entries=(*entries, Entry(gettext("The whole batch"), money(cost.total, workshop))),
        source=gettext("Prices of the lots in the stockroom."),
    )


def _cure(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    usual, settings = usual_cure(worked_out.design, workshop), gettext("workshop settings")
    return Explanation(
        name=gettext("Cure, as is usual here"),
        figure=_days(usual.days),
        formula=gettext(
            "Potash soap, more than half of whose alkali is potassium hydroxide, gets days of its own; so "
            "does soap with %(much)s %% olive oil and more; every other soap gets the usual days. They count "
            "from the cut. A recipe may say otherwise."
        )
        % {"much": MUCH_OLIVE},
        entries=(
            Entry(gettext("Potassium hydroxide, of the alkali"), percent(usual.potash)),
            Entry(gettext("Olive oil, of the fats"), percent(usual.olive)),
            Entry(gettext("Most soap"), _days(workshop.cure_days), settings),
            Entry(gettext("Soap very high in olive oil"), _days(workshop.cure_days_olive), settings),
            Entry(gettext("Potash soap"), _days(workshop.cure_days_potash), settings),
        ),
        source=gettext("How long soap cures is common practice, no source."),
    )


def _days(days: int) -> str:
    return ngettext("%(days)d day", "%(days)d days", days) % {"days": days}


def _liquid_value(method: LiquidBy, value: float) -> str:
    if method == LiquidBy.RATIO:
        return gettext("%(liquid)s g to 1 g") % {"liquid": number(value, 2)}
    return percent(value, 1)


def _strength(line: WeighLine) -> str:
    return pure(*(line.purity or (0, 0)), dissolved=line.material.dissolved)


def _purity_source(line: WeighLine) -> str:
    if line.lot and line.lot.purity is not None:
        return gettext("certificate of lot %(lot)s") % {"lot": line.lot.code}
    return gettext("as entered in the stockroom")
