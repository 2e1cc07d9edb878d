"""What the pot turns into: soap, glycerin, what is left unsaponified, water. Mass in is mass out.

The reactions, with n mol of alkali MOH (M is sodium or potassium):

* triglyceride + n MOH -> n soap + n/3 glycerol
* free fatty acid + n MOH -> n soap + n water
* wax ester + n MOH -> n soap and n fatty alcohol, which stay together here
* acid of z protons + z MOH -> salt + z water

Acids take alkali first. What is left of it is shared among the fats in proportion to what each can take, so
that the same share of each stays unsaponified: which fat really stays cannot be known. Fats added after the
cook of a hot process only get what the others leave. Two alkalis are shared by mol. Nominal saponification
values and mean purities throughout. Weights are grams.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from shared.chemistry import M_GLYCEROL, M_WATER, AlkaliKind
from shared.contents import Contents, PotFat, PotLiquid
from shared.ingredients import (
    MAX_GRAMS,
    Acid,
    Alkali,
    Fat,
    FatKind,
    FormulaError,
    check_acids,
    check_alkalis,
    check_fats,
)
from shared.liquids import check_liquid
from shared.words import Phrase

USUAL_WATER: Final = 10.0
"""% of water in a cured bar where nobody weighed it: common practice, no source."""
NEXT_TO_NOTHING: Final = 1e-9
"""Grams; less than this is a rounding error."""


@dataclass(frozen=True, slots=True)
class Soap:
    """Soap of one fat with one alkali; ``fatty_acids`` is what it weighs as free acids."""

    fat: PotFat
    alkali: AlkaliKind
    grams: float
    fatty_acids: float


@dataclass(frozen=True, slots=True)
class Amount:
    """Grams of something, by its plain name and its name in a list of ingredients ("" where unknown)."""

    name: str
    grams: float
    inci_name: str = ""


@dataclass(frozen=True, slots=True)
class FinishedBar:
    """What all bars of a pot hold together, in grams.

    ``saponified`` is the share in % of the fats that became soap. ``unsaponified`` leaves out the
    unsaponifiable matter, which stands by itself. ``rest`` is what did not react: sugar, salt, protein,
    fragrance, colour, and what of the dry alkali was no alkali. Alcohol is taken to leave before the water.
    ``water`` is that of the fresh batter, ``water_left`` that of the cured bar, ``water_assumed`` whether
    that is the usual share and nobody's weighing.
    """

    put_in: float
    soaps: tuple[Soap, ...]
    glycerin: float
    unsaponified: tuple[Amount, ...]
    unsaponifiable: float
    salts: tuple[Amount, ...]
    free_alkali: tuple[Amount, ...]
    rest: tuple[Amount, ...]
    alcohol: float
    water: float
    water_left: float
    saponified: float
    water_assumed: bool = False

    @property
    def soap(self) -> float:
        return sum(soap.grams for soap in self.soaps)

    @property
    def dry(self) -> float:
        """All but water and alcohol."""
        parts = (*self.unsaponified, *self.salts, *self.free_alkali, *self.rest)
        return self.soap + self.glycerin + self.unsaponifiable + sum(part.grams for part in parts)

    @property
    def fresh(self) -> float:
        """Everything just after the reaction; equal to ``put_in``."""
        return self.dry + self.water + self.alcohol

    @property
    def cured(self) -> float:
        return self.dry + self.water_left

    @property
    def loss(self) -> float:
        """% of the fresh weight that leaves while the bars cure."""
        return 100 * (1 - self.cured / self.fresh)

    @property
    def total_fatty_matter(self) -> float:
        """Grams of all fatty matter, on the idea of ISO 685.

        What does not dissolve in water once a mineral acid has taken the soap apart: the fatty acids of the
        soaps, the unsaponified fat and the unsaponifiable matter. Waxes count whole. Computed, so that the
        short acids (C6 to C10), part of which a laboratory loses to the water, are in it.
        """
        acids = sum(soap.fatty_acids for soap in self.soaps)
        return acids + sum(part.grams for part in self.unsaponified) + self.unsaponifiable

    def share(self, grams: float) -> float:
        """Grams in % of the cured bar."""
        return 100 * grams / self.cured


def finish(contents: Contents, *, loss: float | None = None, water_left: float | None = None) -> FinishedBar:
    """The finished bar of a pot.

    ``loss`` is what the bars lost while curing, in % of the fresh weight; or else ``water_left`` is the
    water in % of the cured bar; without either it is taken as ``USUAL_WATER``, or as what is there if less.
    Raises FormulaError for weights that make no sense, acids that take all the alkali, and a loss of more
    water than there is.
    """
    _check(contents)
    fresh = _react(contents)
    if loss is not None:
        return replace(fresh, water_left=_left_after(loss, fresh))
    if water_left is not None:
        return replace(fresh, water_left=_left_at(water_left, fresh))
    usual = fresh.dry * USUAL_WATER / (100 - USUAL_WATER)
    return replace(fresh, water_left=min(fresh.water, usual), water_assumed=True)


def _left_after(loss: float, fresh: FinishedBar) -> float:
    """Water left when so many % of the fresh weight are gone, alcohol first."""
    if not 0 <= loss < 100:
        raise FormulaError("liquid", Phrase("The loss of weight must lie between 0 and 100 %."))
    gone = loss / 100 * fresh.fresh
    left = fresh.water - max(gone - fresh.alcohol, 0.0)
    if left < -NEXT_TO_NOTHING * fresh.dry:
        raise FormulaError("liquid", Phrase("The bars cannot lose more water than there is in them."))
    return max(left, 0.0)


def _left_at(share: float, fresh: FinishedBar) -> float:
    if not 0 <= share < 100:
        raise FormulaError("liquid", Phrase("The water of a cured bar must lie between 0 and 100 %."))
    left = fresh.dry * share / (100 - share)
    if left > fresh.water + NEXT_TO_NOTHING * fresh.dry:
        most = 100 * fresh.water / fresh.fresh
        raise FormulaError(
            "liquid", Phrase("The fresh bars hold only %(share)s %% water.", share=f"{most:.1f}")
        )
    return left


def _check(contents: Contents) -> None:
    check_fats([part.fat for part in contents.all_fats])
    check_alkalis(contents.alkalis)
    check_acids(contents.acids)
    for part in contents.all_fats:
        if not 0 <= part.unsaponifiable < 1000:
            raise FormulaError(
                "fats",
                Phrase(
                    "%(name)s: unsaponifiable matter must lie between 0 and 1000 g/kg.", name=part.fat.name
                ),
            )
    for liquid in contents.liquids:
        check_liquid(liquid.liquid)
    weights = [*(part.grams for part in contents.liquids), *(extra.grams for extra in contents.extras)]
    if not all(0 <= grams <= MAX_GRAMS for grams in weights):
        raise FormulaError("liquid", Phrase("Each weight must lie between 0 g and 1 tonne."))


@dataclass(frozen=True, slots=True)
class _Brought:
    """What one liquid brings, sorted into what reacts and what does not."""

    water: float
    alcohol: float
    fat: PotFat | None
    free_fat: float
    acid: Acid | None
    dry: float


def _sort(part: PotLiquid) -> _Brought:
    """Fat too little to count takes no alkali. What contents exceed 100 g by is taken off the water."""
    liquid, hundredth = part.liquid, part.grams / 100
    fat, acid = liquid.fat * hundredth, liquid.acid_in(part.grams)
    sour = acid.grams * acid.percent / 100 if acid else 0.0
    water, alcohol = liquid.water * hundredth, liquid.alcohol * hundredth
    dry = part.grams - water - alcohol - fat - sour
    reacts = None
    if liquid.effective_sap and liquid.sap:
        reacts = PotFat(Fat(_fat_name(part), fat, liquid.sap), names=part.fat_names)
    return _Brought(
        water=water + min(dry, 0.0),
        alcohol=alcohol,
        fat=reacts,
        free_fat=0.0 if reacts else fat,
        acid=acid,
        dry=max(dry, 0.0),
    )


def _fat_name(part: PotLiquid) -> Phrase:
    return Phrase("fat of %(liquid)s", liquid=part.liquid.name)


def _react(contents: Contents) -> FinishedBar:
    """The pot taken through the reactions of the module's docstring, nothing dried yet."""
    brought = [(part, _sort(part)) for part in contents.liquids]
    acids = [acid for acid in (*contents.acids, *(one.acid for _, one in brought)) if acid]
    split = _split(contents.alkalis)
    free = sum(alkali.mol for alkali in contents.alkalis) - sum(acid.mol for acid in acids)
    if not free > 0:
        raise FormulaError("acids", Phrase("The acids take up all the lye, so none is left for the fats."))
    cooked = [*contents.fats, *(one.fat for _, one in brought if one.fat)]
    during, left = _share_out(free, cooked)
    after, left = _share_out(left, contents.after_cook)
    fats = [*during, *after]
    salts = [salt for acid in acids for salt in _salts(acid, split)]
    water = _water(contents, acids, salts, split, fats) + sum(one.water for _, one in brought)
    taken = sum(part.fat.mol * share for part, share in fats) / sum(part.fat.mol for part, _ in fats)
    return FinishedBar(
        put_in=contents.grams,
        soaps=tuple(soap for part, share in fats for soap in _soaps(part, share, split)),
        glycerin=sum(_glycerin(part, share) for part, share in fats),
        unsaponified=some(
            *(
                Amount(part.fat.name, _saponifiable(part) * (1 - share), part.names.fat)
                for part, share in fats
            ),
            *(Amount(_fat_name(part), one.free_fat, part.fat_names.fat) for part, one in brought),
        ),
        unsaponifiable=sum(part.fat.grams * part.unsaponifiable / 1000 for part, _ in fats),
        salts=some(*salts),
        free_alkali=some(
            *(
                Amount(kind.label, left * part * kind.molar_mass, inci_of(kind))
                for kind, part in split.items()
            )
        ),
        rest=some(
            *(Amount(part.liquid.name, one.dry, part.inci_name) for part, one in brought),
            *(Amount(extra.name, extra.grams, extra.inci_name) for extra in contents.extras),
            Amount(Phrase("Other matter of the alkali"), sum(_other_matter(one) for one in contents.alkalis)),
        ),
        alcohol=sum(one.alcohol for _, one in brought),
        water=water,
        water_left=water,
        saponified=100 * taken,
    )


