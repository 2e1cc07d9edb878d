"""What a file with portions and moulds may say wrong."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.models import Material
from recipes.design import Mould, design_of
from recipes.exchange import entries
from recipes.exchange.document import BadFile
from recipes.models import Mould as KeptMould
from recipes.models import Recipe, Version
from recipes.services import Fate
from soapshop.core.models import User
from tests.factories import (
    UserFactory,
    design,
)
from tests.recipes.carried import content, kept, read, split_by_hand

pytestmark = pytest.mark.django_db


def only_version() -> Version:
    return Version.objects.with_ingredients().get()


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
