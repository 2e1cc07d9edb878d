"""Writing down how the batter of a version is split."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse
from django.utils import timezone

from recipes import forms, services
from recipes.design import Design, Mould, design_of
from recipes.errors import DesignError
from recipes.models import Addition, AmountBy, Destination, Portion, Trace, Version
from recipes.portions import PortionDesign
from recipes.services import ChangedMeanwhile, save_look
from shared.bar_picture import BarPicture
from shared.cross_section import Layer, Technique
from soapshop.core.models import User
from soapshop.core.queries import history_of
from tests.factories import (
    MaterialFactory,
    MouldFactory,
    VersionFactory,
    ViewerFactory,
    WorkshopFactory,
    design,
    into,
    part,
    portion,
)

pytestmark = pytest.mark.django_db

LOAF = Mould(Decimal(250), Decimal(80), Decimal(60))


def stored(version: Version) -> Version:
    return Version.objects.with_ingredients().get(pk=version.pk)


def poured(version: Version) -> Version:
    services.mark_poured(version=version, pours=1, last_poured_at=timezone.now())
    return version


def white_and_pink() -> tuple[PortionDesign, PortionDesign]:
    return portion("White", share=40, colour="#ffffff"), portion("Pink", into(1))


def split_design(*portions: PortionDesign) -> Design:
    """Scented and in a mould."""
    base = (part(100), part(100, naoh=True), part(100, liquid=True), part(3, fragrance=True))
    return design(*base, mould=LOAF, portions=portions or white_and_pink())


# With the recipe


def test_all_that_is_said_of_portions_reads_back_as_it_was(maker: User):
    cups = MouldFactory(by=maker)
    foot = portion(
        "Foot",
        into("0.5", MaterialFactory(colour_=True, density=1), AmountBy.SPOONS),
        into(2, MaterialFactory(additive=True), AmountBy.WEIGHT),
        layer="12.5",
        colour="#a4472a",
        fragrance=Decimal("1.5"),
        trace=Trace.THICK,
        technique=Technique.TOP,
    )
    kept = portion("Kept", grams=120, destination=Destination.KEPT)
    elsewhere = portion("Cups", share=10, destination=Destination.OTHER, other_mould=cups)
    what = split_design(foot, kept, elsewhere, portion("Rest", fragrance=Decimal(0)))

    version = VersionFactory(design=what, by=maker)

    assert design_of(stored(version)) == what


def test_a_new_recipe_keeps_the_picture_of_its_bar():
    version = VersionFactory(design=split_design())

    look = stored(version).look
    assert [(one.name, one.colour) for one in look.layers] == [("White", "#ffffff"), ("Pink", "#6d7987")]
    assert look == BarPicture.from_json(version.picture)
    assert (look.width, look.height) == (80, 60)


def test_a_version_without_a_picture_is_a_plain_bar():
    version = VersionFactory(design=design(mould=LOAF), bar_colour="#e0d0b0")
    Version.objects.update(picture={})

    look = stored(version).look
    assert look == BarPicture((Layer("#e0d0b0", 1.0),), width=80, height=60)


def test_what_cannot_be_split_is_not_written_down(maker: User):
    with pytest.raises(DesignError) as caught:
        VersionFactory(design=split_design(portion("White", share=60), portion("Pink", share=60)), by=maker)

    assert caught.value.portion == "White"
    assert not Version.objects.exists()


@pytest.mark.parametrize(
    "wrong",
    [{"name": "x" * 41}, {"colour": "#1234567890"}, {"share": "33.3333"}, {"trace": "solid"}],
)
def test_what_does_not_fit_is_refused_and_nothing_is_written(maker: User, wrong: dict[str, object]):
    pale = portion(**({"name": "Pale", "share": 40} | wrong))

    with pytest.raises(ValidationError):
        VersionFactory(design=split_design(pale, portion("Rest")), by=maker)

    assert not Version.objects.exists()


def test_an_amount_finer_than_is_kept_is_refused(maker: User):
    fine = portion("Pink", into("0.00001"))

    with pytest.raises(ValidationError):
        VersionFactory(design=split_design(fine), by=maker)


# The look by itself


def test_a_look_changes_in_place_while_the_version_was_never_poured(maker: User):
    version = stored(VersionFactory(design=split_design()))
    red = portion("Red", into(2), technique=Technique.DROP)

    saved = save_look(version=version, portions=(portion("White", share=70), red), by=maker)

    assert (saved.pk, saved.number) == (version.pk, 1)
    again = stored(saved)
    assert [(one.name, one.size) for one in again.portions.all()] == [("White", 70), ("Red", None)]
    assert again.look.layers[1].technique == Technique.DROP
    assert (Portion.objects.count(), Addition.objects.count()) == (2, 1)
    assert history_of(version.recipe)[0].what.startswith("saved version 1 of")


def test_a_look_keeps_everything_else_that_the_version_says(maker: User):
    version = stored(
        VersionFactory(design=split_design(), cure_days=40, bar_colour="#e0d0b0", note="Slow", by=maker)
    )

    saved = stored(save_look(version=version, portions=(portion("All", colour="#000000"),), by=maker))

    assert (saved.cure_days, saved.bar_colour, saved.note) == (40, "#e0d0b0", "Slow")
    assert replace(design_of(saved), portions=()) == replace(design_of(version), portions=())


def test_a_poured_version_makes_the_next_one_and_keeps_its_own_look(maker: User):
    version = stored(poured(VersionFactory(design=split_design(), note="Of the first pour")))

    saved = save_look(version=version, portions=(portion("Grey", colour="#888888"),), by=maker)

    assert (saved.number, saved.note, saved.recipe_id) == (2, "", version.recipe_id)
    assert [one.name for one in stored(version).portions.all()] == ["White", "Pink"]
    assert [one.name for one in stored(saved).portions.all()] == ["Grey"]


@pytest.mark.parametrize("was_poured", [True, False])
def test_a_look_that_changes_nothing_leaves_the_version_as_it_is(maker: User, *, was_poured: bool):
    version = VersionFactory(design=split_design(), note="As it is")
    version = stored(poured(version) if was_poured else version)
    stamp = version.stamp

    saved = save_look(version=version, portions=design_of(version).portions, by=maker)

    assert (saved.pk, saved.stamp, saved.note) == (version.pk, stamp, "As it is")
    assert Version.objects.count() == 1


def test_one_portion_that_says_nothing_is_none(maker: User):
    version = stored(VersionFactory(design=split_design(), bar_colour="#e0d0b0"))

    saved = stored(save_look(version=version, portions=(portion("All", colour="#e0d0b0"),), by=maker))

    assert not saved.portions.exists()
    assert saved.look.layers == (Layer("#e0d0b0", 1.0),)


def test_a_look_that_someone_else_saved_meanwhile_is_not_overwritten(maker: User):
    version = stored(VersionFactory(design=split_design()))
    seen = version.stamp
    save_look(version=version, portions=(portion("Theirs", colour="#111111"),), by=maker, seen=seen)

    with pytest.raises(ChangedMeanwhile):
        save_look(version=version, portions=(portion("Mine", colour="#222222"),), by=maker, seen=seen)

    assert [one.name for one in stored(version).portions.all()] == ["Theirs"]


def test_a_look_that_cannot_be_made_changes_nothing(maker: User):
    version = stored(VersionFactory(design=split_design()))

    with pytest.raises(DesignError):
        save_look(version=version, portions=(portion("A"), portion("B")), by=maker)

    assert design_of(stored(version)) == design_of(version)


def test_whoever_only_looks_saves_no_look():
    version = stored(VersionFactory(design=split_design()))

    with pytest.raises(PermissionDenied):
        save_look(version=version, portions=(), by=ViewerFactory())


# Through the form of the recipe


def test_the_form_of_the_recipe_keeps_its_portions(client_of, maker: User):
    WorkshopFactory()
    version = VersionFactory(design=split_design())
    form = forms.as_typed(forms.fields_of(stored(version)), forms.rows_of(stored(version)))
    form["cure_days"] = "35"

    answer = client_of(maker).post(reverse("recipes:edit", args=[version.recipe_id]), dict(form.lists()))

    assert answer.status_code == 302
    again = stored(version)
    assert again.cure_days == 35
    assert design_of(again) == design_of(stored(version))
    assert [one.name for one in again.portions.all()] == ["White", "Pink"]
    assert [one.material.kind for one in again.portions.all()[1].additions.all()] == ["colour"]