def _share_out(free: float, fats: Sequence[PotFat]) -> tuple[list[tuple[PotFat, float]], float]:
    """The fats with the share of each that becomes soap, and the mol of alkali that they leave."""
    takers = [part for part in fats if part.fat.grams > 0]
    can_take = sum(part.fat.mol for part in takers)
    share = min(free / can_take, 1.0) if takers else 0.0
    return [(part, share) for part in takers], max(free - can_take, 0.0)


def _other_matter(alkali: Alkali) -> float:
    """Grams of a dry alkali that are none: water and carbonate."""
    return alkali.grams - alkali.water - alkali.mol * alkali.kind.molar_mass


def _water(
    contents: Contents,
    acids: Sequence[Acid],
    salts: Sequence[Amount],
    split: Mapping[AlkaliKind, float],
    fats: Sequence[tuple[PotFat, float]],
) -> float:
    """Water of lye and acid solutions, and what the reactions of acids and free fatty acids set free."""
    brought = sum(alkali.water for alkali in contents.alkalis)
    brought += sum(acid.grams * (1 - acid.percent / 100) for acid in contents.acids)
    pure = sum(acid.grams * acid.percent / 100 for acid in acids)
    alkali = sum(acid.takes(kind) * part for acid in acids for kind, part in split.items())
    from_acids = pure + alkali - sum(salt.grams for salt in salts)
    free_acids = [(part, share) for part, share in fats if part.fat.kind is FatKind.FREE_ACID]
    return brought + from_acids + sum(share * part.fat.mol * M_WATER for part, share in free_acids)


