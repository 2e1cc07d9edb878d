"""How each figure of a batch came about: the formula in words, the numbers put in, the source.

A batch speaks of what was frozen in it: nothing here looks at recipe, materials or settings as they are now.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django.utils.translation import gettext, ngettext

from batches.frozen import FrozenLine, FrozenRecipe, FrozenUse
from batches.models import Batch, Cure, Line, WeighIn
from batches.queries.cure import CureRecord
from batches.queries.drying import WEEK, last_two
from batches.queries.record import BatchRecord
from batches.queries.weighing import Bench, CardLine
from batches.services.pour import DAYS_TO_CUT
from inventory.amounts import pieces
from inventory.models import COUNTED, Kind, Lot
from inventory.queries.made import shares
from recipes.explain import Entry, Explanation, Tested, explain_superfat
from recipes.explain.explanation import pure, sap_in_words
from recipes.models import LiquidBy, Stage
from shared.saponification import SafetyRange, Sap
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import (
    degrees,
    money,
    number,
    percent,
    short_day,
    trimmed,
    weight,
)


def explain_batch(record: BatchRecord, workshop: Workshop) -> tuple[Explanation, ...]:
    """The figures of a batch in the order of its page: superfat, lye, batter, and cost once poured."""
    recipe = record.recipe
    return (
        _superfat(record),
        _lye(recipe),
        _heat(recipe, workshop),
        _batter(record, workshop),
        *_costs(record),
    )


def explain_planned(recipe: FrozenRecipe, workshop: Workshop) -> tuple[Explanation, ...]:
    """What the card of a batch plans to weigh, a line at a time."""
    return tuple(_planned(line, recipe, workshop) for line in recipe.lines)


def explain_bench(board: Bench, workshop: Workshop) -> tuple[Explanation, ...]:
    """The superfat of what is in the pot and still to come, then the weights that are planned."""
    planned = explain_planned(board.recipe, workshop)
    if board.safety is None:
        return planned
    return (_in_the_pot(board, board.safety), *planned)


def explain_cure(record: CureRecord, workshop: Workshop) -> tuple[Explanation, ...]:
    """The ready day, the bars left, and what a bar has lost."""
    cure = record.cure
    bars = (_bars(cure, record),) if cure.is_cut else ()
    return (_ready(cure), *bars, *_losses(record, workshop))


def _superfat(record: BatchRecord) -> Explanation:
    recipe = record.recipe
    name = gettext("Superfat, as poured") if record.poured else gettext("Superfat, planned")
    entries = (entry for line in recipe.ingredients for entry in _reacting(line))
    return explain_superfat(name, _range(recipe), entries, _tested(recipe))


def _range(recipe: FrozenRecipe) -> SafetyRange:
    return SafetyRange(**recipe.safety)


def _tested(recipe: FrozenRecipe) -> Tested:
    words = gettext("workshop settings, as they were when it was planned")
    return Tested(recipe.scale_step, recipe.watch_from, recipe.stop_from, words)


def _reacting(line: FrozenLine) -> Iterator[Entry]:
    """What of a line reacts: by lot once it is poured, as planned before."""
    if line.used:
        for use in line.used:
            yield from _of_use(line, use)
    else:
        yield from _values(line, line.name, line.planned, line.sap, line.purity)


def _of_use(line: FrozenLine, use: FrozenUse) -> Iterator[Entry]:
    name = gettext("%(material)s, lot %(lot)s") % {"material": line.name, "lot": use.lot}
    is_liquid = line.kind not in (Kind.FAT, Kind.ALKALI)
    yield from _values(
        line, name, use.quantity, line.sap if is_liquid else use.sap or line.sap, use.purity or line.purity
    )


def _values(
    line: FrozenLine, name: str, grams: Decimal, sap: Sap | None, purity: tuple[float, float] | None
) -> Iterator[Entry]:
    weighed = gettext("%(weight)s g, %(value)s")
    if line.kind == Kind.ALKALI and purity:
        value = pure(*purity, dissolved=line.dissolved)
        yield Entry(name, weighed % {"weight": trimmed(grams), "value": value})
    elif sap:
        value = sap_in_words(sap)
        yield Entry(name, weighed % {"weight": trimmed(grams), "value": value}, sap.source)
    if line.acid:
        value = gettext("%(share)s %% of it acid") % {"share": trimmed(line.acid_percent)}
        words = gettext("takes up alkali before the fats do")
        yield Entry(name, weighed % {"weight": trimmed(grams), "value": value}, words)


def _in_the_pot(board: Bench, safety: SafetyRange) -> Explanation:
    entries = (entry for card in board.lines for entry in _of_card(board.recipe, card))
    return explain_superfat(gettext("Superfat, so far"), safety, entries, _tested(board.recipe))


def _of_card(recipe: FrozenRecipe, card: CardLine) -> Iterator[Entry]:
    """What was weighed by lot, of batter kept back what is in it, and what is still to come as planned."""
    known = recipe.line_for(card.line)
    taken = [(weighing.lot, weighing.quantity) for weighing in card.weighings]
    for lot, grams in shares(taken) if card.line.kind == Kind.BATTER else taken:
        within = recipe.line_for(Line(material=lot.material, planned=grams))
        name = gettext("%(material)s, lot %(lot)s") % {"material": within.name, "lot": lot.code}
        yield from _values(within, name, round(grams, 2), *_certified(within, lot))
    if not card.line.done and card.missing:
        name = gettext("%(material)s, still to come") % {"material": known.name}
        yield from _values(known, name, card.missing, known.sap, known.purity)


def _certified(known: FrozenLine, lot: Lot) -> tuple[Sap | None, tuple[float, float] | None]:
    """The values of the lot's certificate, else those that were frozen."""
    sap = lot.saponification_value if lot.sap is not None else known.sap
    return sap, lot.purity_range if lot.purity is not None else known.purity


