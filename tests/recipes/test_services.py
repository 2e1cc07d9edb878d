"""Writing recipes down: versions that were poured stay, others change in place, nobody overwrites unseen."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from recipes import services
from recipes.design import Part, design_of
from recipes.errors import DesignError
from recipes.models import Ingredient, LiquidScope, Process, Recipe, Stage, Version
from recipes.services import ChangedMeanwhile, recipes
from soapshop.core.models import User
from soapshop.core.queries import history_of
from tests.factories import MaterialFactory, UserFactory, VersionFactory, design, part

pytestmark = pytest.mark.django_db


def poured(version: Version) -> Version:
    services.mark_poured(version=version, pours=1, last_poured_at=timezone.now())
    return version


def stored(version: Version) -> Version:
    return Version.objects.with_ingredients().get(pk=version.pk)


def save(version: Version, by: User, **changed: object) -> Version:
    """Save the version again with something changed."""
    kept = {"name": version.recipe.name, "cure_days": version.cure_days, "design": design_of(stored(version))}
    return services.save_version(recipe=version.recipe, by=by, **{**kept, **changed})


def test_a_new_recipe_is_its_version_one(maker: User):
    what = design()

    version = services.create_recipe(name="Gravel Lane", design=what, cure_days=35, note="first", by=maker)

    again = stored(version)
    assert (again.recipe.name, again.number, again.cure_days, again.note) == ("Gravel Lane", 1, 35, "first")
    assert design_of(again) == what
    assert [line.what for line in history_of(again.recipe)] == ["wrote down Gravel Lane"]


def test_names_are_given_once_whatever_their_case(maker: User):
    VersionFactory(name="Gravel Lane")

    with pytest.raises(ValidationError) as caught:
        services.create_recipe(name="gravel lane", design=design(), cure_days=28, by=maker)

    assert "name" in caught.value.message_dict
    assert Recipe.objects.count() == 1


@pytest.mark.parametrize("name", ["", "x" * 81])
def test_a_name_is_short_and_plain(maker: User, name: str):
    with pytest.raises(ValidationError) as caught:
        services.create_recipe(name=name, design=design(), cure_days=28, by=maker)

    assert "name" in caught.value.message_dict


@pytest.mark.parametrize("field", ["cure_days", "bar_colour"])
def test_what_does_not_fit_is_refused_by_field(maker: User, field: str):
    said = {"cure_days": 28} | {field: {"cure_days": 0, "bar_colour": "#1234567890"}[field]}

    with pytest.raises(ValidationError) as caught:
        services.create_recipe(name="Gravel Lane", design=design(), by=maker, **said)

    assert list(caught.value.message_dict) == [field]
    assert not Recipe.objects.exists()


def test_what_cannot_be_made_is_not_written_down(maker: User):
    with pytest.raises(DesignError):
        services.create_recipe(name="Salt", design=design(superfat=Decimal(40)), cure_days=28, by=maker)

    assert not Recipe.objects.exists()


def test_an_amount_finer_than_the_column_is_refused_and_nothing_is_written(maker: User):
    fats = (part("33.3333"), part("66.6667"), part(100, naoh=True), part(100, liquid=True))

    with pytest.raises(ValidationError):
        services.create_recipe(name="Thirds", design=design(*fats), cure_days=28, by=maker)

    assert not Recipe.objects.exists()


def test_a_version_that_was_never_poured_changes_in_place(maker: User):
    version = VersionFactory()
    other = replace(design_of(stored(version)), superfat=Decimal(7))

    saved = save(version, maker, design=other, note="milder")

    assert (saved.pk, saved.number) == (version.pk, 1)
    assert design_of(stored(version)) == other
    assert Version.objects.count() == 1
    assert Ingredient.objects.filter(version=version).count() == 3


def test_what_goes_in_when_and_by_which_process_is_kept(maker: User):
    late = Part(MaterialFactory(), Decimal(10), Stage.COOK)
    parts = (part(90), late, part(100, naoh=True), part(100, liquid=True))
    what = design(*parts, process=Process.HOT, liquid_scope=LiquidScope.LYE)
    version = VersionFactory(design=what)

    assert design_of(stored(version)) == what
    early = tuple(replace(one, stage=Stage.USUAL) for one in parts)
    cold = replace(what, process=Process.COLD, parts=early)
    save(version, maker, design=cold)
    assert design_of(stored(version)) == cold


def test_a_copy_remembers_what_it_was_begun_from_through_its_changes(maker: User):
    other = poured(VersionFactory(name="Gravel Lane"))
    version = VersionFactory(name="Gravel Mist", begun_from=other)

    save(version, maker, note="milder")

    assert stored(version).begun_from == other


def test_a_poured_version_stays_and_the_edit_makes_the_next(maker: User):
    version = poured(VersionFactory())
    before = design_of(stored(version))

    saved = save(version, maker, design=replace(before, bars=12), note="thinner bars")

    assert (saved.number, saved.note, saved.is_poured) == (2, "thinner bars", False)
    assert design_of(stored(version)) == before
    assert stored(version).is_poured


def test_a_version_stays_even_when_its_only_pour_was_undone(maker: User):
    version = VersionFactory()
    services.mark_poured(version=version, pours=0, last_poured_at=timezone.now())

    assert save(version, maker, note="better").number == 2


def test_saving_what_is_there_already_makes_no_version(maker: User):
    version = poured(VersionFactory())

    assert save(version, maker, seen="1.0") == version
    assert Version.objects.count() == 1


def test_a_form_sent_twice_makes_one_version(maker: User):
    version = poured(VersionFactory())
    seen = stored(version).stamp

    first = save(version, maker, note="again", seen=seen)
    second = save(version, maker, note="again", seen=seen)

    assert (first, Version.objects.count()) == (second, 2)


def test_the_second_of_two_who_edit_at_once_is_told(maker: User):
    version = VersionFactory()
    seen = stored(version).stamp
    save(version, UserFactory(name="Ada"), note="mine", seen=seen)

    with pytest.raises(ChangedMeanwhile, match="Ada") as caught:
        save(version, maker, note="no, mine", seen=seen)

    assert stored(version).note == "mine"
    saved = save(version, maker, note="no, mine", seen=caught.value.latest.stamp)
    assert saved.note == "no, mine"


def test_a_recipe_is_renamed_without_a_new_version(maker: User):
    version = poured(VersionFactory(name="Gravel Lane"))

    saved = save(version, maker, name="Gravel Mist")

    assert (saved, Recipe.objects.get().name) == (version, "Gravel Mist")
    assert history_of(version.recipe)[0].what == "renamed Gravel Lane to Gravel Mist"


def test_a_recipe_is_not_renamed_to_one_that_is_there(maker: User):
    VersionFactory(name="Coal Barge")
    version = VersionFactory(name="Gravel Lane")

    with pytest.raises(ValidationError) as caught:
        save(version, maker, name="COAL BARGE", note="also changed")

    assert "name" in caught.value.message_dict
    assert stored(version).note == ""


def test_the_database_has_the_last_word_on_a_name(maker: User, monkeypatch: pytest.MonkeyPatch):
    """Two who give a name at once both pass the look beforehand."""
    VersionFactory(name="Gravel Lane")
    monkeypatch.setattr(recipes, "_check_name", lambda recipe: None)

    with pytest.raises(ValidationError) as caught:
        services.create_recipe(name="Gravel Lane", design=design(), cure_days=28, by=maker)

    assert "name" in caught.value.message_dict


def test_a_recipe_is_put_away_and_brought_back(maker: User):
    recipe = VersionFactory().recipe

    services.archive(recipe=recipe, by=maker)
    assert Recipe.objects.get().archived
    services.bring_back(recipe=recipe, by=maker)
    assert not Recipe.objects.get().archived


def test_a_viewer_writes_nothing(viewer: User):
    version = VersionFactory()

    with pytest.raises(PermissionDenied):
        services.create_recipe(name="Mine", design=design(), cure_days=28, by=viewer)
    with pytest.raises(PermissionDenied):
        save(version, viewer, note="mine")
    with pytest.raises(PermissionDenied):
        services.archive(recipe=version.recipe, by=viewer)


def test_things_are_called_by_their_names():
    fat = MaterialFactory(name="Tallow")
    what = design(part(100, fat), part(100, naoh=True), part(100, liquid=True))
    version = VersionFactory(name="Gravel Lane", design=what)

    assert str(version) == "Gravel Lane 1"
    assert str(version.ingredients.get(material=fat)) == "Tallow in Gravel Lane 1"