def _split(alkalis: Iterable[Alkali]) -> dict[AlkaliKind, float]:
    """Share of each alkali by mol, adding up to 1."""
    mol: dict[AlkaliKind, float] = {}
    for alkali in alkalis:
        if alkali.grams > 0:
            mol[alkali.kind] = mol.get(alkali.kind, 0.0) + alkali.mol
    return {kind: amount / sum(mol.values()) for kind, amount in mol.items()}


def _saponifiable(part: PotFat) -> float:
    return part.fat.grams * (1 - part.unsaponifiable / 1000)


def _glycerin(part: PotFat, share: float) -> float:
    if part.fat.kind is not FatKind.TRIGLYCERIDE:
        return 0.0
    return share * part.fat.mol / 3 * M_GLYCEROL


def _soaps(part: PotFat, share: float, split: Mapping[AlkaliKind, float]) -> Iterator[Soap]:
    mol = share * part.fat.mol
    body = share * _saponifiable(part) - _glycerin(part, share)
    if part.fat.kind is FatKind.FREE_ACID:
        body -= mol * M_WATER
    for kind, fraction in split.items():
        # the free acid has hydrogen for the metal: what alkali brings besides its metal, and that, is water
        acids = fraction * (body + mol * M_WATER)
        yield Soap(part, kind, fraction * (body + mol * kind.molar_mass), acids)


def _salts(acid: Acid, split: Mapping[AlkaliKind, float]) -> Iterator[Amount]:
    for kind, fraction in split.items():
        label = acid.kind.salt_label(kind)
        grams = acid.mol / acid.kind.protons * acid.kind.salt_molar_mass(kind) * fraction
        yield Amount(label, grams, label.removeprefix("Tri").title())


def some(*amounts: Amount) -> tuple[Amount, ...]:
    """Those of which there is anything; a rounding error is none."""
    return tuple(amount for amount in amounts if amount.grams > NEXT_TO_NOTHING)


def inci_of(kind: AlkaliKind) -> str:
    return kind.label.title()
