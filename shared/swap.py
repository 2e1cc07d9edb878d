"""A fat that has run out: what comes nearest in its place, and what changes with it.

Shares are % of the weight of all fats, acids % of all fatty acids, weights grams, prices money per kg.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from shared.blend.acids import group_shares
from shared.blend.checks import check_fats, check_grams, check_recipe, check_step
from shared.blend.figures import Figures, Parts, figures_of
from shared.blend.wish import BlendError, Candidate
from shared.chemistry import AlkaliKind
from shared.fats import fatty_acids
from shared.ingredients import AlkaliChoice, FormulaError, check_purity, check_superfat, mol_per_gram
from shared.words import Phrase

WEIGHT = 0.25
"""Weight of each point by which a group of acids, or a single acid, differs. Half the distance is so that of
the groups, half that of the acids; what one has too much another has too little, so each point counts half.
The choice is the project's own: acids of one group stand in for each other, but not wholly."""

MOST_CANDIDATES = 300
_CLEARLY_NEARER = 0.75
"""Two fats are offered where they come nearer by a quarter than either alone, if there is enough of that."""
_SHOWN_AGAIN = 2
"""A fat is offered in no more ways than this."""
_SMALLEST = 1.0
"""Per cent of the blend that each of two fats makes up at least."""
_DUST = 1e-9


Features = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LyeChange:
    """Grams of an alkali, as weighed, that the batch takes more (or, below nil, less)."""

    kind: AlkaliKind
    grams: float


@dataclass(frozen=True, slots=True)
class Replacement:
    """One fat that steps in, its share of the whole blend, and what is there of it.

    ``needed`` is None without a batch. ``enough`` is true where nothing says otherwise.
    """

    name: str
    share: float
    needed: float | None
    enough: bool


@dataclass(frozen=True, slots=True)
class Swap:
    """One way to do without a fat. ``shares`` is the new blend, in the recipe's order, new fats last.

    ``distance`` is how many points of the blend's fatty acids change, groups and single acids counted half
    each; ``lye`` is empty where there is no batch or a saponification value is missing. ``lost`` and
    ``gained`` are names in the list of ingredients.
    """

    replacements: tuple[Replacement, ...]
    shares: Mapping[str, float]
    distance: float
    before: Figures
    after: Figures
    lye: tuple[LyeChange, ...]
    lost: tuple[str, ...]
    gained: tuple[str, ...]

    @property
    def enough(self) -> bool:
        return all(part.enough for part in self.replacements)

    @property
    def words(self) -> tuple[Phrase, ...]:
        """What changes, in plain words, one sentence each."""
        return tuple(_words(self))


@dataclass(frozen=True, slots=True)
class Batch:
    """What the lye and the stock are worked out for: weight of all fats in g, superfat in %, the alkalis."""

    grams: float
    superfat: float
    alkalis: tuple[AlkaliChoice, ...]


def find_swaps(
    recipe: Parts,
    missing: str,
    others: Sequence[Candidate],
    *,
    batch: Batch | None = None,
    step: float = 0.5,
    most: int = 5,
) -> tuple[Swap, ...]:
    """The nearest ways to do without the fat named ``missing``, with one or two of the others.

    ``recipe`` is (share, fat); ``others`` may hold fats of the recipe, which then take a larger share, and
    of what is on hand the recipe's own use goes off first. Ways for which there is enough come first, then
    the nearest. Fats without a known profile are passed over. Raises BlendError.
    """
    _check(recipe, missing, others, batch, step)
    place = _Place(recipe, missing, batch)
    known = [fat for fat in others if fat.profile and fat.name != missing]
    singles = _singles(place, known)
    found = sorted([*singles, *_pairs(place, known, singles, step)], key=lambda way: way.rank)
    return tuple(place.swap(way) for way in _varied(found)[:most])


def _check(
    recipe: Parts, missing: str, others: Sequence[Candidate], batch: Batch | None, step: float
) -> None:
    check_fats([fat for _, fat in recipe])
    check_recipe({fat.name: share for share, fat in recipe})
    if others:
        check_fats(others)
    if len(others) > MOST_CANDIDATES:
        raise BlendError("fats", Phrase("Choose from at most %(most)s fats.", most=MOST_CANDIDATES))
    gone = [fat for share, fat in recipe if fat.name == missing and share > 0]
    if not gone:
        raise BlendError("missing", Phrase("There is no “%(name)s” in this recipe.", name=missing[:60]))
    if not gone[0].profile:
        words = Phrase("The fatty acids of %(name)s are not known: nothing can be compared.", name=missing)
        raise BlendError("missing", words)
    check_step(step)
    if batch is not None:
        _check_batch(batch)