def _lye(recipe: FrozenRecipe) -> Explanation:
    value = float(recipe.liquid_value)
    given = (
        gettext("%(liquid)s g to 1 g") % {"liquid": number(value, 2)}
        if recipe.liquid_by == LiquidBy.RATIO
        else percent(value, 1)
    )
    weights = (
        Entry(line.name, gettext("%(weight)s g") % {"weight": trimmed(line.planned)})
        for line in recipe.ingredients
        if line.kind in (Kind.ALKALI, Kind.LIQUID)
    )
    return Explanation(
        name=gettext("Lye concentration, planned"),
        figure=percent(recipe.lye_concentration, 1),
        formula=gettext(
            "The alkali in per cent of it and the water that it is mixed with, before they were rounded to "
            "the scale. What goes in at trace is not in it."
        ),
        entries=(Entry(str(LiquidBy(recipe.liquid_by).label), given, gettext("the recipe")), *weights),
        source=gettext("Definition. Frozen when it was planned."),
    )


def _heat(recipe: FrozenRecipe, workshop: Workshop) -> Explanation:
    peak = "" if recipe.lye_peak is None else degrees(recipe.lye_peak, workshop)
    return Explanation(
        name=gettext("Lye could reach"),
        figure=gettext("boiling") if recipe.lye_boils else peak,
        formula=gettext(
            "The heat that the alkali gives off while it dissolves warms the lye: all at once, with the "
            "alkali as pure as it may be and nothing lost to the jug or the air."
        ),
        entries=(
            Entry(gettext("At most"), peak, gettext("no heat is lost")),
            Entry(gettext("Lye concentration"), percent(recipe.lye_concentration, 1)),
        ),
        source=gettext(
            "Heats of solution: Felder and Rousseau, Table B.11 (sodium hydroxide), Parker 1965 (potassium "
            "hydroxide). Frozen when it was planned."
        ),
        alarming=recipe.lye_boils,
    )


