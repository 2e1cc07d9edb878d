"""Fats and wishes that the tests of blends share. Profiles are published; prices and stock are invented."""

import random
from collections.abc import Mapping

from hypothesis import strategies as st

from shared.blend import Aim, Candidate, Goal, Group, Kind, Limit, Side, Wish, profile_of
from shared.fats import iodine_from_composition, reference_fats

CHEAPEST = Aim(Goal.CHEAPEST)


def fat(key: str, price: float | None = None, **more: object) -> Candidate:
    """A reference fat as a candidate."""
    reference = reference_fats()[key]
    profile = profile_of(reference)
    known: dict[str, object] = {
        "profile": profile,
        "iodine": iodine_from_composition(profile),
        "sap": reference.sap.nominal if reference.sap else None,
        "price": price,
        "palm": key.startswith("palm"),
        "animal": key in {"lard", "tallow_beef"},
        "label": reference.inci_name,
    }
    return Candidate(reference.name, **{**known, **more})  # type: ignore[arg-type]


OLIVE = fat("olive", 8.0)
COCONUT = fat("coconut", 5.0)
PALM = fat("palm", 2.5)
CASTOR = fat("castor", 9.0)
SHEA = fat("shea_butter", 12.0)
LARD = fat("lard", 2.0)
SUNFLOWER = fat("sunflower", 3.0)
SEVEN = (OLIVE, COCONUT, PALM, CASTOR, SHEA, LARD, SUNFLOWER)
RECIPE = {OLIVE.name: 50.0, COCONUT.name: 30.0, PALM.name: 20.0}


def many(number: int, seed: int = 1) -> tuple[Candidate, ...]:
    """So many fats, beyond the reference fats with profiles of their own, all with price and stock."""
    rng = random.Random(seed)
    keys = [key for key, one in reference_fats().items() if one.triglyceride and profile_of(one)]
    fats = []
    for index in range(number):
        base = fat(keys[index % len(keys)])
        weights = {acid: share * rng.uniform(0.8, 1.2) for acid, share in base.profile.items()}
        total = sum(weights.values())
        profile = {acid: 100 * share / total for acid, share in weights.items()}
        fats.append(
            Candidate(
                f"{base.name} {index}",
                profile,
                iodine_from_composition(profile),
                base.sap,
                price=round(rng.uniform(2, 20), 2),
                on_hand=round(rng.uniform(100, 900)),
                expiring=rng.choice([0.0, 0.0, 100.0]),
                palm=base.palm,
                animal=base.animal,
            )
        )
    return tuple(fats)


def at_most(kind: Kind, value: float, of: str = "") -> Limit:
    return Limit(kind, Side.AT_MOST, value, of)


def at_least(kind: Kind, value: float, of: str = "") -> Limit:
    return Limit(kind, Side.AT_LEAST, value, of)


HARD_AND_MILD = (
    at_least(Kind.GROUP, 15, Group.SHORT_SATURATED),
    at_least(Kind.GROUP, 35, Group.OLEIC),
    at_most(Kind.GROUP, 13, Group.POLYUNSATURATED),
    at_most(Kind.FAT, 25, COCONUT.name),
    at_most(Kind.IODINE, 60),
    at_most(Kind.PALM, 0),
)


def found_in(limit: Limit, wish: Wish, shares: Mapping[str, float]) -> float:
    """What a limit is about, in a blend: worked out here once more, without the code under test."""
    fats = {one.name: one for one in wish.fats}

    def mean(figure: Mapping[str, float]) -> float:
        return sum(share * figure[name] / 100 for name, share in shares.items())

    def acids(*names: str) -> float:
        return mean({name: sum(fats[name].profile.get(acid, 0.0) for acid in names) for name in shares})

    if limit.kind is Kind.GROUP:
        return acids(*GROUPS[limit.of])
    if limit.kind is Kind.ACID:
        return acids(limit.of)
    if limit.kind is Kind.FAT:
        return shares.get(limit.of, 0.0)
    if limit.kind is Kind.IODINE:
        return mean({name: one.iodine or 0.0 for name, one in fats.items()})
    if limit.kind is Kind.COST:
        return mean({name: one.price or 0.0 for name, one in fats.items()})
    if limit.kind is Kind.PALM:
        return sum(share for name, share in shares.items() if fats[name].palm)
    if limit.kind is Kind.ANIMAL:
        return sum(share for name, share in shares.items() if fats[name].animal)
    if limit.kind is Kind.MOVED:
        names = {*shares, *wish.recipe}
        return sum(abs(shares.get(name, 0.0) - wish.recipe.get(name, 0.0)) for name in names) / 2
    if limit.kind is Kind.COUNT:
        return len(shares)
    return min(shares.values())


GROUPS = {
    "short_saturated": ("C4:0", "C6:0", "C8:0", "C10:0", "C12:0", "C14:0"),
    "long_saturated": ("C15:0", "C16:0", "C17:0", "C18:0", "C20:0", "C22:0", "C24:0"),
    "oleic": ("C14:1", "C16:1", "C17:1", "C18:1", "C20:1", "C22:1", "C24:1"),
    "ricinoleic": ("C18:1-OH",),
    "polyunsaturated": ("C18:2", "C18:3", "C18:3n6", "C18:4", "C20:2", "C20:4", "C22:2"),
}


def keeps(limit: Limit, wish: Wish, shares: Mapping[str, float], within: float = 1e-6) -> bool:
    found = found_in(limit, wish, shares)
    if limit.side is Side.AT_LEAST:
        return found >= limit.value - within
    return found <= limit.value + within


@st.composite
def limits(draw: st.DrawFn) -> Limit:
    side = draw(st.sampled_from(Side))
    kind = draw(st.sampled_from([Kind.GROUP, Kind.ACID, Kind.FAT, Kind.IODINE, Kind.COST, Kind.PALM]))
    of = {
        Kind.GROUP: st.sampled_from(list(map(str, Group))),
        Kind.ACID: st.sampled_from(["C12:0", "C16:0", "C18:1", "C18:2"]),
        Kind.FAT: st.sampled_from([one.name for one in SEVEN]),
    }.get(kind, st.just(""))
    highest = {Kind.IODINE: 140, Kind.COST: 12}.get(kind, 70)
    return Limit(kind, side, draw(st.integers(0, highest)), draw(of))


@st.composite
def wishes(draw: st.DrawFn, *, aims: tuple[Goal, ...] = tuple(Goal), counted: bool = True) -> Wish:
    goal = draw(st.sampled_from(aims))
    recipe = {OLIVE.name: 50.0, COCONUT.name: 30.0, PALM.name: 20.0}
    some = draw(st.lists(limits(), max_size=6))
    some += draw(st.sampled_from([[], [at_most(Kind.MOVED, 40)]]))
    if counted:
        some += draw(st.sampled_from([[], [at_most(Kind.COUNT, 3)], [at_least(Kind.SMALLEST, 8)]]))
    stock = draw(st.booleans())
    fats = tuple(
        Candidate(
            one.name, one.profile, one.iodine, one.sap, one.price, 350.0 * stock or None, 150.0, one.palm
        )
        for one in SEVEN
    )
    target = {Group.OLEIC: 45.0, "C12:0": 12.0} if goal is Goal.PROFILE else {}
    batch = 1000.0 if stock or goal is Goal.EXPIRING else None
    step = draw(st.sampled_from([0.5, 1.0, 5.0]))
    return Wish(fats, Aim(goal, target), tuple(some), batch, recipe, step, most=2)
