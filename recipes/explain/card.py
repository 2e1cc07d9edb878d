"""How each weight of the card came about, and how large the batch is."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext

from inventory.amounts import in_words
from inventory.models import COUNTED, Kind
from recipes.design import WHOLE, Mould
from recipes.explain.explanation import Entry, Explanation, exact
from recipes.formulation import WeighLine, WorkedOut
from recipes.models import SizeBy
from recipes.queries.stock import Sheet
from recipes.splitting import Split
from recipes.trial import OTHER_DENSITY
from shared.moulds import FAT_DENSITY, lye_solution_density
from soapshop.core.models import Workshop
from soapshop.core.templatetags.soapshop import TIE, number, percent, trimmed, weight
from soapshop.core.words import in_words as told

HUNDREDTH = 2


def explain_card(sheet: Sheet, workshop: Workshop) -> tuple[Explanation, ...]:
    """All fats, then each line of the card in weighing order, then what is in stock."""
    worked_out = sheet.worked_out
    lines = (_line(line, worked_out, workshop) for line in worked_out.lines)
    return (_fats(worked_out, workshop), *lines, _stock(sheet, workshop))


def _fats(worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    formula = {
        SizeBy.FATS: gettext(
            "The weight that the recipe gives, times the size of this batch against it, rounded to the step "
            "of the scale."
        ),
        SizeBy.BATTER: gettext(
            "All parts of the batter stand to each other as in the recipe, and together make the weight of "
            "batter that it gives, times the size of this batch against it. The fats are rounded to the "
            "scale."
        ),
        SizeBy.MOULD: gettext(
            "The mould holds its inner length times its width times the fill height, or by water. All parts "
            "of the batter stand to each other as in the recipe; the batter takes up its weight divided by "
            "its density and fills the mould, times the size of this batch against it. The fats are rounded "
            "to the scale."
        ),
        SizeBy.PORTIONS: gettext(
            "As much batter as the portions need that say their weight or their height, and the shares of "
            "it that the others take, times the size of this batch against it. The fats are rounded to the "
            "scale."
        ),
        SizeBy.WEIGHTS: gettext(
            "The weights of the fats in the recipe, added up, times the size of this batch against it."
        ),
    }[worked_out.design.size_by]
    size = Entry(gettext("Against the recipe’s own size"), f"× {trimmed(round(worked_out.scale, 4))}")
    return Explanation(
        name=gettext("All fats"),
        figure=weight(worked_out.fat_grams, workshop),
        formula=formula,
        entries=(*_size(worked_out), size),
        source=gettext("The recipe."),
    )


def _size(worked_out: WorkedOut) -> Iterator[Entry]:
    design, mould = worked_out.design, worked_out.design.mould
    if design.size_by == SizeBy.WEIGHTS:
        fats = sum(float(part.amount) for part in design.of(Kind.FAT))
        yield Entry(gettext("Fats in the recipe"), exact(fats))
    elif design.size_by in (SizeBy.FATS, SizeBy.BATTER):
        yield Entry(str(SizeBy(design.size_by).label), exact(float(design.size_grams or 0)))
    elif design.size_by == SizeBy.MOULD and mould and mould.height:
        yield Entry(gettext("Mould"), _mould(mould))
        held = mould.vessel.volume_at(float(mould.height))
        yield Entry(gettext("It holds"), gettext("%(volume)s mL") % {"volume": number(held)})
        yield from _densities(worked_out)


def _mould(mould: Mould) -> str:
    """Which one it is, and what of it is filled."""
    height = gettext("filled %(height)s mm high") % {"height": trimmed(mould.height)}
    if mould.kept:
        return f"{mould.kept.name}, {height}"
    sides = " × ".join(trimmed(side) for side in (mould.length, mould.width))
    return gettext("%(sides)s mm, %(height)s") % {"sides": sides, "height": height}


def _densities(worked_out: WorkedOut) -> Iterator[Entry]:
    density = worked_out.density
    yield Entry(gettext("Density of the batter"), _per_millilitre(density.mean), told(density.source.because))
    yield from (_density(line) for line in worked_out.of(Kind.FAT))
    yield _density_of_lye(worked_out)
    assumed = gettext("where no density is entered: assumed, no source")
    yield Entry(gettext("Everything else"), _per_millilitre(OTHER_DENSITY), assumed)


def _density(line: WeighLine) -> Entry:
    own = line.material.density
    source = (
        gettext("as entered in the stockroom") if own else gettext("the middle of the fats in the catalogue")
    )
    return Entry(line.material.name, _per_millilitre(float(own or FAT_DENSITY)), source)


def _density_of_lye(worked_out: WorkedOut) -> Entry:
    made = worked_out.formulation
    liquid = made.lye_solution_grams - sum(alkali.grams for alkali in made.alkalis)
    density = lye_solution_density(made.alkalis, liquid)
    source = gettext("20 °C: CRC Handbook (NaOH), Laliberté and Cooper 2004 (KOH)")
    return Entry(gettext("Lye solution"), _per_millilitre(density), source)


def _per_millilitre(density: float) -> str:
    return gettext("%(density)s g/mL") % {"density": trimmed(round(density, 3))}


def _line(line: WeighLine, worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    if line.kind in COUNTED:
        return _pieces(line, worked_out, workshop)
    if line.kind == Kind.TOPPING:
        return _topping(line, worked_out, workshop)
    if worked_out.split and line.material in worked_out.split.totals():
        return _in_portions(line, worked_out.split, workshop)
    entries = (*_from(line, worked_out), Entry(gettext("Before rounding"), exact(line.exact)))
    if not line.fine:
        step = Entry(
            gettext("Step of the scale"),
            f"{trimmed(workshop.step_for(line.grams))}{TIE}g",
            gettext("workshop settings"),
        )
        entries = (*entries, step)
    return Explanation(
        name=line.material.name,
        figure=shown(line, workshop),
        formula=_formula(line, worked_out),
        entries=entries,
        source=gettext("The recipe."),
    )


def shown(line: WeighLine, workshop: Workshop) -> str:
    """The weight as the card shows it."""
    if line.fine:
        return f"{number(line.grams, HUNDREDTH)}{TIE}g"
    return weight(line.grams, workshop)


def _formula(line: WeighLine, worked_out: WorkedOut) -> str:
    if line.kind == Kind.FAT and worked_out.design.by_weight:
        return gettext(
            "As the recipe gives it, times the size, rounded to the scale so that the sum of the fats stays."
        )
    if line.kind == Kind.FAT:
        return gettext(
            "The weight of all fats times its share, rounded to the scale so that the sum of the fats stays."
        )
    if line.kind == Kind.ALKALI:
        return gettext(
            "The alkali for the fats as weighed, times its share by mol, rounded down to the scale, so that "
            "the superfat is never less than was aimed at. Of several alkalis the one that can be weighed "
            "most finely makes up for the rounding of the others."
        )
    if line.kind == Kind.LIQUID:
        return gettext("The liquid times its share, rounded to the step of the scale.")
    if line.fine:
        return gettext(
            "The weight of all fats times its share. It is less than a step of your scale, so it is given to "
            "a hundredth of a gram."
        )
    return gettext("The weight of all fats times its share, rounded to the step of the scale.")


def _from(line: WeighLine, worked_out: WorkedOut) -> Iterator[Entry]:
    """What the weight is a share of, and the share."""
    if line.kind == Kind.ALKALI:
        all_alkali = sum(alkali.grams for alkali in worked_out.formulation.alkalis)
        yield Entry(gettext("All alkali, before rounding"), exact(all_alkali))
    elif line.kind == Kind.LIQUID:
        whole = line.exact * float(WHOLE / line.share)
        yield Entry(gettext("Liquid, before rounding"), exact(whole))
    elif line.kind == Kind.FAT and worked_out.design.by_weight:
        yield Entry(gettext("In the recipe"), exact(float(line.part.amount)))
        yield Entry(gettext("Against the recipe’s own size"), f"× {trimmed(round(worked_out.scale, 4))}")
    else:
        yield Entry(gettext("All fats, before rounding"), exact(line.exact * float(WHOLE / line.share)))
    yield Entry(gettext("Its share"), percent(line.share, _places(line)))


def _places(line: WeighLine) -> int:
    return max(0, -int(line.share.normalize().as_tuple().exponent))


def _in_portions(line: WeighLine, split: Split, workshop: Workshop) -> Explanation:
    carrying = ((jug, one) for jug in split.jugs for one in jug.goes_in if one.material == line.material)
    return Explanation(
        name=line.material.name,
        figure=shown(line, workshop),
        formula=gettext(
            "In each portion that carries it, its share of the fats or of the weight of that portion, "
            "rounded to the scale; all portions together."
        ),
        entries=tuple(
            Entry(
                jug.design.name,
                exact(float(one.grams)),
                gettext("in %(batter)s of batter") % {"batter": weight(jug.batter, workshop)},
            )
            for jug, one in carrying
        ),
        source=gettext("The portions of the recipe."),
    )


def _topping(line: WeighLine, worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    return Explanation(
        name=line.material.name,
        figure=shown(line, workshop),
        formula=gettext("The grams for a bar times the bars, rounded to the step of the scale."),
        entries=(
            Entry(gettext("For a bar"), exact(float(line.share))),
            Entry(gettext("Bars"), number(worked_out.bars)),
        ),
        source=gettext("The recipe."),
    )


def _pieces(line: WeighLine, worked_out: WorkedOut, workshop: Workshop) -> Explanation:
    return Explanation(
        name=line.material.name,
        figure=in_words(line.grams, line.material, workshop=workshop),
        formula=gettext("The pieces for a bar times the bars, rounded up."),
        entries=(
            Entry(gettext("For a bar"), trimmed(line.share)),
            Entry(gettext("Bars"), number(worked_out.bars)),
        ),
        source=gettext("The recipe."),
    )


def _stock(sheet: Sheet, workshop: Workshop) -> Explanation:
    short = sum(need.short > 0 for need in sheet.needs)
    lacking = gettext("%(count)s short") % {"count": number(short)}
    return Explanation(
        name=gettext("In stock"),
        figure=lacking if short else gettext("enough of each"),
        formula=gettext(
            "What the lots of a material hold together. Lots that are past their best-before on the day do "
            "not count. What is short is the weight of the card less what there is."
        ),
        entries=tuple(
            Entry(
                need.material.name,
                in_words(need.on_hand, need.material, workshop=workshop),
                ", ".join(lot.code for lot, _ in need.portions),
            )
            for need in sheet.needs
        ),
        source=gettext("The books of the stockroom."),
    )
