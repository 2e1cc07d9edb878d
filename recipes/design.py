"""What a version says about making the soap, apart from the database, and what makes it unmakeable."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext, gettext_noop

from inventory.models import Kind, Material
from recipes.errors import DesignError
from recipes.models import LiquidBy, LiquidScope, Process, SizeBy, Stage, Version
from recipes.models import Mould as KeptMould
from recipes.portions import PortionDesign, check_portions, portions_of
from shared.moulds import LARGEST_MM, MouldError, Vessel, box
from shared.placing import MOST_EMBEDS
from shared.saponification import Sap
from soapshop.core.words import in_words, with_decimal_sign

MOST_PARTS = 60
WHOLE = Decimal(100)

# The list of the form in which each kind of material stands.
LIST_OF = {
    Kind.FAT: "fats",
    Kind.ALKALI: "alkalis",
    Kind.LIQUID: "liquids",
    Kind.FRAGRANCE: "fragrances",
    Kind.COLOUR: "colours",
    Kind.ADDITIVE: "additives",
    Kind.EMBED: "embeds",
    Kind.TOPPING: "toppings",
    Kind.PACKAGING: "packaging",
}

# When a material of that kind may go in, if not as usual.
OTHER_STAGE = {Kind.FAT: Stage.COOK, Kind.LIQUID: Stage.TRACE, Kind.ADDITIVE: Stage.LYE}

# What is given in shares of a whole, and what is said where they come to less, or to more.
SHARED_OUT = {
    Kind.FAT: (
        gettext_noop("The fats add up to %(total)s %%; %(gap)s %% is missing."),
        gettext_noop("The fats add up to %(total)s %%; that is %(gap)s %% too much."),
    ),
    Kind.ALKALI: (
        gettext_noop("The shares of the alkali add up to %(total)s %%; %(gap)s %% is missing."),
        gettext_noop("The shares of the alkali add up to %(total)s %%; that is %(gap)s %% too much."),
    ),
    Kind.LIQUID: (
        gettext_noop("The shares of the liquid add up to %(total)s %%; %(gap)s %% is missing."),
        gettext_noop("The shares of the liquid add up to %(total)s %%; that is %(gap)s %% too much."),
    ),
}

# Beyond these a figure is a slip of the pen, whatever would dissolve: per cent, grams to a gram, per cent.
LIQUID_LIMITS = {
    LiquidBy.CONCENTRATION: (Decimal(5), Decimal(60)),
    LiquidBy.RATIO: (Decimal("0.6"), Decimal(20)),
    LiquidBy.OF_FATS: (Decimal(5), Decimal(300)),
}


@dataclass(frozen=True, slots=True)
class Part:
    """A material and its amount, which means what `Ingredient` says for its kind, and when it goes in."""

    material: Material
    amount: Decimal
    stage: Stage = Stage.USUAL

    @property
    def kind(self) -> Kind:
        return Kind(self.material.kind)


@dataclass(frozen=True, slots=True)
class Mould:
    """The inner sides of a mould in mm, or which of the workshop's it is, and how high it is filled.

    Without a height it is told only what the batter covers: the size of the batch is given otherwise.
    """

    length: Decimal | None
    width: Decimal | None
    height: Decimal | None
    kept: KeptMould | None = None

    @property
    def vessel(self) -> Vessel:
        """Its inside. Raises DesignError for sides that cannot be, and where it would run over."""
        try:
            if self.kept is None:
                depth = LARGEST_MM if self.height is None else float(self.height)
                return box(float(self.length or 0), float(self.width or 0), depth)
            vessel = self.kept.vessel
        except MouldError as error:
            raise DesignError(_SIDES.get(error.field, "mould"), in_words(error.args[0])) from error
        if self.height is not None and float(self.height) > vessel.depth_mm:
            words = gettext("%(mould)s is %(depth)s mm deep inside; it cannot be filled higher.")
            figures = {"mould": self.kept, "depth": _plain(Decimal(f"{vessel.depth_mm:.1f}"))}
            raise DesignError("mould_height", words % figures)
        return vessel


_SIDES = {
    "length": "mould_length",
    "width": "mould_width",
    "height": "mould_height",
    "depth": "mould_height",
    "area": "mould_length",
}


@dataclass(frozen=True, slots=True)
class Design:
    """All that a version says about making the soap."""

    superfat: Decimal
    liquid_by: LiquidBy
    liquid_value: Decimal
    size_by: SizeBy
    size_grams: Decimal | None
    mould: Mould | None
    bars: int
    parts: tuple[Part, ...]
    liquid_scope: LiquidScope = LiquidScope.BATTER
    process: Process = Process.COLD
    portions: tuple[PortionDesign, ...] = ()

    def of(self, kind: Kind) -> tuple[Part, ...]:
        return tuple(part for part in self.parts if part.kind == kind)

    @property
    def materials(self) -> tuple[Material, ...]:
        """All that it is made of, what goes into single portions too."""
        into = (one.material for portion in self.portions for one in portion.additions)
        return tuple(dict.fromkeys((*(part.material for part in self.parts), *into)))

    @property
    def cooked(self) -> tuple[Part, ...]:
        """The fats that the lye is worked out for."""
        return tuple(part for part in self.of(Kind.FAT) if part.stage != Stage.COOK)

    @property
    def after_cook(self) -> tuple[Part, ...]:
        """The fats of a hot process that go in when the others are soap, and stay fat."""
        return tuple(part for part in self.of(Kind.FAT) if part.stage == Stage.COOK)

    @property
    def lye_is_ready_made(self) -> bool:
        """Whether all alkali comes as a solution, which brings its own water."""
        return all(part.material.dissolved for part in self.of(Kind.ALKALI))

    @property
    def by_weight(self) -> bool:
        """Whether each fat is given in grams rather than as a share."""
        return self.size_by == SizeBy.WEIGHTS


def design_of(version: Version) -> Design:
    """The design of a version that was fetched `with_ingredients`."""
    length, width, height = version.mould_length, version.mould_width, version.mould_height
    known = version.mould_id or (length and width)
    return Design(
        superfat=version.superfat,
        liquid_by=LiquidBy(version.liquid_by),
        liquid_value=version.liquid_value,
        size_by=SizeBy(version.size_by),
        size_grams=version.size_grams,
        mould=Mould(length, width, height, version.mould) if known else None,
        bars=version.bars,
        parts=tuple(Part(one.material, one.amount, Stage(one.stage)) for one in version.ingredients.all()),
        liquid_scope=LiquidScope(version.liquid_scope),
        process=Process(version.process),
        portions=portions_of(version),
    )


def check(design: Design) -> None:
    """Raise DesignError for what no size and no lot can put right."""
    _check_amounts(design)
    _check_none_twice(design)
    _check_none_missing(design)
    _check_stages(design)
    _check_sums(design)
    _check_materials(design)
    _check_liquid(design)
    _check_size(design)
    check_portions(design.portions, (part.material for part in design.parts))


def sum_problem(kind: Kind, total: Decimal) -> str:
    """What is wrong with shares of that kind that come to `total` per cent; nothing where they are whole."""
    if total == WHOLE:
        return ""
    too_little, too_much = SHARED_OUT[kind]
    words = gettext(too_little if total < WHOLE else too_much)
    return words % {"total": _plain(total), "gap": _plain(abs(WHOLE - total))}


def sap_of(part: Part) -> Sap:
    """The fat's own saponification value. Raises DesignError where it has none yet."""
    if part.material.sap is None:
        raise _at(
            part, gettext("%(material)s has no saponification value yet. Give it one in the stockroom.")
        )
    return part.material.sap


