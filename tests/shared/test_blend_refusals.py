"""What the blend finder leaves out, and wishes that it refuses."""

from dataclasses import replace

import pytest

from shared.blend import (
    Aim,
    BlendError,
    Candidate,
    Goal,
    Group,
    Kind,
    Limit,
    Wish,
    find_blend,
)
from shared.blend import programme as programmes
from tests.shared.blends import (
    CHEAPEST,
    COCONUT,
    HARD_AND_MILD,
    LARD,
    OLIVE,
    PALM,
    RECIPE,
    SEVEN,
    at_least,
    at_most,
    many,
)


@pytest.mark.parametrize(
    ("aim", "limits", "lacks"),
    [
        (CHEAPEST, (), "price"),
        (Aim(Goal.RECIPE), (at_most(Kind.COST, 5),), "price"),
        (Aim(Goal.RECIPE), (at_most(Kind.IODINE, 80),), "iodine value"),
        (Aim(Goal.RECIPE), (at_most(Kind.ACID, 50, "C12:0"),), "fatty-acid profile"),
        (Aim(Goal.RECIPE), (at_most(Kind.GROUP, 50, Group.OLEIC),), "fatty-acid profile"),
        (Aim(Goal.PROFILE, {"C18:1": 40.0}), (), "fatty-acid profile"),
    ],
)
def test_a_fat_is_left_out_where_a_figure_asked_for_is_not_known(
    aim: Aim, limits: tuple[Limit, ...], lacks: str
) -> None:
    answer = find_blend(Wish((*SEVEN, Candidate("Mystery")), aim, limits, recipe=RECIPE))
    assert [(one.name, one.lacks) for one in answer.left_out] == [("Mystery", lacks)]
    assert answer.best is not None
    with pytest.raises(BlendError, match=f"a figure is missing, such as its {lacks}") as caught:
        find_blend(Wish((Candidate("Mystery"),), aim, limits, recipe=RECIPE))
    assert caught.value.field == "fats"


def test_a_fat_without_any_figures_will_do_where_none_is_asked_for() -> None:
    answer = find_blend(Wish((Candidate("Mystery"),), Aim(Goal.RECIPE), recipe=RECIPE))
    assert answer.best is not None
    assert answer.best.shares == {"Mystery": 100}
    assert answer.best.aim == 100


# Wishes that make no sense

NO_SHARES = [float("nan"), float("inf"), float("-inf"), -1.0, 101.0, 1e300]


@pytest.mark.parametrize("value", NO_SHARES)
@pytest.mark.parametrize("kind", [Kind.GROUP, Kind.ACID, Kind.FAT, Kind.PALM, Kind.ANIMAL, Kind.MOVED])
def test_a_limit_that_is_no_share_is_refused(kind: Kind, value: float) -> None:
    of = {Kind.GROUP: Group.OLEIC, Kind.ACID: "C18:1", Kind.FAT: OLIVE.name}.get(kind, "")
    with pytest.raises(BlendError) as caught:
        find_blend(Wish(SEVEN, CHEAPEST, (at_most(kind, value, of),), recipe=RECIPE))
    assert caught.value.field == "limits"


