"""How long a soap cures as a rule: proposed by what it is made of, never against the maker's own figure."""

from __future__ import annotations

import pytest
from django.urls import reverse

from recipes.models import Version
from recipes.usual_cure import usual_cure
from soapshop.core.models import Workshop
from tests.factories import MaterialFactory, WorkshopFactory, design, part
from tests.recipes.typed import typed

pytestmark = pytest.mark.django_db

ADD, PREVIEW = reverse("recipes:add"), reverse("recipes:preview")
WORKSHOP = Workshop(cure_days=28, cure_days_olive=180, cure_days_potash=14)


def days(*parts) -> int:
    return usual_cure(design(*parts), WORKSHOP).days


def lye():
    return part(100, naoh=True)


@pytest.mark.parametrize(("share", "usual"), [("69.99", 28), ("70", 180), ("100", 180)])
def test_soap_very_high_in_olive_oil_is_given_months(share, usual):
    olive = part(share, MaterialFactory(name="Olive oil, green"))
    others = [part(100 - olive.amount)] if olive.amount < 100 else []

    assert days(olive, *others, lye()) == usual


@pytest.mark.parametrize(
    "known", [{"reference": "olive"}, {"inci_name": "Olea Europaea Fruit Oil"}, {"name": "Aceite de OLIVE"}]
)
def test_olive_oil_is_known_by_catalogue_botany_or_name(known):
    assert days(part(100, MaterialFactory(**({"name": "Liquid gold"} | known))), lye()) == 180
    assert days(part(100, MaterialFactory(name="Liquid copper")), lye()) == 28


def test_two_olive_oils_count_together_also_by_weight():
    green, yellow = (MaterialFactory(name=f"Olive oil, {colour}") for colour in ("green", "yellow"))

    assert days(part(400, green), part(350, yellow), part(250), lye()) == 180


@pytest.mark.parametrize(("potash", "usual"), [(100, 14), (51, 14), (50, 28), (10, 28)])
def test_potash_soap_is_that_made_mainly_with_it(potash, usual):
    alkalis = [part(potash, koh=True)] + ([part(100 - potash, naoh=True)] if potash < 100 else [])

    assert days(part(100), *alkalis) == usual


def test_potash_goes_before_olive_oil():
    assert days(part(100, MaterialFactory(name="Olive oil")), part(100, koh=True)) == 14


# On the form.


def test_left_empty_the_recipe_gets_the_usual_days(client_of, maker):
    WorkshopFactory(cure_days=30, cure_days_olive=200)
    client, form = client_of(maker), typed()

    client.post(ADD, form(cure_days=""))
    client.post(ADD, form(cure_days="", name="Half", fats=[(form.olive, "50"), (form.coconut, "50")]))

    assert list(Version.objects.order_by("pk").values_list("cure_days", flat=True)) == [200, 30]


def test_the_makers_own_figure_stands(client_of, maker):
    client_of(maker).post(ADD, typed()(cure_days="45"))

    assert Version.objects.get().cure_days == 45


def test_while_typing_the_form_says_what_is_usual(client_of, maker):
    page = client_of(maker).post(PREVIEW, typed()(cure_days=""), HTTP_HX_REQUEST="true").content.decode()

    assert 'id="usual_cure" hx-swap-oob="true"' in page
    assert "the cure takes 180 days from the cut, as is usual here for soap very high in olive oil." in page


def test_before_there_is_anything_to_go_by_it_says_so_plainly(client_of, maker):
    assert "as long as is usual here" in client_of(maker).get(ADD).content.decode()


def test_a_change_starts_from_the_figure_of_the_last_version(client_of, maker):
    client = client_of(maker)
    client.post(ADD, typed()(cure_days="45"))

    page = client.get(reverse("recipes:edit", args=[Version.objects.get().recipe_id]))

    assert page.context["form"]["cure_days"].value() == 45
