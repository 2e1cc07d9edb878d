"""How each figure of a recipe came about: the formula in words, the numbers put in, the source."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.models import Kind
from recipes.formulation import WeighLine, WorkedOut
from recipes.models import LiquidBy
from recipes.queries.stock import Cost, Sheet
from shared.chemistry import AlkaliKind
from shared.saponification import SafetyRange, Sap
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import money, number, percent, trimmed, weight


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
        Entry(line.material.name, f"{number(line.exact, 1)} g", "takes up alkali before the fats do")
        for line in worked_out.of(Kind.ADDITIVE)
        if line.material.acid
    ]
    alkalis = [
        Entry(
            line.material.name,
            f"{_pure(line)} pure",
            f"{AlkaliKind(line.material.alkali).molar_mass:.3f} g/mol; purity: {_purity_source(line)}",
        )
        for line in worked_out.of(Kind.ALKALI)
    ]
    superfat = Entry("Superfat aimed at", f"{trimmed(worked_out.design.superfat)} %")
    return Explanation(
        name="Alkali, before rounding",
        figure=" + ".join(f"{number(line.exact, 1)} g" for line in worked_out.of(Kind.ALKALI)),
        formula=(
            "Each fat takes its weight times its saponification value (mg of potassium hydroxide to a "
            "gram), divided by the molar mass of potassium hydroxide. Of the sum the superfat is left out, "
            "what acids take is added, and it is turned into the alkali by its molar mass and its purity."
        ),
        entries=(*fats, *acids, superfat, *alkalis),
        source="Saponification value as in ISO 3657; molar masses from the IUPAC standard atomic weights.",
    )


def _liquid(worked_out: WorkedOut) -> Explanation:
    formulation, design = worked_out.formulation, worked_out.design
    alkali = sum(alkali.grams for alkali in formulation.alkalis)
    formula = {
        LiquidBy.CONCENTRATION: "The alkali as weighed, divided by the lye concentration, less the alkali.",
        LiquidBy.RATIO: "The alkali as weighed, times the liquid to each gram of it.",
        LiquidBy.OF_FATS: "The weight of the fats, times the share that the liquid is of it.",
    }[design.liquid_by]
    return Explanation(
        name="Liquid, before rounding",
        figure=f"{number(formulation.liquid_grams, 1)} g",
        formula=formula,
        entries=(
            Entry("Alkali as weighed", f"{number(alkali, 1)} g"),
            Entry("Fats", f"{number(formulation.fat_grams)} g"),
            Entry(design.liquid_by.label, _liquid_value(design.liquid_by, float(design.liquid_value))),
        ),
        source="Definition. What dissolves at 20 °C sets the highest lye concentration.",
    )


def _superfat(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    safety = worked_out.safety
    ranges = [
        Entry(line.material.name, _sap_range(line.sap), line.sap.source)
        for line in worked_out.of(Kind.FAT)
        if line.sap
    ]
    purities = [Entry(line.material.name, f"{_pure(line)} pure") for line in worked_out.of(Kind.ALKALI)]
    step = Entry("Each weighing", f"± {number(workshop.scale_step / 2, 2)} g", "half a step of the scale")
    bounds = (
        Entry("Watch from a chance of", f"{trimmed(workshop.watch_from)} %", "workshop settings"),
        Entry("Stop over a chance of", f"{trimmed(workshop.stop_from)} %", "workshop settings"),
    )
    return Explanation(
        name="Superfat, as weighed",
        figure=percent(safety.nominal, 1),
        formula=(
            "Superfat is one less the alkali that is free for the fats, divided by what the fats can take. "
            "Every fat may be anywhere in its range, the alkali anywhere in its purity, every weighing off "
            "by half a step. ‘Likely’ is the middle 95 % of all those cases; at the very worst, all are "
            "against you at once."
        ),
        entries=(*ranges, *purities, step, *_outcome(safety), *bounds),
        source=(
            "Uncertainty by JCGM 100:2008 (GUM); chance by inverting the characteristic function "
            "(Gil-Pelaez, Biometrika 38, 1951)."
        ),
    )


def _heat(worked_out: WorkedOut) -> Explanation:
    formulation, peak = worked_out.formulation, worked_out.heat.peak_celsius
    return Explanation(
        name="Lye solution may reach",
        figure=f"{number(peak)} °C, boiling" if worked_out.heat.boils else f"{number(peak)} °C",
        formula=(
            "The heat that the alkali gives off while it dissolves, all of it kept in the solution, from "
            "liquid at 20 °C. Counted as if the liquid were water; a real jug loses heat and stays below."
        ),
        entries=(
            Entry("Lye concentration", percent(formulation.lye_concentration, 1)),
            Entry("Lye solution", f"{number(formulation.lye_solution_grams)} g"),
        ),
        source=worked_out.heat.source,
        alarming=worked_out.heat.boils,
    )


def _bars(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    return Explanation(
        name="Bars, fresh",
        figure=f"{worked_out.bars} of {weight(worked_out.bar_grams, workshop)}",
        formula="All that goes into the pot, divided by the bars. Water leaves while they cure.",
        entries=(
            Entry("Batter", weight(worked_out.batter_grams, workshop)),
            Entry("Bars", number(worked_out.bars)),
        ),
        source="Sum of the card.",
    )


def _cost(cost: Cost, workshop: Workshop) -> Explanation:
    entries = (
        Entry(
            line.need.material.name,
            money(line.amount, workshop) if line.amount is not None else "no price",
            line.source,
        )
        for line in cost.lines
    )
    return Explanation(
        name="Cost a bar",
        figure=money(cost.bar, workshop),
        formula=(
            "The price of what is taken from each lot, the first to expire first; where the shelf lacks "
            "some, the price last paid. Work, power and what is cut off are not in it."
        ),
        entries=(*entries, Entry("The whole batch", money(cost.total, workshop))),
        source="Prices of the lots in the stockroom.",
    )


def _liquid_value(method: LiquidBy, value: float) -> str:
    return f"{number(value, 2)} g to 1 g" if method == LiquidBy.RATIO else percent(value, 1)


def _pure(line: WeighLine) -> str:
    low, high = line.purity or (0, 0)
    return f"{trimmed(low)} %" if low == high else f"{trimmed(low)} to {trimmed(high)} %"


def _purity_source(line: WeighLine) -> str:
    if line.lot and line.lot.purity is not None:
        return f"certificate of lot {line.lot.code}"
    return "as entered in the stockroom"


def _sap_range(sap: Sap) -> str:
    return f"{number(sap.low, 1)} to {number(sap.high, 1)} mg/g"


def _outcome(safety: SafetyRange) -> tuple[Entry, ...]:
    likely = f"{number(safety.likely_low, 1)} to {percent(safety.likely_high, 1)}"
    return (
        Entry("Likely", likely),
        Entry("At the very worst", percent(safety.worst_low, 1)),
        Entry("Chance of lye left over", percent(100 * safety.chance_lye_heavy, 2)),
    )
