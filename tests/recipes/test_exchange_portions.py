"""Portions and moulds carried out in a file and in again, and what such a file may say wrong."""

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
from recipes.exchange.document import BadFile
from recipes.formulation import work_out
from recipes.models import AmountBy, Destination, Recipe, SizeBy, Trace, Version
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
from tests.recipes.carried import content, empty_workshop, file_of, kept, read, split_by_hand, tried

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


# --- what is wrong ------------------------------------------------------------------------------------------


def in_portion(**changed: Any) -> dict[str, Any]:
    """The second of three portions, changed."""
    file = split_by_hand()
    file["recipes"][0]["portions"][1] |= changed
    return file


def in_loaf_of_file(**changed: Any) -> dict[str, Any]:
    file = split_by_hand()
    file["moulds"][0] |= changed
    return file


def twelve_and_one() -> list[dict[str, Any]]:
    return [{"name": f"Part {at}", "size": {"grams": 10}} for at in range(13)]


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (in_portion(name="  "), "portions › 2 › name: this is not written"),
        (in_portion(name="x" * 10_000), "name: this may have up to 40 characters."),
        (in_portion(name="be\0fore"), "name: this is not written"),
        (in_portion(size={}), "size: give exactly one of percent_of_batter, grams, layer_mm, rest."),
        (in_portion(size={"rest": True, "grams": 3}), "size: give exactly one of percent_of_batter"),
        (in_portion(size={"rest": False}), "this must be “true”."),
        (in_portion(size={"grams": -1}), "portions › 2 › size › grams: this must be more than 0."),
        (in_portion(size={"percent_of_batter": 101}), "this may be 100 at most."),
        (in_portion(colour="red"), "colour: this is not written"),
        (in_portion(fragrance_percent_of_its_fats=-1), "this must be at least 0."),
        (in_portion(technique="spoon"), "technique: this must be one of layer, pot, drop, hanger, top."),
        (in_portion(poured_at=7), "poured_at: this must be text in quotation marks."),
        (in_portion(goes_into="sink"), "goes_into: this must be one of mould, other, kept."),
        (in_portion(additions=[{"material": "Rose clay"}]), "additions › 1: “amount” is missing."),
        (in_portion(lid=1), "portions › 2: “lid” is not known here."),
        (split_by_hand(portions=[]), "portions: this list must not be empty."),
        (split_by_hand(portions=twelve_and_one()), "portions: this list may hold up to 12."),
        (in_loaf_of_file(shape="ring"), "moulds › 1 › shape: this must be one of loaf, slab"),
        (in_loaf_of_file(depth_mm=0), "depth_mm: this must be more than 0."),
        (in_loaf_of_file(bars=1e9), "bars: this may be 2000 at most."),
        (in_loaf_of_file(name="six TINS"), "“six TINS” stands among the moulds twice."),
    ],
)
def test_a_file_that_cannot_be_read_says_where(file: dict[str, Any], words: str):
    with pytest.raises(BadFile) as caught:
        read(file)

    assert words in " ".join(caught.value.problems)


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (in_portion(name="White"), "Two portions are called White."),
        (in_portion(name="White "), "Two portions are called White."),
        (in_portion(size={"rest": True}), "Only one portion can take the rest"),
        (in_portion(size={"grams": 5000}), "nothing is left for White"),
        (in_portion(size={"grams": 40.001}), "Size: Ensure that there are no more than 2 decimal places."),
        (in_portion(size={"layer_mm": 10}, goes_into="kept"), "Rose does not go into the mould"),
        (in_portion(other_mould="Six tins"), "Rose names another mould, but does not go into it."),
        (in_portion(goes_into="kept", other_mould="Six tins"), "Rose names another mould"),
        (in_portion(goes_into="other", other_mould="Pan"), "“pan” is not among the moulds of the file."),
        (in_portion(fragrance_percent_of_its_fats=0.0001), "Fragrance: Ensure that there are no more than 3"),
        (
            in_portion(additions=[{"material": "Soda", "amount": 1, "unit": "percent_of_portion"}]),
            "Soda belongs into the recipe, not into a portion.",
        ),
        (
            in_portion(additions=[{"material": "Ash", "amount": 1, "unit": "percent_of_portion"}]),
            "“ash” is not among the materials of the file.",
        ),
        (
            in_portion(additions=[{"material": "Rose clay", "amount": 1, "unit": "percent_of_portion"}] * 2),
            "Rose clay stands in this portion twice.",
        ),
        (split_by_hand(mould="Pan"), "“pan” is not among the moulds of the file."),
        (split_by_hand(size={"as_portions_need": True}), "size of White is known"),
        (split_by_hand(size={"filled_to_mm": 66}), "64.5 mm deep inside; it cannot be filled higher."),
        (
            split_by_hand(size={"mould_mm": {"length": 1, "width": 1, "fill_height": 1}}),
            "The mould is told in two ways.",
        ),
        (split_by_hand(base_mm={"length": 250, "width": 80}), "The mould is told in two ways."),
        (in_loaf_of_file(length_mm=0.5), "Long loaf: "),
        (in_loaf_of_file(liner_mm=40), "Long loaf: Liner: So thick a liner leaves no room in the mould."),
        (in_loaf_of_file(depth_mm=4000), "Long loaf: Depth: The height must lie between 1 mm and 2 m."),
        (in_loaf_of_file(depth_mm=1.25), "Long loaf: Depth: Ensure that there are no more than 1 decimal"),
        (in_loaf_of_file(shape="cavities"), "Long loaf: Cavities: This must be more than nothing."),
        (in_loaf_of_file(trim_mm=200), "Long loaf: Cut off each end: "),
    ],
)
def test_what_cannot_be_made_says_why_and_leaves_nothing(maker: User, file: dict[str, Any], words: str):
    found = kept(file, maker)

    assert found.recipes[0].fate == Fate.REFUSED
    assert words in found.recipes[0].why
    assert (found.materials, found.moulds) == ((), ())
    assert not Material.objects.exists()
    assert not KeptMould.objects.exists()
    assert not Recipe.objects.exists()


