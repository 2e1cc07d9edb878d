"""From the stockroom to `shared.blend` and `shared.swap`: materials as fats to choose from, and back to rows.

No queries: materials, lots and prices are handed in, already read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from urllib.parse import urlencode

from inventory.models import Kind, Lot, Material, Origin
from recipes.depth.fatty_acids import FILLS
from recipes.design import LIST_OF
from recipes.formulation import WorkedOut
from recipes.pot import fat_kind
from shared.blend import Candidate, Group, profile_of
from shared.chemistry import AlkaliKind
from shared.ingredients import AlkaliChoice, FatKind
from shared.profile import Part, blend_of
from shared.swap import Batch
from shared.words import Phrase
from soapshop.core.words import in_words

GRAMS_IN_A_KILO = 1000
THOUSANDTH = Decimal("0.001")

LEAST_DRAWN = 0.05  # per cent; less is none
NOT_ROUNDING = 1.0
ROOM_FOR_A_FIGURE = 9.0  # per cent
NOT_KNOWN = Phrase("not known")
UNKNOWN_FILL = "waves"


@dataclass(frozen=True, slots=True)
class Fat:
    """A fat of the stockroom. Grams count what keeps; `price` is money a kg, as last paid.

    `expiring` is what of it goes off soon. `origin_known` tells whether one can say that it is neither from
    palm nor from animals.
    """

    material: Material
    on_hand: Decimal
    expiring: Decimal
    price: Decimal | None

    @property
    def name(self) -> str:
        return self.material.name

    @property
    def origin_known(self) -> bool:
        return self.material.known_origin is not None

    def candidate(self, *, to_buy: bool = False) -> Candidate:
        """The fat as the calculations want it. One `to_buy` is not held to what is on hand."""
        known, sap, origin = self.material.published, self.material.sap, self.material.known_origin
        return Candidate(
            name=self.name,
            profile=profile_of(known) if known else {},
            iodine=blend_of([Part(self.name, 1.0, known)]).iodine,
            sap=sap.nominal if sap else None,
            price=float(self.price) if self.price is not None else None,
            on_hand=None if to_buy else float(self.on_hand),
            expiring=float(self.expiring),
            palm=origin == Origin.PALM,
            animal=origin == Origin.ANIMAL,
            wax=fat_kind(self.material) is FatKind.WAX,
            label=self.material.inci_name,
        )


def fat_of(
    material: Material, lots: Sequence[Lot], gram_price: Decimal | None, *, day: date, warn_days: int
) -> Fat:
    """A fat with its usable lots and the price of a gram of it, if it was ever bought."""
    soon = day + timedelta(days=warn_days)
    expiring = [lot.on_hand for lot in lots if lot.best_before and lot.best_before <= soon]
    return Fat(
        material=material,
        on_hand=sum((lot.on_hand for lot in lots), Decimal(0)),
        expiring=sum(expiring, Decimal(0)),
        price=None if gram_price is None else gram_price * GRAMS_IN_A_KILO,
    )


def batch_of(worked_out: WorkedOut) -> Batch:
    """What lye and stock are worked out for."""
    alkalis = tuple(
        AlkaliChoice(
            AlkaliKind(line.material.alkali), *line.purity, float(line.share), line.material.dissolved
        )
        for line in worked_out.of(Kind.ALKALI)
        if line.purity
    )
    return Batch(float(worked_out.fat_grams), float(worked_out.design.superfat), alkalis)


def amounts_of(shares: Mapping[str, float], whole: Decimal = Decimal(100)) -> dict[str, Decimal]:
    """Amounts to type for these shares, in %, of a whole: the largest takes what rounding leaves."""
    exact = {name: whole * Decimal(str(share)) / 100 for name, share in shares.items()}
    amounts = {name: amount.quantize(THOUSANDTH) for name, amount in exact.items()}
    largest = max(amounts, key=lambda name: amounts[name])
    amounts[largest] += whole - sum(amounts.values(), Decimal(0))
    return {name: amount for name, amount in amounts.items() if amount > 0}


def rows_query(amounts: Mapping[Material, Decimal], **fields: str) -> str:
    """A question to the form of a recipe that fills in the fats, and other `fields` by their names."""
    fats = LIST_OF[Kind.FAT]
    rows = [
        pair
        for material, amount in amounts.items()
        for pair in ((f"{fats}-material", material.pk), (f"{fats}-amount", f"{amount.normalize():f}"))
    ]
    return urlencode([*rows, *fields.items()])


@dataclass(frozen=True, slots=True)
class Stretch:
    """A group of fatty acids in the picture of a blend; places are in per cent, as SVG wants them."""

    label: str
    per_cent: float
    fill: str
    x: str
    width: str
    middle: str

    @property
    def has_room(self) -> bool:
        """Whether its figure can stand over it."""
        return self.per_cent >= ROOM_FOR_A_FIGURE


def acid_bar(groups: Mapping[Group, float]) -> tuple[Stretch, ...]:
    """The groups that a blend holds, side by side and to scale, and last what is not known of it."""
    known = [(group.label, share, FILLS[group]) for group, share in groups.items() if share >= LEAST_DRAWN]
    unknown = 100 - sum(groups.values())
    drawn = [*known, (NOT_KNOWN, unknown, UNKNOWN_FILL)] if unknown >= NOT_ROUNDING else known
    total = sum(share for _, share, _ in drawn)
    stretches, x = [], 0.0
    for label, share, fill in drawn:
        width = 100 * share / total
        places = (f"{place:.2f}%" for place in (x, width, x + width / 2))
        stretches.append(Stretch(in_words(label), share, fill, *places))
        x += width
    return tuple(stretches)