def _check_batch(batch: Batch) -> None:
    check_grams("batch_grams", Phrase("The batch"), batch.grams)
    try:
        check_superfat(batch.superfat)
        for alkali in batch.alkalis:
            check_purity(alkali)
    except FormulaError as error:
        raise BlendError(error.field, error.args[0]) from error
    if batch.alkalis and not math.isclose(sum(choice.share for choice in batch.alkalis), 100, abs_tol=1e-6):
        raise BlendError("alkalis", Phrase("The shares of the alkalis must add up to 100 %."))


@dataclass(frozen=True, slots=True)
class _Way:
    """Fats with their shares of the blend, in place of the missing one."""

    parts: tuple[tuple[float, Candidate], ...]
    distance: float
    enough: bool

    @property
    def rank(self) -> tuple[bool, float]:
        return not self.enough, self.distance


class _Place:
    """The gap that the missing fat leaves in a recipe."""

    def __init__(self, recipe: Parts, missing: str, batch: Batch | None) -> None:
        self.recipe, self.missing, self.batch = recipe, missing, batch
        (self.share, gone), *_ = [part for part in recipe if part[1].name == missing]
        self.target = _features(gone)

    def room(self, fat: Candidate) -> float:
        """Largest share of the blend that its stock still covers, after the recipe's own use of it."""
        if self.batch is None or fat.on_hand is None:
            return math.inf
        own = sum(share for share, used in self.recipe if used.name == fat.name)
        return 100 * fat.on_hand / self.batch.grams - own

    def way(self, *parts: tuple[float, Candidate, Features]) -> _Way:
        mixed = [0.0] * len(self.target)
        for share, _, features in parts:
            mixed = [sum_ + share * feature for sum_, feature in zip(mixed, features, strict=True)]
        missed = sum(
            abs(found - self.share * wanted) for found, wanted in zip(mixed, self.target, strict=True)
        )
        enough = all(share <= self.room(fat) + _DUST for share, fat, _ in parts)
        return _Way(tuple((share, fat) for share, fat, _ in parts), WEIGHT * missed / 100, enough)

    def swap(self, way: _Way) -> Swap:
        shares = {fat.name: share for share, fat in self.recipe if fat.name != self.missing}
        for share, fat in way.parts:
            shares[fat.name] = shares.get(fat.name, 0.0) + share
        fats = {fat.name: fat for fat in (*(fat for _, fat in self.recipe), *(fat for _, fat in way.parts))}
        after = [(share, fats[name]) for name, share in shares.items()]
        before, now = _labels(self.recipe), _labels(after)
        return Swap(
            replacements=tuple(self._replacement(share, fat) for share, fat in way.parts),
            shares=shares,
            distance=way.distance,
            before=figures_of(self.recipe),
            after=figures_of(after),
            lye=tuple(self._lye(way)),
            lost=tuple(label for label in before if label not in now),
            gained=tuple(label for label in now if label not in before),
        )

    def _replacement(self, share: float, fat: Candidate) -> Replacement:
        needed = None if self.batch is None else self.batch.grams * share / 100
        return Replacement(fat.name, share, needed, share <= self.room(fat) + _DUST)

    def _lye(self, way: _Way) -> Iterator[LyeChange]:
        """The change alone: acids and all else that takes lye stay as they are."""
        gone = next(fat for _, fat in self.recipe if fat.name == self.missing)
        saps = [(-self.share, gone.sap), *((share, fat.sap) for share, fat in way.parts)]
        if self.batch is None or any(sap is None for _, sap in saps):
            return
        more = sum(share * (sap or 0.0) for share, sap in saps) / 100
        mol = self.batch.grams * mol_per_gram(more) * (1 - self.batch.superfat / 100)
        for choice in self.batch.alkalis:
            purity = (choice.purity_low + choice.purity_high) / 2
            yield LyeChange(choice.kind, mol * choice.share * choice.kind.molar_mass / purity)


def _features(fat: Candidate) -> Features:
    """What is compared: each group of acids, then each acid, in %."""
    groups = group_shares(fat.profile)
    return (*groups.values(), *(fat.profile.get(acid, 0.0) for acid in fatty_acids()))


def _labels(parts: Parts) -> list[str]:
    return list(dict.fromkeys(fat.label or fat.name for share, fat in parts if share > 0))


