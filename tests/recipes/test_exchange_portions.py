"""Portions and moulds carried out in a file and in again."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from inventory.models import Material
from recipes.design import Design, Mould, design_of
from recipes.errors import DesignError
from recipes.exchange import document, entries
from recipes.formulation import work_out
from recipes.models import AmountBy, Destination, SizeBy, Trace, Version
from recipes.models import Mould as KeptMould
from recipes.portions import PortionDesign
from recipes.services import Fate
from shared.cross_section import Technique
from soapshop.core.models import User, Workshop
from soapshop.core.queries import history_of
from tests.factories import (
    MaterialFactory,
    MouldFactory,
    UserFactory,
    VersionFactory,
    design,
    into,
    part,
    portion,
)
from tests.recipes.carried import empty_workshop, file_of, kept, split_by_hand, tried

pytestmark = pytest.mark.django_db

SCHEMA = json.loads(document.schema_text())


def told(design: Design) -> dict[str, Any]:
    """Everything that a design comes to, in names and figures that do not hang on keys of the database."""
    made, mould = work_out(design, workshop=Workshop()), design.mould
    jugs = made.split.jugs if made.split else ()
    return {
        "weights": [(line.material.name, line.part.stage, line.grams) for line in made.lines],
        "jugs": [(jug.grams, [(one.material.name, one.grams) for one in jug.goes_in]) for jug in jugs],
        "portions": [_portion(one) for one in design.portions],
        "size": (design.size_by, design.size_grams),
        "mould": mould and (mould.length, mould.width, mould.height, _kept(mould.kept)),
        "stands": made.stands_mm,
    }


def _portion(one: PortionDesign) -> tuple[object, ...]:
    said = [
        getattr(one, name) for name in PortionDesign.__slots__ if name not in ("other_mould", "additions")
    ]
    additions = [(each.material.name, each.amount, each.amount_by) for each in one.additions]
    return (*said, _kept(one.other_mould), additions)


def _kept(mould: KeptMould | None) -> dict[str, object] | None:
    names = {field.name for field in KeptMould._meta.fields} - {"id"}
    return mould and {name: getattr(mould, name) for name in names}


def can_be_made(design: Design) -> bool:
    try:
        work_out(design, workshop=Workshop())
    except DesignError:
        return False
    return True


def only_version() -> Version:
    return Version.objects.with_ingredients().get()


# --- the same portions in another workshop ------------------------------------------------------------------

FILLED: dict[str, Callable[[], dict[str, Any]]] = {
    "by fats": lambda: {"size_grams": Decimal("1234.56")},
    "by batter": lambda: {"size_by": SizeBy.BATTER, "size_grams": Decimal(1500), "mould": in_loaf(None)},
    "typed mould": lambda: {"size_by": SizeBy.MOULD, "mould": typed_mould(Decimal(60))},
    "typed base": lambda: {"mould": typed_mould(None)},
    "kept mould": lambda: {"size_by": SizeBy.MOULD, "mould": in_loaf(Decimal("55.5"))},
    "tube": lambda: {"size_by": SizeBy.MOULD, "mould": in_tube(Decimal(200))},
    "as portions need": lambda: {"size_by": SizeBy.PORTIONS, "mould": in_loaf(None)},
}


def typed_mould(height: Decimal | None) -> Mould:
    return Mould(Decimal(250), Decimal("80.5"), height)


def in_loaf(height: Decimal | None) -> Mould:
    loaf = MouldFactory(liner=Decimal("0.5"), trim=Decimal("2.5"), kerf=Decimal(1), bars=9, note="Zwölf 🧼")
    return Mould(None, None, height, loaf)


def in_tube(height: Decimal) -> Mould:
    tube = MouldFactory(shape="tube", length=None, width=None, diameter=Decimal("75.5"), depth=Decimal(250))
    return Mould(None, None, height, tube)


@st.composite
def portions(draw: st.DrawFn, *, layers: bool, grams_only: bool) -> tuple[PortionDesign, ...]:
    """One to four, the last of them the rest unless all are by weight."""
    ways = ["grams"] if grams_only else ["share", "grams", *(["layer"] if layers else [])]
    number = draw(st.integers(1, 4))
    return tuple(
        draw(portion_called(f"Part {at}", ways, rest=at == number - 1 and not grams_only))
        for at in range(number)
    )


@st.composite
def portion_called(draw: st.DrawFn, name: str, ways: list[str], *, rest: bool) -> PortionDesign:
    size = {} if rest else {draw(st.sampled_from(ways)): draw(st.sampled_from(["12.5", "20"]))}
    # What does not go into the mould is not a layer of it.
    goes = Destination.MOULD if rest or "layer" in size else draw(st.sampled_from(Destination))
    named = goes == Destination.OTHER and draw(st.booleans())
    traits: list[dict[str, Any]] = [{"colour_": True, "density": Decimal("0.8")}, {"fragrance": True}]
    additions = [
        into(draw(st.sampled_from(["0.25", "2.125"])), None, draw(st.sampled_from(AmountBy)), **trait)
        for trait in draw(st.sampled_from([[], traits[:1]]))
    ]
    scents = [into(1, None, AmountBy.WEIGHT, **traits[1])] if draw(st.booleans()) else []
    return portion(
        name,
        *additions,
        *scents,
        **size,
        colour=draw(st.sampled_from(["", "#a9b9c1"])),
        fragrance=draw(st.sampled_from([None, Decimal(0), Decimal("2.125")])),
        trace=draw(st.sampled_from(Trace)),
        technique=draw(st.sampled_from(Technique)),
        destination=goes,
        other_mould=MouldFactory() if named else None,
    )


@st.composite
def split_designs(draw: st.DrawFn) -> Design:
    size = FILLED[draw(st.sampled_from(sorted(FILLED)))]()
    split = draw(portions(layers="mould" in size, grams_only=size.get("size_by") == SizeBy.PORTIONS))
    on_top = [part(3, embed=True), part("1.5", topping=True)] if draw(st.booleans()) else []
    scent = [part("1.5", fragrance=True), part("0.5", fragrance=True)] if draw(st.booleans()) else []
    return design(*design().parts, *scent, *on_top, **size, portions=split)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_split_recipe_is_the_same_in_an_empty_workshop(data: st.DataObject):
    with transaction.atomic():
        before = data.draw(split_designs())
        assume(can_be_made(before))
        carried = file_of(VersionFactory(design=before))
        expected = told(entries.bare(before))
        empty_workshop()
        Draft202012Validator(SCHEMA).validate(json.loads(carried))

        found = kept(carried, UserFactory())
        again = kept(carried, UserFactory())

        assert [one.why for one in found.recipes] == [""]
        assert told(design_of(only_version())) == expected
        assert [one.fate for one in again.recipes] == [Fate.SAME]
        assert json.loads(file_of())["recipes"] == json.loads(carried)["recipes"]
        transaction.set_rollback(True)


@pytest.mark.parametrize(
    "shape",
    [
        {"shape": "slab", "length": Decimal(400), "width": Decimal(300), "bars": 8, "rows": 5},
        {"shape": "tube", "diameter": Decimal("75.5"), "liner": Decimal("0.5"), "kerf": Decimal(1)},
        {"shape": "cavities", "cavities": 12, "millilitres": Decimal("95.5")},
        {"shape": "other", "millilitres": Decimal(1800)},
    ],
)
def test_a_mould_of_any_shape_is_the_same_in_another_workshop(maker: User, shape: dict[str, Any]):
    mould = MouldFactory(**{"length": None, "width": None, "note": "heavy", **shape})
    said = _kept(mould)
    carried = file_of(VersionFactory(design=design(mould=Mould(None, None, None, mould))))
    empty_workshop()

    found = kept(carried, maker)

    assert [(_kept(one.mould), one.added, one.differs) for one in found.moulds] == [(said, True, "")]


def test_pieces_and_what_is_strewn_on_top_come_along(maker: User):
    stars = {"colour": "#c9a227", "piece_grams": Decimal("12.5"), "piece_length": Decimal(30)}
    parts = part(2, embed=True, name="Stars", **stars), part("1.25", topping=True, name="Poppy")
    carried = file_of(VersionFactory(design=design(*design().parts, *parts)))
    empty_workshop()

    kept(carried, maker)

    assert Material.objects.filter(name="Stars", kind="embed", **stars).exists()
    assert Material.objects.filter(name="Poppy", kind="topping", colour="#8a5a83").exists()


def test_a_recipe_that_is_not_split_says_nothing_of_portions_or_moulds():
    VersionFactory()

    said = json.loads(file_of())

    assert "moulds" not in said
    assert not {"portions", "mould", "base_mm"} & set(said["recipes"][0])


# --- moulds -------------------------------------------------------------------------------------------------


def loaf_here(**changed: Any) -> KeptMould:
    said = {"liner": Decimal("0.5"), "trim": Decimal(2), "kerf": Decimal("0.5"), **changed}
    return MouldFactory(name="LONG LOAF", **said)


def test_a_mould_that_is_not_here_is_written_down_with_the_file_it_came_from(maker: User):
    found = kept(split_by_hand(), maker)

    loaf, tins = KeptMould.objects.order_by("name")
    assert [(one.mould, one.added) for one in found.moulds] == [(loaf, True), (tins, True)]
    assert (loaf.length, loaf.liner, loaf.kerf, tins.cavities) == (250, Decimal("0.5"), Decimal("0.5"), 6)
    lines = [line.what for line in history_of(loaf)]
    assert "wrote down the mould Long loaf" in lines
    assert "Long loaf came from the file lane.json" in lines


def test_a_mould_of_that_name_that_is_the_same_is_used(maker: User):
    loaf = loaf_here()

    found = kept(split_by_hand(), maker)

    assert [(one.added, one.differs) for one in found.moulds] == [(False, ""), (True, "")]
    assert design_of(only_version()).mould == Mould(None, None, None, loaf)


@pytest.mark.parametrize(
    ("here", "words"),
    [
        ({"length": Decimal(251)}, "another length: 250 mm"),
        ({"width": Decimal("79.9")}, "another width: 80 mm"),
        ({"depth": Decimal(70)}, "another depth: 65 mm"),
        ({"liner": Decimal(0)}, "another thickness of the liner: 0.5 mm"),
        ({"bars": 11}, "another number of bars: 10"),
        ({"shape": "slab", "rows": 2}, "another shape: Loaf"),
        ({"trim": Decimal(0)}, "something else is cut off each end: 2 mm"),
        ({"kerf": Decimal(3)}, "a cut takes something else: 0.5 mm"),
        ({"note": "red"}, ""),
    ],
)
def test_a_mould_that_differs_is_told_and_ours_counts(maker: User, here: dict[str, Any], words: str):
    ours = loaf_here(**here)

    found = tried(split_by_hand(), maker).moulds[0]

    assert (found.mould, found.added) == (ours, False)
    assert words in found.differs
    assert bool(found.differs) == bool(words)


def test_a_liner_that_the_file_does_not_have_is_a_difference(maker: User):
    loaf_here()
    file = split_by_hand()
    del file["moulds"][0]["liner_mm"]

    assert "thickness of the liner: 0 mm" in tried(file, maker).moulds[0].differs


def test_a_colour_of_another_density_weighs_otherwise_by_the_spoon_and_is_told(maker: User):
    MaterialFactory(colour_=True, name="Rose clay", density=Decimal("0.7"))

    clay = next(one for one in tried(split_by_hand(), maker).materials if one.name == "Rose clay")

    assert clay.differs == "another density: 0.8 g/mL"


def test_what_is_tried_out_leaves_no_mould_behind(maker: User):
    found = tried(split_by_hand(), maker)

    assert [one.added for one in found.moulds] == [True, True]
    assert not KeptMould.objects.exists()


def test_two_recipes_in_one_mould_write_it_down_once(maker: User):
    file = split_by_hand()
    file["recipes"].append({**file["recipes"][0], "name": "Coal Barge"})

    found = kept(file, maker)

    assert [one.fate for one in found.recipes] == [Fate.ADDED, Fate.ADDED]
    assert KeptMould.objects.count() == len(found.moulds) == 2


def test_what_a_form_kept_of_a_height_makes_no_other_recipe(maker: User):
    VersionFactory(design=design(mould=Mould(None, None, Decimal(30), loaf_here())))

    assert [one.fate for one in kept(file_of(), maker).recipes] == [Fate.SAME]


def test_other_portions_are_another_recipe(maker: User):
    kept(split_by_hand(), maker)
    file = split_by_hand()
    file["recipes"][0]["portions"][1]["technique"] = "hanger"

    assert kept(file, maker).recipes[0].renamed == "Gravel Lane (2)"