def _batter(record: BatchRecord, workshop: Workshop) -> Explanation:
    total = record.total or record.recipe.batter
    return Explanation(
        name=gettext("In the pot") if record.total else gettext("Batter, planned"),
        figure=weight(total, workshop),
        formula=(
            gettext("All that was weighed, added up.")
            if record.total
            else gettext("All weights of the card, added up.")
        ),
        entries=tuple(
            Entry(line.frozen.name, weight(line.weighed if record.total else line.frozen.planned, workshop))
            for line in record.lines
            if line.line.stage != Stage.TOP
        ),
        source=gettext("Sum of the card."),
    )


def _costs(record: BatchRecord) -> Iterator[Explanation]:
    batch, bar = record.batch, record.bar_cost
    if batch.cost is None or bar is None:
        return
    currency = record.recipe.currency
    yield Explanation(
        name=gettext("Materials cost"),
        figure=money(batch.cost, currency),
        formula=gettext(
            "What was taken from each lot, times what a gram of that lot cost. Work, power and packaging are "
            "not in it."
        ),
        entries=tuple(_priced(line, use, currency) for line in record.recipe.lines for use in line.used),
        source=gettext("Prices of the lots, as they were when it was poured."),
    )
    bars, source = _bars_that_bear(batch)
    yield Explanation(
        name=gettext("A bar of it"),
        figure=money(bar, currency),
        formula=gettext("The cost of the materials, divided by the bars."),
        entries=(
            Entry(gettext("Materials cost"), money(batch.cost, currency)),
            Entry(gettext("Bars"), number(bars), source),
        ),
        source=gettext("Definition."),
    )


def _priced(line: FrozenLine, use: FrozenUse, currency: str) -> Entry:
    name = gettext("%(material)s, lot %(lot)s") % {"material": line.name, "lot": use.lot}
    if line.kind in COUNTED:
        figures = {"pieces": pieces(use.quantity), "price": money(use.unit_cost, currency)}
        return Entry(name, gettext("%(pieces)s at %(price)s each") % figures, use.supplier)
    figures = {"weight": trimmed(use.quantity), "price": money(use.unit_cost * 1000, currency)}
    return Entry(name, gettext("%(weight)s g at %(price)s a kg") % figures, use.supplier)


def _bars_that_bear(batch: Batch) -> tuple[int, str]:
    cut = batch.cure.bars_cut
    return (cut, gettext("as cut")) if cut else (batch.bars_planned, gettext("as planned, until it is cut"))


def _planned(line: FrozenLine, recipe: FrozenRecipe, workshop: Workshop) -> Explanation:
    formula = {
        Kind.FAT: gettext("The recipe at the size that was asked for, rounded to the step of the scale."),
        Kind.ALKALI: gettext(
            "The alkali that the fats take, less the superfat, with what acids take, at the alkali’s purity; "
            "rounded down to the scale, so that the superfat is never less than was aimed at."
        ),
        Kind.LIQUID: gettext("What the lye asks for by the recipe, rounded to the step of the scale."),
        Kind.EMBED: gettext("The pieces for a bar times the bars, rounded up."),
        Kind.BATTER: gettext("Batter that another batch kept back, with all that is in it."),
    }
    others = gettext("Its share of the weight of all fats, rounded to the step of the scale.")
    return Explanation(
        name=line.name,
        figure=pieces(line.planned) if line.kind in COUNTED else weight(line.planned, workshop),
        formula=formula.get(Kind(line.kind), others),
        entries=tuple(_put_in(line, recipe)),
        source=gettext("%(recipe)s, version %(number)d, frozen when it was planned.")
        % {"recipe": recipe.recipe, "number": recipe.version},
    )


