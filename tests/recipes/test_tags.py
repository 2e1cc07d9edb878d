"""Tags, and recipes found again by them, by what is in them and by what was noted."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.urls import reverse

from recipes import queries, services
from recipes.models import Recipe, Tag, Version
from soapshop.core.queries import history_of
from tests.bad_input import EMOJI, NUL, SCRIPT, TOO_LONG
from tests.factories import MaterialFactory, UserFactory, VersionFactory, design, part

pytestmark = pytest.mark.django_db

LIST = reverse("recipes:list")


def tagged(name: str, *tags: str, **said: object) -> Recipe:
    recipe: Recipe = VersionFactory(name=name, **said).recipe
    services.set_tags(recipe=recipe, names=tags, by=UserFactory())
    return recipe


def tags_of(recipe: Recipe) -> list[str]:
    return [tag.name for tag in recipe.tags.all()]


def found(**asked: object) -> list[str]:
    return [row.recipe.name for row in queries.recipe_rows(**asked)]


def url(recipe: Recipe, name: str = "tags") -> str:
    return reverse(f"recipes:{name}", args=[recipe.pk])


def test_a_recipe_has_the_tags_it_was_given_last(maker):
    recipe = tagged("Gravel Lane", "market", " winter ")

    services.set_tags(recipe=recipe, names=["winter", "  for   gifts", ""], by=maker)

    assert tags_of(recipe) == ["for gifts", "winter"]
    assert history_of(recipe)[0].what == "tagged Gravel Lane: winter, for gifts"


def test_a_tag_is_one_whatever_its_case(maker):
    tagged("Coal Barge", "Winter")

    recipe = tagged("Gravel Lane", "winter", "WINTER")

    assert tags_of(recipe) == ["Winter"]


def test_a_tag_that_no_recipe_has_is_gone(maker):
    recipe, other = tagged("Gravel Lane", "winter", "market"), tagged("Coal Barge", "market")

    services.set_tags(recipe=recipe, names=[], by=maker)

    assert [tag.name for tag in Tag.objects.all()] == tags_of(other) == ["market"]
    assert history_of(recipe)[0].what == "took all tags from Gravel Lane"


def test_the_same_tags_again_leave_no_trace(maker):
    recipe = tagged("Gravel Lane", "winter")
    before = history_of(recipe).count()

    services.set_tags(recipe=recipe, names=["WINTER"], by=maker)

    assert history_of(recipe).count() == before


@pytest.mark.parametrize(
    ("names", "words"),
    [([f"tag {number}" for number in range(13)], "these are 13"), (["x" * 31], "too long")],
)
def test_too_many_tags_or_too_long_ones_are_refused(maker, names: list[str], words: str):
    recipe = tagged("Gravel Lane", "winter")

    with pytest.raises(ValidationError, match=words):
        services.set_tags(recipe=recipe, names=names, by=maker)

    assert tags_of(recipe) == ["winter"]


def test_a_viewer_gives_no_tags(viewer, client_of):
    recipe = tagged("Gravel Lane", "winter")

    with pytest.raises(PermissionDenied):
        services.set_tags(recipe=recipe, names=[], by=viewer)

    page = client_of(viewer).get(url(recipe, "recipe")).content.decode()
    assert "?tag=winter" in page
    assert url(recipe) not in page


def test_tags_are_given_on_the_page_of_the_recipe(client_of, maker):
    recipe, client = VersionFactory(name="Gravel Lane").recipe, client_of(maker)

    answer = client.post(url(recipe), {"tags": "winter, for gifts,,"})

    assert (answer.status_code, answer.url) == (302, url(recipe, "recipe"))
    assert tags_of(recipe) == ["for gifts", "winter"]
    assert 'value="for gifts, winter"' in client.get(url(recipe, "recipe")).content.decode()


@pytest.mark.parametrize("typed", [NUL, TOO_LONG, "x" * 31, ",".join("abcdefghijklm")])
def test_tags_that_are_refused_stand_there_as_they_were_typed(client_of, maker, typed: str):
    recipe = tagged("Gravel Lane", "winter")

    answer = client_of(maker).post(url(recipe), {"tags": typed})

    assert answer.status_code == 422
    assert answer.context["tags_form"]["tags"].value() == typed
    assert "field-errors" in answer.content.decode()
    assert tags_of(recipe) == ["winter"]


@pytest.mark.parametrize("typed", [EMOJI, SCRIPT[:30], "{{ 7 }}", "%s"])
def test_a_strange_tag_is_only_words(client_of, maker, typed: str):
    recipe, client = VersionFactory().recipe, client_of(maker)

    client.post(url(recipe), {"tags": typed})

    assert tags_of(recipe) == [typed]
    for page in (LIST, url(recipe, "recipe")):
        assert "<script>alert" not in client.get(page).content.decode()
    assert client.get(LIST, {"tag": typed}).context["page"].paginator.count == 1


def test_recipes_are_found_by_name_tag_material_and_note():
    tallow = MaterialFactory(name="Tallow")
    what = design(part(100, tallow), part(100, naoh=True), part(100, liquid=True))
    tagged("Gravel Lane", "winter")
    tagged("Coal Barge", design=what)
    tagged("Slow Lane", note="Too soft in the winter.")

    assert found(search="lane") == ["Gravel Lane", "Slow Lane"]
    assert found(search="WINTER") == ["Gravel Lane", "Slow Lane"]
    assert found(search="tallow") == ["Coal Barge"]
    assert found(search="winter slow") == ["Slow Lane"]
    assert found(search="winter tallow") == []


def test_what_an_earlier_version_said_is_not_what_a_recipe_is(maker):
    tallow = MaterialFactory(name="Tallow")
    what = design(part(100, tallow), part(100, naoh=True), part(100, liquid=True))
    version: Version = VersionFactory(name="Gravel Lane", design=what)
    services.save_version(recipe=version.recipe, name="Gravel Lane", design=design(), cure_days=28, by=maker)

    assert found(search="tallow") == []


def test_recipes_are_found_by_a_tag_and_put_away_ones_where_they_are(maker):
    tagged("Gravel Lane", "winter"), tagged("Coal Barge", "market")
    services.archive(recipe=tagged("Old Lane", "winter"), by=maker)

    assert found(tag="WINTER") == ["Gravel Lane"]
    assert found(tag="winter", archived=True) == ["Old Lane"]
    assert found(tag="winter", search="coal") == []
    assert found(tag="wint") == []


def test_a_list_offers_the_tags_of_its_recipes(maker):
    tagged("Gravel Lane", "winter", "Market"), tagged("Coal Barge", "market")
    services.archive(recipe=tagged("Old Lane", "summer"), by=maker)

    assert [tag.name for tag in queries.tags_in_use(archived=False)] == ["Market", "winter"]
    assert [tag.name for tag in queries.tags_in_use(archived=True)] == ["summer"]


def test_a_search_stays_with_the_tag_and_the_list_it_is_made_in(client_of, maker):
    services.archive(recipe=tagged("Old Lane", "winter"), by=maker)

    page = client_of(maker).get(LIST, {"tag": "winter", "archived": "", "q": "lane"}).content.decode()

    assert '<input type="hidden" name="tag" value="winter">' in page
    assert '<input type="hidden" name="archived" value="">' in page
    assert "Old Lane" in page


def test_nothing_found_says_where_was_looked(client_of, maker):
    tagged("Gravel Lane", "winter")

    assert "No recipe found" in client_of(maker).get(LIST, {"q": "zzz"}).content.decode()
    assert "No recipe found" in client_of(maker).get(LIST, {"tag": "zzz"}).content.decode()


def test_a_page_of_what_was_found_leads_on_to_the_next(client_of, maker):
    for number in range(26):
        tagged(f"Lane {number}", "winter")

    page = client_of(maker).get(LIST, {"tag": "winter", "q": "lane"}).content.decode()

    assert "?tag=winter&amp;q=lane&amp;page=2" in page