@pytest.mark.parametrize(
    "limit",
    [
        at_most(Kind.IODINE, 401),
        at_most(Kind.COST, -0.01),
        at_most(Kind.COUNT, 0),
        at_most(Kind.COUNT, 2.5),
        at_most(Kind.COUNT, float("nan")),
        at_least(Kind.COUNT, 2),
        at_most(Kind.SMALLEST, 5),
        at_least(Kind.MOVED, 5),
        at_most(Kind.STOCK, 100, OLIVE.name),
        at_most(Kind.FAT, 10, "Snake oil"),
        at_most(Kind.FAT, 10),
        at_most(Kind.GROUP, 10, "C18:1"),
        at_most(Kind.ACID, 10, Group.OLEIC),
        at_most(Kind.PALM, 10, OLIVE.name),
        at_most(Kind.FAT, 10, "x" * 10_000),
    ],
)
def test_a_limit_that_cannot_be_is_refused(limit: Limit) -> None:
    with pytest.raises(BlendError) as caught:
        find_blend(Wish(SEVEN, CHEAPEST, (limit,), recipe=RECIPE))
    assert caught.value.field == "limits"
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    "changed",
    [
        {"name": ""},
        {"name": COCONUT.name},
        {"iodine": -1.0},
        {"iodine": float("nan")},
        {"sap": 0.0},
        {"price": float("inf")},
        {"price": -2.0},
        {"on_hand": -0.1},
        {"on_hand": 1e12},
        {"expiring": float("nan")},
        {"profile": {"C18:1": float("nan")}},
        {"profile": {"C18:1": -1.0}},
        {"profile": {"C18:1": 60.0, "C16:0": 60.0}},
        {"profile": {"<script>": 60.0}},
    ],
)
def test_a_fat_that_cannot_be_is_refused(changed: dict[str, object]) -> None:
    bad = replace(OLIVE, **changed)  # type: ignore[arg-type]
    with pytest.raises(BlendError) as caught:
        find_blend(Wish((bad, COCONUT), CHEAPEST))
    assert caught.value.field == "fats"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"fats": ()}, "fats"),
        ({"fats": tuple(Candidate(str(index)) for index in range(1001))}, "fats"),
        ({"limits": (at_most(Kind.PALM, 1),) * 1001}, "limits"),
        ({"aim": Aim(Goal.PROFILE)}, "aim"),
        ({"aim": Aim(Goal.PROFILE, {"C99:9": 4.0})}, "aim"),
        ({"aim": Aim(Goal.PROFILE, {"C18:1": float("nan")})}, "aim"),
        ({"aim": Aim(Goal.EXPIRING), "batch_grams": 1000.0}, "aim"),
        ({"aim": Aim(Goal.EXPIRING)}, "batch_grams"),
        ({"batch_grams": 0.0}, "batch_grams"),
        ({"batch_grams": float("nan")}, "batch_grams"),
        ({"batch_grams": 1e9}, "batch_grams"),
        ({"aim": Aim(Goal.RECIPE)}, "recipe"),
        ({"limits": (at_most(Kind.MOVED, 10),)}, "recipe"),
        ({"recipe": {OLIVE.name: 60.0}}, "recipe"),
        ({"recipe": {OLIVE.name: float("nan")}}, "recipe"),
        ({"recipe": {OLIVE.name: 150.0, PALM.name: -50.0}}, "recipe"),
        ({"step": 0.0}, "step"),
        ({"step": 3.0}, "step"),
        ({"step": float("nan")}, "step"),
        ({"near": -1.0}, "near"),
        ({"apart": 0.0}, "apart"),
        ({"most": 21}, "most"),
    ],
)
def test_a_wish_that_makes_no_sense_is_refused(changed: dict[str, object], field: str) -> None:
    with pytest.raises(BlendError) as caught:
        find_blend(replace(Wish(SEVEN, CHEAPEST), **changed))  # type: ignore[arg-type]
    assert caught.value.field == field


def test_a_search_that_takes_too_long_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(programmes, "SECONDS", 0.0)
    with pytest.raises(BlendError, match="took too long") as caught:
        find_blend(Wish(many(40), CHEAPEST, (*HARD_AND_MILD[:3], at_most(Kind.COUNT, 4))))
    assert caught.value.field == "fats"


def test_the_best_does_not_wait_for_what_is_nice_to_know_besides(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(programmes, "BRIEFLY", 0.0)
    limits = (*HARD_AND_MILD[:3], at_most(Kind.COUNT, 2))
    answer = find_blend(Wish(many(40), CHEAPEST, limits))
    assert answer.best is not None
    assert len(answer.best.shares) <= 2
    assert answer.prices == answer.alternatives == ()
    assert limits[-1] in answer.untold


def test_what_the_solver_gives_up_on_is_tried_the_plain_way(monkeypatch: pytest.MonkeyPatch) -> None:
    fails = {"mip_lifting_for_probing": 0}  # HiGHS 1.15 then stops with an error while it presolves
    monkeypatch.setattr(programmes, "_SETTINGS", {**programmes._SETTINGS, **fails})
    answer = find_blend(Wish(SEVEN, CHEAPEST, (at_most(Kind.COUNT, 2), at_most(Kind.COST, 4))))
    assert answer.best is not None
    assert answer.best.shares == {LARD.name: 100}