def purity_of(part: Part) -> tuple[float, float]:
    """Lowest and highest per cent of the alkali as it is sold. Raises DesignError where it is not known."""
    if not part.material.alkali or part.material.purity_range is None:
        raise _at(part, gettext("%(material)s does not say yet which alkali it is and how pure."))
    return part.material.purity_range


def mould_of(design: Design) -> Mould:
    """The mould that tells the size. Raises DesignError where its sides or its fill height are not given."""
    if design.mould is None or design.mould.height is None:
        words = gettext("Choose a mould and say how high it is filled, or give its inner sides.")
        raise DesignError("mould_length", words)
    return design.mould


def _check_amounts(design: Design) -> None:
    if len(design.parts) > MOST_PARTS:
        words = gettext("A recipe holds up to %(most)d materials; this one has %(parts)d.")
        raise DesignError("fats", words % {"most": MOST_PARTS, "parts": len(design.parts)})
    for part in design.parts:
        if not (part.amount.is_finite() and part.amount > 0):
            raise _at(part, gettext("%(material)s needs an amount above zero."))
    for part in design.of(Kind.EMBED):
        if part.amount != int(part.amount) or part.amount > MOST_EMBEDS:
            words = gettext("%(embed)s: a bar has whole pieces on it, up to %(most)d.")
            figures = {"embed": part.material, "most": MOST_EMBEDS}
            raise DesignError(LIST_OF[Kind.EMBED], words % figures, part.material)