def _put_in(line: FrozenLine, recipe: FrozenRecipe) -> Iterator[Entry]:
    fats = sum((one.planned for one in recipe.lines if one.kind == Kind.FAT), Decimal(0))
    if line.kind == Kind.ALKALI:
        yield Entry(gettext("Superfat aimed at"), f"{trimmed(recipe.superfat)} %")
        for one in recipe.lines:
            yield from _values(one, one.name, one.planned, one.sap, one.purity)
    elif line.kind == Kind.LIQUID:
        yield from _lye(recipe).entries
    elif line.kind == Kind.EMBED:
        yield Entry(gettext("Bars"), number(recipe.bars))
    elif line.kind == Kind.BATTER:
        for one in line.made_of:
            yield Entry(one.name, gettext("%(weight)s g") % {"weight": trimmed(one.planned)})
    else:
        yield Entry(gettext("All fats"), gettext("%(weight)s g") % {"weight": trimmed(fats)})
        yield Entry(gettext("Its share"), percent(100 * line.planned / fats, 1))


def _ready(cure: Cure) -> Explanation:
    days = ngettext("%(days)d day", "%(days)d days", cure.cure_days) % {"days": cure.cure_days}
    if cure.is_cut:
        formula = gettext("The day of the cut and the days of cure of the recipe.")
        began = Entry(gettext("Cut"), short_day(cure.cut_on))
    else:
        formula = gettext(
            "The day of the pour, a day until the cut, and the days of cure of the recipe. It is reckoned "
            "anew from the cut."
        )
        began = Entry(gettext("Poured"), short_day(cure.started_on))
    to_cut = Entry(gettext("Days until the cut"), number(DAYS_TO_CUT), gettext("common practice, no source"))
    return Explanation(
        name=gettext("Ready"),
        figure=short_day(cure.ready_on),
        formula=formula,
        entries=(
            began,
            *(() if cure.is_cut else (to_cut,)),
            Entry(gettext("Cure"), days, gettext("the recipe")),
        ),
        source=gettext("How long soap cures is common practice, no source."),
    )


def _bars(cure: Cure, record: CureRecord) -> Explanation:
    return Explanation(
        name=gettext("Bars left"),
        figure=number(cure.bars_left),
        formula=gettext("The bars that were cut, and all that came or went since."),
        entries=tuple(
            Entry(
                str(line.movement.get_kind_display()),
                _signed(line.movement.count),
                short_day(line.movement.at),
            )
            for line in reversed(record.bars)
        ),
        source=gettext("The ledger of the bars."),
    )


def _signed(count: int) -> str:
    return f"+{count}" if count > 0 else number(count)


def _losses(record: CureRecord, workshop: Workshop) -> Iterator[Explanation]:
    """What a bar has lost in all, and at which pace."""
    weigh_ins = [line.weigh_in for line in reversed(record.weigh_ins)]
    if len(weigh_ins) < 2:
        return
    source = gettext("Each weight a bar: what the scale showed, divided by the bars on it.")
    first, last = weigh_ins[0], weigh_ins[-1]
    yield Explanation(
        name=gettext("Lost since the first weight"),
        figure=percent(record.weigh_ins[0].loss, 1),
        formula=gettext("The first weight less the last, divided by the first."),
        entries=tuple(_weighed_in(one, workshop) for one in (first, last)),
        source=source,
    )
    pace = last_two(weigh_ins)
    if pace and record.weekly_loss is not None:
        days = (pace[1].on - pace[0].on).days
        yield Explanation(
            name=gettext("Lost in a week, of late"),
            figure=percent(record.weekly_loss, 1),
            formula=gettext(
                "The loss between the last two days of weighing, divided by the days between them, times "
                "seven."
            ),
            entries=(
                *(_weighed_in(one, workshop) for one in pace),
                Entry(gettext("Days between"), number(days)),
                Entry(gettext("Days of a week"), number(WEEK)),
            ),
            source=source,
        )


def _weighed_in(weigh_in: WeighIn, workshop: Workshop) -> Entry:
    bars = ngettext("%(bars)d bar", "%(bars)d bars", weigh_in.bars) % {"bars": weigh_in.bars}
    words = gettext("%(weight)s for %(bars)s")
    source = words % {"weight": weight(weigh_in.grams, workshop), "bars": bars}
    return Entry(short_day(weigh_in.on), weight(weigh_in.bar_weight, workshop), source)
