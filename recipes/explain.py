"""How each figure of a recipe came about: the formula in words, the numbers put in, the source."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext, ngettext

from inventory.models import Kind
from recipes.formulation import WeighLine, WorkedOut
from recipes.models import LiquidBy
from recipes.queries.stock import Cost, Sheet
from shared.chemistry import AlkaliKind
from shared.saponification import SafetyRange, Sap
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import money, number, percent, trimmed, weight
from soapshop.core.words import in_words


@dataclass(frozen=True, slots=True)
class Entry:
    """A number that was put in: what of, how much, from where."""

    name: str
    figure: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Explanation:
    """A figure by its name, and behind it how it came about. `alarming` asks for the maker's eye."""

    name: str
    figure: str
    formula: str
    entries: tuple[Entry, ...]
    source: str
    alarming: bool = False


def explain(sheet: Sheet, workshop: Workshop) -> tuple[Explanation, ...]:
    """The explanations of a sheet, in the order in which its figures stand on the page."""
    worked_out = sheet.worked_out
    return (
        _alkali(worked_out),
        _liquid(worked_out),
        _superfat(worked_out, workshop),
        _heat(worked_out),
        _bars(worked_out, workshop),
        _cost(sheet.cost, workshop),
    )


def _alkali(worked_out: WorkedOut) -> Explanation:
    fats = [
        Entry(
            line.material.name,
            f"{number(line.grams)} g × {number(line.sap.nominal, 1)} mg/g",
            line.sap.source,
        )
        for line in worked_out.of(Kind.FAT)
        if line.sap
    ]
    acids = [
        Entry(line.material.name, f"{number(line.exact, 1)} g", gettext("takes up alkali before the fats do"))
        for line in worked_out.of(Kind.ADDITIVE)
        if line.material.acid
    ]
    alkalis = [
        Entry(
            line.material.name,
            _pure(line),
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
        figure=" + ".join(f"{number(line.exact, 1)} g" for line in worked_out.of(Kind.ALKALI)),
        formula=gettext(
            "Each fat takes its weight times its saponification value (mg of potassium hydroxide to a "
            "gram), divided by the molar mass of potassium hydroxide. Of the sum the superfat is left out, "
            "what acids take is added, and it is turned into the alkali by its molar mass and its purity."
        ),
        entries=(*fats, *acids, superfat, *alkalis),
        source=gettext(
            "Saponification value as in ISO 3657; molar masses from the IUPAC standard atomic weights."
        ),
    )


def _liquid(worked_out: WorkedOut) -> Explanation:
    formulation, design = worked_out.formulation, worked_out.design
    alkali = sum(alkali.grams for alkali in formulation.alkalis)
    formula = {
        LiquidBy.CONCENTRATION: gettext(
            "The alkali as weighed, divided by the lye concentration, less the alkali."
        ),
        LiquidBy.RATIO: gettext("The alkali as weighed, times the liquid to each gram of it."),
        LiquidBy.OF_FATS: gettext("The weight of the fats, times the share that the liquid is of it."),
    }[design.liquid_by]
    return Explanation(
        name=gettext("Liquid, before rounding"),
        figure=f"{number(formulation.liquid_grams, 1)} g",
        formula=formula,
        entries=(
            Entry(gettext("Alkali as weighed"), f"{number(alkali, 1)} g"),
            Entry(gettext("Fats"), f"{number(formulation.fat_grams)} g"),
            Entry(str(design.liquid_by.label), _liquid_value(design.liquid_by, float(design.liquid_value))),
        ),
        source=gettext("Definition. What dissolves at 20 °C sets the highest lye concentration."),
    )


def _superfat(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    safety = worked_out.safety
    ranges = [
        Entry(line.material.name, _sap_range(line.sap), line.sap.source)
        for line in worked_out.of(Kind.FAT)
        if line.sap
    ]
    purities = [Entry(line.material.name, _pure(line)) for line in worked_out.of(Kind.ALKALI)]
    step = Entry(
        gettext("Each weighing"),
        f"± {number(workshop.scale_step / 2, 2)} g",
        gettext("half a step of the scale"),
    )
    bounds = (
        Entry(
            gettext("Watch from a chance of"),
            f"{trimmed(workshop.watch_from)} %",
            gettext("workshop settings"),
        ),
        Entry(
            gettext("Stop over a chance of"), f"{trimmed(workshop.stop_from)} %", gettext("workshop settings")
        ),
    )
    return Explanation(
        name=gettext("Superfat, as weighed"),
        figure=percent(safety.nominal, 1),
        formula=gettext(
            "Superfat is one less the alkali that is free for the fats, divided by what the fats can take. "
            "Every fat may be anywhere in its range, the alkali anywhere in its purity, every weighing off "
            "by half a step. ‘Likely’ is the middle 95 % of all those cases; at the very worst, all are "
            "against you at once."
        ),
        entries=(*ranges, *purities, step, *_outcome(safety), *bounds),
        source=gettext(
            "Uncertainty by JCGM 100:2008 (GUM); chance by inverting the characteristic function "
            "(Gil-Pelaez, Biometrika 38, 1951)."
        ),
    )


def _heat(worked_out: WorkedOut) -> Explanation:
    formulation, heat = worked_out.formulation, worked_out.heat
    figure = (
        gettext("about %(likely)s °C, and can boil")
        if heat.boils
        else gettext("about %(likely)s, at most %(most)s °C")
    )
    return Explanation(
        name=gettext("Lye solution"),
        figure=figure % {"likely": number(heat.celsius), "most": number(heat.most_celsius)},
        formula=gettext(
            "The heat that the alkali gives off while it dissolves, less what the jug and the air take, "
            "warms the lye. At most is without any loss and with the alkali as pure as it may be. Counted "
            "as if the liquid were water."
        ),
        entries=(
            Entry(gettext("Likely"), _celsius(heat.celsius), in_words(heat.assumption)),
            Entry(gettext("At most"), _celsius(heat.most_celsius), gettext("no heat is lost")),
            Entry(
                gettext("This lye boils at"),
                _celsius(heat.boiling_celsius),
                gettext("published points, recalled and rounded down"),
            ),
            Entry(gettext("Lye concentration"), percent(formulation.lye_concentration, 1)),
            Entry(gettext("Lye solution"), f"{number(formulation.lye_solution_grams)} g"),
        ),
        source=in_words(heat.source),
        alarming=heat.boils,
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


def _celsius(degrees: float) -> str:
    return f"{number(degrees)} °C"


def _liquid_value(method: LiquidBy, value: float) -> str:
    if method == LiquidBy.RATIO:
        return gettext("%(liquid)s g to 1 g") % {"liquid": number(value, 2)}
    return percent(value, 1)


def _pure(line: WeighLine) -> str:
    low, high = line.purity or (0, 0)
    words = gettext("%(low)s %% pure") if low == high else gettext("%(low)s to %(high)s %% pure")
    return words % {"low": trimmed(low), "high": trimmed(high)}


def _purity_source(line: WeighLine) -> str:
    if line.lot and line.lot.purity is not None:
        return gettext("certificate of lot %(lot)s") % {"lot": line.lot.code}
    return gettext("as entered in the stockroom")


def _sap_range(sap: Sap) -> str:
    return gettext("%(low)s to %(high)s mg/g") % {"low": number(sap.low, 1), "high": number(sap.high, 1)}


def _outcome(safety: SafetyRange) -> tuple[Entry, ...]:
    likely = gettext("%(low)s to %(high)s") % {
        "low": number(safety.likely_low, 1),
        "high": percent(safety.likely_high, 1),
    }
    return (
        Entry(gettext("Likely"), likely),
        Entry(gettext("At the very worst"), percent(safety.worst_low, 1)),
        Entry(gettext("Chance of lye left over"), percent(100 * safety.chance_lye_heavy, 2)),
    )