def _check_none_twice(design: Design) -> None:
    counts = Counter(part.material.pk for part in design.parts)
    for part in design.parts:
        if counts[part.material.pk] > 1:
            raise _at(part, gettext("%(material)s stands in the list twice."))


def _check_none_missing(design: Design) -> None:
    for kind, words in (
        (Kind.FAT, gettext("Choose at least one fat or oil.")),
        (Kind.ALKALI, gettext("Choose the alkali; sodium hydroxide makes a hard bar.")),
        (Kind.LIQUID, gettext("Choose the liquid that the lye goes into; water will do.")),
    ):
        if not design.of(kind) and not (kind == Kind.LIQUID and design.lye_is_ready_made):
            raise DesignError(LIST_OF[kind], words)


def _check_stages(design: Design) -> None:
    for part in design.parts:
        if part.stage not in {Stage.USUAL, OTHER_STAGE.get(part.kind)}:
            raise _at(part, gettext("%(material)s cannot go in at that time."))
        if part.stage == Stage.COOK and design.process != Process.HOT:
            raise _at(
                part, gettext("%(material)s: there is no cook in the cold process. Choose hot process.")
            )
    if not design.cooked:
        raise DesignError(LIST_OF[Kind.FAT], gettext("A fat must be in the pot from the beginning."))
    liquids = design.of(Kind.LIQUID)
    if liquids and not design.lye_is_ready_made and all(part.stage == Stage.TRACE for part in liquids):
        raise DesignError(LIST_OF[Kind.LIQUID], gettext("Something must be left to mix the lye with."))


def _check_sums(design: Design) -> None:
    for kind in SHARED_OUT:
        if kind == Kind.FAT and design.by_weight:
            continue
        if not design.of(kind):
            continue
        total = sum((part.amount for part in design.of(kind)), Decimal(0))
        if problem := sum_problem(kind, total):
            raise DesignError(LIST_OF[kind], problem)


def _check_materials(design: Design) -> None:
    for part in design.of(Kind.FAT):
        sap_of(part)
    for part in design.of(Kind.ALKALI):
        purity_of(part)


def _check_liquid(design: Design) -> None:
    low, high = LIQUID_LIMITS[design.liquid_by]
    if not (design.liquid_value.is_finite() and low <= design.liquid_value <= high):
        words = (
            gettext("This must be from %(low)s to %(high)s g to each gram of alkali.")
            if design.liquid_by == LiquidBy.RATIO
            else gettext("This must be from %(low)s to %(high)s %%.")
        )
        raise DesignError("liquid_value", words % {"low": _plain(low), "high": _plain(high)})


def _check_size(design: Design) -> None:
    if not 1 <= design.bars <= 2000:
        raise DesignError("bars", gettext("A recipe makes from 1 to 2000 bars."))
    if design.size_by == SizeBy.MOULD:
        mould_of(design)
    if design.size_by == SizeBy.PORTIONS and not design.portions:
        raise DesignError("size_by", gettext("Say first what its portions are; then they tell its size."))
    weighed = design.size_by in {SizeBy.FATS, SizeBy.BATTER}
    if weighed and not (design.size_grams and design.size_grams.is_finite() and design.size_grams > 0):
        words = (
            gettext("Give the weight of all fats.")
            if design.size_by == SizeBy.FATS
            else gettext("Give the weight of batter.")
        )
        raise DesignError("size_grams", words)


def _at(part: Part, words: str) -> DesignError:
    """The words may name the material."""
    return DesignError(LIST_OF[part.kind], words % {"material": part.material}, part.material)


def _plain(figure: Decimal) -> str:
    return with_decimal_sign(f"{figure.normalize():f}")
