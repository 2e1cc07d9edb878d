"""What comes nearest in place of a fat that has run out."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.blend import BlendError, Candidate, Group, figures_of, group_shares, mixed
from shared.chemistry import M_KOH, M_NAOH, AlkaliKind
from shared.ingredients import AlkaliChoice, Fat, Sap
from shared.saponification import Formula, LiquidMethod, formulate
from shared.swap import WEIGHT, Batch, Swap, find_swaps
from tests.shared.blends import CASTOR, COCONUT, LARD, OLIVE, PALM, SEVEN, SHEA, SUNFLOWER, fat, many

TALLOW = fat("tallow_beef", 3.0)
STEARIN = fat("palm_stearin", 3.0)
RECIPE = ((45.0, OLIVE), (25.0, COCONUT), (25.0, PALM), (5.0, CASTOR))
SODA = AlkaliChoice(AlkaliKind.NAOH, 98, 100)
POTASH = AlkaliChoice(AlkaliKind.KOH, 90, 90)
BATCH = Batch(1000, 5, (SODA,))


def names(swap: Swap) -> dict[str, float]:
    return {part.name: part.share for part in swap.replacements}


def profile_distance(swap: Swap, recipe: tuple[tuple[float, Candidate], ...]) -> float:
    """The distance once more, from the figures before and after."""
    groups = sum(abs(swap.after.groups[group] - swap.before.groups[group]) for group in Group)
    acids = {*swap.before.profile, *swap.after.profile}
    single = sum(
        abs(swap.after.profile.get(acid, 0.0) - swap.before.profile.get(acid, 0.0)) for acid in acids
    )
    assert sum(share for share, _ in recipe) == pytest.approx(100)
    return WEIGHT * (groups + single)


def test_the_nearest_stand_in_for_palm_comes_first() -> None:
    swaps = find_swaps(RECIPE, PALM.name, (LARD, SUNFLOWER, SHEA, OLIVE), batch=BATCH)
    assert names(swaps[0]) == {LARD.name: 25}
    assert [swap.distance for swap in swaps] == sorted(swap.distance for swap in swaps)
    assert len(swaps) <= 5


def test_distance_is_how_much_the_profile_of_the_blend_changes() -> None:
    for swap in find_swaps(RECIPE, PALM.name, (*SEVEN, TALLOW, STEARIN)):
        assert swap.distance == pytest.approx(profile_distance(swap, RECIPE))
        assert sum(swap.shares.values()) == pytest.approx(100)
        assert PALM.name not in swap.shares
        assert swap.after == figures_of(
            [
                (share, one)
                for name, share in swap.shares.items()
                for one in (*SEVEN, TALLOW, STEARIN)
                if one.name == name
            ]
        )


def test_two_fats_are_offered_where_they_come_clearly_nearer_than_either() -> None:
    swaps = find_swaps(RECIPE, PALM.name, (STEARIN, OLIVE, SUNFLOWER))
    best, alone = swaps[0], {next(iter(names(swap))): swap for swap in swaps if len(swap.replacements) == 1}
    assert len(best.replacements) == 2
    for part in best.replacements:
        assert part.share >= 1
        assert part.name not in alone or best.distance < 0.75 * alone[part.name].distance


def test_the_split_between_two_fats_is_the_best_of_all_steps() -> None:
    """Against every split in steps of half a per cent."""
    (swap, *_) = find_swaps(RECIPE, PALM.name, (STEARIN, OLIVE))
    assert len(swap.replacements) == 2

    def distance(stearin: float) -> float:
        found = mixed([(stearin, STEARIN.profile), (25 - stearin, OLIVE.profile)])
        wanted = mixed([(25, PALM.profile)])
        groups, aimed = group_shares(found), group_shares(wanted)
        single = sum(abs(found.get(acid, 0) - wanted.get(acid, 0)) for acid in {*found, *wanted})
        return WEIGHT * (single + sum(abs(groups[group] - aimed[group]) for group in Group))

    assert swap.distance == pytest.approx(min(distance(half / 2) for half in range(51)))


def test_a_fat_of_the_recipe_may_take_a_larger_share() -> None:
    swaps = find_swaps(RECIPE, PALM.name, (OLIVE,))
    assert swaps[0].shares == {OLIVE.name: 70, COCONUT.name: 25, CASTOR.name: 5}
    assert swaps[0].gained == ()
    assert swaps[0].lost == (PALM.label,)


def test_what_is_on_hand_counts_less_what_the_recipe_takes_of_it() -> None:
    olive = replace(OLIVE, on_hand=650)
    recipe = ((45.0, olive), *RECIPE[1:])
    (swap,) = find_swaps(recipe, PALM.name, (olive,), batch=BATCH)
    (part,) = swap.replacements
    assert (part.needed, part.enough, swap.enough) == (250, False, False)
    assert swap.words[0] == "There is not enough Olive oil: it takes 250 g."
    (swap,) = find_swaps(recipe, PALM.name, (replace(olive, on_hand=700),), batch=BATCH)
    assert swap.enough


def test_ways_for_which_there_is_enough_come_first() -> None:
    swaps = find_swaps(RECIPE, PALM.name, (replace(LARD, on_hand=10), SUNFLOWER), batch=BATCH)
    assert [(names(swap), swap.enough) for swap in swaps] == [
        ({SUNFLOWER.name: 25}, True),
        ({LARD.name: 25}, False),
    ]


def test_two_fats_are_split_as_their_stock_allows() -> None:
    little = replace(STEARIN, on_hand=120)
    swap = find_swaps(RECIPE, PALM.name, (little, OLIVE), batch=BATCH)[0]
    assert swap.enough
    assert names(swap) == {STEARIN.name: 12, OLIVE.name: 13}


def test_the_lye_changes_as_the_saponification_values_do() -> None:
    """250 g x difference in mg KOH/g / (1000 M_KOH) x 0.95 x M_NaOH / 0.99."""
    (swap,) = find_swaps(RECIPE, PALM.name, (SHEA,), batch=BATCH)
    mol = 250 * ((SHEA.sap or 0) - (PALM.sap or 0)) / (1000 * M_KOH)
    (change,) = swap.lye
    assert change.kind is AlkaliKind.NAOH
    assert change.grams == pytest.approx(mol * 0.95 * M_NAOH / 0.99)
    assert f"{-change.grams:.1f} g less Sodium hydroxide." in swap.words


def test_the_change_of_lye_is_that_of_the_whole_recipe() -> None:
    alkalis = (replace(SODA, share=60), replace(POTASH, share=40))

    def lye(parts: dict[str, float]) -> list[float]:
        fats = tuple(
            Fat(one.name, 10 * parts[one.name], Sap(one.sap or 0, one.sap or 0, one.sap or 0))
            for one in SEVEN
            if one.name in parts
        )
        made = formulate(Formula(fats, alkalis, 5, LiquidMethod.CONCENTRATION, 30))
        return [alkali.grams for alkali in made.alkalis]

    (swap,) = find_swaps(RECIPE, PALM.name, (LARD,), batch=Batch(1000, 5, alkalis))
    before, after = lye({one.name: share for share, one in RECIPE}), lye(dict(swap.shares))
    changes = [new - old for old, new in zip(before, after, strict=True)]
    assert [change.grams for change in swap.lye] == pytest.approx(changes)


def test_without_a_batch_or_a_value_nothing_is_said_of_lye() -> None:
    assert find_swaps(RECIPE, PALM.name, (LARD,))[0].lye == ()
    assert find_swaps(RECIPE, PALM.name, (replace(LARD, sap=None),), batch=BATCH)[0].lye == ()
    (part,) = find_swaps(RECIPE, PALM.name, (LARD,))[0].replacements
    assert part.needed is None
    assert part.enough


def test_all_that_changes_is_said_in_words() -> None:
    (swap,) = find_swaps(RECIPE, PALM.name, (LARD,), batch=BATCH)
    assert swap.words == (
        "0.3 g less Sodium hydroxide.",
        "0.1 points more short saturated acids.",
        "2.7 points less long saturated acids.",
        "2.1 points more oleic acid and its like.",
        "0.5 points more polyunsaturated acids.",
        "2.9 more in iodine value.",
        "0.12 a kg cheaper.",
        "No palm in it any more.",
        "There is animal fat in it now.",
        "The list of ingredients loses Elaeis Guineensis Oil.",
        "The list of ingredients gains Lard (Adeps Suillus).",
    )


def test_a_like_for_like_swap_has_nothing_to_say() -> None:
    twin = replace(PALM, name="Palm oil, other supplier")
    (swap,) = find_swaps(RECIPE, PALM.name, (twin,), batch=BATCH)
    assert swap.distance == 0
    assert swap.words == ()


def test_figures_that_are_not_known_are_passed_over() -> None:
    (swap,) = find_swaps(RECIPE, PALM.name, (Candidate("Mystery", SHEA.profile),))
    assert swap.after.iodine is swap.after.cost is None
    assert not any("iodine" in words or "a kg" in words for words in swap.words)
    assert swap.gained == ("Mystery",)


def test_a_new_name_in_the_list_alone_is_said_too() -> None:
    recipe = ((75.0, OLIVE), (20.0, PALM), (5.0, replace(PALM, name="Palm oil, organic")))
    (swap,) = find_swaps(recipe, PALM.name, (LARD,))
    assert swap.lost == ()
    assert swap.words[-1] == f"The list of ingredients gains {LARD.label}."


def test_a_fat_without_a_profile_is_passed_over_and_the_missing_one_is_no_choice() -> None:
    assert find_swaps(RECIPE, PALM.name, (Candidate("Mystery"), PALM)) == ()
    assert find_swaps(RECIPE, PALM.name, ()) == ()


def test_two_fats_of_one_profile_are_never_offered_together() -> None:
    twins = (SUNFLOWER, replace(SUNFLOWER, name="Sunflower, other supplier"))
    assert all(len(swap.replacements) == 1 for swap in find_swaps(RECIPE, PALM.name, twins))


def test_at_most_five_ways_and_no_fat_in_more_than_two() -> None:
    fats = many(30)
    recipe = ((50.0, fats[0]), (30.0, fats[1]), (20.0, fats[2]))
    swaps = find_swaps(recipe, fats[2].name, fats)
    assert len(swaps) == 5
    shown = [part.name for swap in swaps for part in swap.replacements]
    assert max(map(shown.count, shown)) <= 2
    assert len(find_swaps(recipe, fats[2].name, fats, most=2)) == 2


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 24), st.sampled_from([0.5, 1.0, 5.0]), st.floats(1, 60))
def test_shares_always_add_up_and_stock_is_kept(index: int, step: float, share: float) -> None:
    fats = many(25)
    gone, other = fats[index], fats[(index + 1) % 25]
    recipe = ((share, gone), (100 - share, replace(other, on_hand=None)))
    batch = Batch(1000, 5, (SODA,))
    swaps = find_swaps(recipe, gone.name, fats, batch=batch, step=step)
    assert len(swaps) == 5
    for swap in swaps:
        assert sum(swap.shares.values()) == pytest.approx(100)
        assert sum(part.share for part in swap.replacements) == pytest.approx(share)
        if len(swap.replacements) == 2:
            assert swap.enough
    ranks = [(not swap.enough, swap.distance) for swap in swaps]
    assert all(first <= second for first, second in pairwise(ranks))


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"missing": "Snake oil"}, "missing"),
        ({"missing": ""}, "missing"),
        ({"missing": "x" * 10_000}, "missing"),
        ({"missing": CASTOR.name, "recipe": (*RECIPE[:3], (5.0, Candidate(CASTOR.name)))}, "missing"),
        ({"recipe": ()}, "fats"),
        ({"recipe": ((45.0, OLIVE), (25.0, PALM))}, "recipe"),
        ({"recipe": ((float("nan"), OLIVE), (25.0, PALM))}, "recipe"),
        ({"others": (replace(LARD, price=-1.0),)}, "fats"),
        ({"others": tuple(replace(LARD, name=str(index)) for index in range(301))}, "fats"),
        ({"step": 0.0}, "step"),
        ({"batch": replace(BATCH, grams=float("inf"))}, "batch_grams"),
        ({"batch": replace(BATCH, superfat=90.0)}, "superfat"),
        ({"batch": replace(BATCH, alkalis=(replace(SODA, purity_low=0.0),))}, "alkalis"),
        ({"batch": replace(BATCH, alkalis=(replace(SODA, share=50.0),))}, "alkalis"),
    ],
)
def test_a_swap_that_makes_no_sense_is_refused(changed: dict[str, object], field: str) -> None:
    given: dict[str, object] = {"recipe": RECIPE, "missing": PALM.name, "others": (LARD,), **changed}
    with pytest.raises(BlendError) as caught:
        find_swaps(**given)  # type: ignore[arg-type]
    assert caught.value.field == field
    assert len(str(caught.value)) < 200
