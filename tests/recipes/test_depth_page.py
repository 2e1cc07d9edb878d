"""The page of a recipe shows what is behind it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from recipes.models import Version
from tests.factories import LotFactory, MaterialFactory, VersionFactory, design, part
from tests.recipes.test_depth import fat

pytestmark = pytest.mark.django_db


def version(*fats, **changed) -> Version:
    return VersionFactory(design=design(*fats, part(100, naoh=True), part(100, liquid=True), **changed))


def page_of(client, found: Version) -> str:
    answer = client.get(reverse("recipes:recipe", args=[found.recipe_id]))
    assert answer.status_code == 200
    return answer.content.decode()


def test_everything_behind_a_recipe_is_on_its_page(client_of, viewer):
    page = page_of(client_of(viewer), version(part(70, fat("olive")), part(30, fat("coconut"))))

    for words in (
        "What this blend will do",
        "Its fatty acids",
        "Iodine value",
        "How the bars keep",
        "The finished bar",
        "Total fatty matter",
        "Ingredients as sold",
        "This is no label",
        "common practice, no source",
    ):
        assert words in page
    assert 'role="img" aria-label="Fatty acids, drawn to scale: Short saturated acids' in page


def test_it_stands_below_the_result(client_of, viewer):
    page = page_of(client_of(viewer), version(part(100, fat("olive"))))

    assert page.index('id="result"') < page.index('class="page-depth"')


def test_fats_of_which_nothing_is_published_are_named(client_of, viewer):
    page = page_of(client_of(viewer), version(part(100, name="Hedge oil")))

    assert "Not published here for Hedge oil" in page
    assert "This cannot be said" in page
    assert "No INCI name yet:" in page


def test_a_name_is_shown_as_text_never_as_markup(client_of, viewer):
    page = page_of(client_of(viewer), version(part(100, name="<script>alert(1)</script>")))

    assert "<script>alert" not in page


def test_the_number_of_queries_does_not_grow_with_the_fats(client_of, viewer, django_assert_max_num_queries):
    many = version(*(part(1, MaterialFactory()) for _ in range(57)), part(43, fat("olive")))
    client = client_of(viewer)

    with django_assert_max_num_queries(13):
        page_of(client, many)


def test_a_certificate_that_cannot_be_right_is_pointed_out(client_of, viewer):
    olive = fat("olive")
    lot = LotFactory(material=olive, sap=Decimal("0.19"), sap_uncertainty=Decimal("0.01"))
    found = version(part(100, olive), size_grams=Decimal(100_000))

    page = client_of(viewer).get(reverse("inventory:material", args=[olive.pk])).content.decode()

    assert f"certificate of lot {lot.code}" in page
    assert "It looks like grams to a gram" in page
    assert page_of(client_of(viewer), found)


def test_a_value_of_the_makers_own_is_pointed_out_on_the_recipe(client_of, viewer):
    olive = fat("olive", sap_low=130, sap_nominal=135, sap_high=140, sap_source="a maker")
    page = page_of(client_of(viewer), version(part(100, olive)))

    assert "135 cannot be right for Olive oil" in page
    assert reverse("inventory:material", args=[olive.pk]) in page


def test_a_recipe_that_does_not_work_out_has_nothing_behind_it(client_of, viewer):
    found = version(part(100, fat("olive")))
    found.ingredients.filter(material__kind="fat").get().material.__class__.objects.filter(kind="fat").update(
        sap_low=None, sap_nominal=None, sap_high=None
    )

    assert 'class="page-depth"' not in page_of(client_of(viewer), found)


def test_the_heat_of_the_lye_is_likely_and_at_most(client_of, viewer):
    page = page_of(client_of(viewer), version(part(100, fat("olive"))))

    assert "about 92, at most 10" in page
    assert "can boil" not in page
    assert "This lye boils at" in page


def test_lye_that_reaches_its_own_boiling_point_is_said_to_boil(client_of, viewer):
    parts = (part(100, fat("olive")), part(100, koh=True), part(100, liquid=True))

    assert "°C, and can boil" in page_of(client_of(viewer), VersionFactory(design=design(*parts)))