def _singles(place: _Place, fats: Sequence[Candidate]) -> list[_Way]:
    return [place.way((place.share, fat, _features(fat))) for fat in fats]


def _pairs(place: _Place, fats: Sequence[Candidate], singles: Sequence[_Way], step: float) -> Iterator[_Way]:
    """Pairs of which there is enough, and that come clearly nearer than either alone would."""
    known = [
        (fat, _features(fat), way.distance if way.enough else math.inf)
        for fat, way in zip(fats, singles, strict=True)
    ]
    for (one, ones, near), (other, others, nearby) in combinations(known, 2):
        split = _best_split(ones, others, place.target) * place.share
        split = min(max(split, place.share - place.room(other)), place.room(one))
        around = {round(step * steps, 6) for steps in (math.floor(split / step), math.ceil(split / step))}
        ways = [
            place.way((share, one, ones), (round(place.share - share, 6), other, others))
            for share in around
            if _SMALLEST <= share <= place.share - _SMALLEST
        ]
        yield from sorted(
            (way for way in ways if way.enough and way.distance < _CLEARLY_NEARER * min(near, nearby)),
            key=lambda way: way.distance,
        )[:1]


def _best_split(one: Features, other: Features, target: Features) -> float:
    """Share of one, from 0 to 1, in the mixture of two that comes nearest to the target.

    The distance is a sum of absolute values, each nil at one mixture: the least lies at their weighted
    median.
    """
    crossings = sorted(
        ((wanted - y) / (x - y), abs(x - y))
        for x, y, wanted in zip(one, other, target, strict=True)
        if x != y
    )
    left = sum(weight for _, weight in crossings) / 2
    for crossing, weight in crossings:
        left -= weight
        if left <= 0:
            return min(max(crossing, 0.0), 1.0)
    return 0.5


def _varied(ways: Sequence[_Way]) -> list[_Way]:
    """The same in their order, but no fat more than a few times."""
    shown: Counter[str] = Counter()
    kept = []
    for way in ways:
        names = [fat.name for _, fat in way.parts]
        if all(shown[name] < _SHOWN_AGAIN for name in names):
            shown.update(names)
            kept.append(way)
    return kept


_LYE = Phrase("%(amount)s g more %(what)s."), Phrase("%(amount)s g less %(what)s.")
_ACIDS = Phrase("%(amount)s points more %(what)s."), Phrase("%(amount)s points less %(what)s.")
_IODINE = Phrase("%(amount)s more in iodine value."), Phrase("%(amount)s less in iodine value.")
_COST = Phrase("%(amount)s a kg dearer."), Phrase("%(amount)s a kg cheaper.")
_PALM = Phrase("There is palm in it now."), Phrase("No palm in it any more.")
_ANIMAL = Phrase("There is animal fat in it now."), Phrase("No animal fat in it any more.")


def _words(swap: Swap) -> Iterator[Phrase]:
    before, after = swap.before, swap.after
    for part in swap.replacements:
        if not part.enough:
            grams = f"{part.needed:.0f}"
            yield Phrase("There is not enough %(name)s: it takes %(grams)s g.", name=part.name, grams=grams)
    for change in swap.lye:
        yield from _change(_LYE, change.grams, 1, Phrase(change.kind.label))
    for group, share in after.groups.items():
        yield from _change(_ACIDS, share - before.groups[group], 1, group.label)
    if before.iodine is not None and after.iodine is not None:
        yield from _change(_IODINE, after.iodine - before.iodine, 1)
    if before.cost is not None and after.cost is not None:
        yield from _change(_COST, after.cost - before.cost, 2)
    yield from _presence(_PALM, before.palm, after.palm)
    yield from _presence(_ANIMAL, before.animal, after.animal)
    if swap.lost:
        yield Phrase("The list of ingredients loses %(names)s.", names=", ".join(swap.lost))
    if swap.gained:
        yield Phrase("The list of ingredients gains %(names)s.", names=", ".join(swap.gained))


def _change(patterns: tuple[Phrase, Phrase], by: float, places: int, what: str = "") -> Iterator[Phrase]:
    """So much more or less, unless it rounds to nothing."""
    if round(by, places):
        yield Phrase(patterns[by < 0], amount=f"{abs(by):.{places}f}", what=what)


def _presence(patterns: tuple[Phrase, Phrase], before: float, after: float) -> Iterator[Phrase]:
    if (before > 0) != (after > 0):
        yield patterns[before > 0]