def test_a_height_needs_a_mould_to_stand_in(maker: User):
    file = split_by_hand(size={"filled_to_mm": 50})
    del file["recipes"][0]["mould"]

    assert kept(file, maker).recipes[0].why == "The size is a height in a mould, but no mould is named."


def test_a_mould_is_named_and_filled(maker: User):
    assert [one.why for one in kept(split_by_hand(size={"filled_to_mm": 50}), maker).recipes] == [""]

    assert design_of(only_version()).mould == Mould(None, None, Decimal(50), KeptMould.objects.first())


@pytest.mark.parametrize("pieces", [0.5, 1.25, 101])
def test_a_bar_has_whole_pieces_on_it_and_not_too_many(maker: User, pieces: float):
    file = split_by_hand()
    file["materials"].append({"name": "Stars", "kind": "embed"})
    file["recipes"][0]["ingredients"].append(
        {"material": "Stars", "amount": pieces, "unit": "pieces_per_bar"}
    )

    assert "Stars: a bar has whole pieces on it, up to 100." in kept(file, maker).recipes[0].why


def test_densities_that_no_batter_has_are_refused(maker: User):
    file = split_by_hand()
    file["materials"][0]["density_g_per_ml"] = 25

    assert "No batter is as light or as heavy" in kept(file, maker).recipes[0].why


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_file_with_anything_anywhere_is_kept_or_refused_in_words(data: st.DataObject):
    """Any value in place of any other of a good file, most often one that might pass for it."""
    file = split_by_hand(size=data.draw(st.sampled_from([{"fats_g": 1000}, {"filled_to_mm": 50}])))
    names = ["White", "Rose clay", "Tallow", "Long loaf", "other", "kept", "cavities", "hanger", "a\0b", "🧼"]
    figures = st.sampled_from([0, 0.001, 0.5, 3, 66, 99.9999, 1000, 1_000_000]) | st.floats(-1, 5000)
    anything = st.sampled_from(names) | figures | st.booleans() | st.none() | st.just([]) | st.just({})
    place: Any = file
    while isinstance(place, dict | list) and place:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        parent, key = place, data.draw(st.sampled_from(keys))
        place = parent[key]
        if data.draw(st.integers(0, 3)) == 0:
            break
    parent[key] = data.draw(anything)

    with transaction.atomic():
        assert all(_said(file))
        transaction.set_rollback(True)


def _said(file: dict[str, Any]) -> list[str]:
    """What is said of a file, whether it can be read or not."""
    try:
        found = kept(content(file), UserFactory())
    except BadFile as error:
        return list(error.problems)
    return [one.why if one.fate == Fate.REFUSED else one.fate for one in found.recipes]


def test_what_was_left_of_a_height_is_not_told():
    filled = design(mould=Mould(Decimal(1), Decimal(2), Decimal(3)))

    assert entries.bare(filled).mould == Mould(Decimal(1), Decimal(2), None)
