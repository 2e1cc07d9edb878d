"""The page on which a batter is split and coloured, and what the page of the recipe shows of it."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from inventory.models import Behaviour
from recipes import services
from recipes.design import Mould, design_of
from recipes.models import Outcome, PortionBy, Version
from recipes.portions import Into, PortionDesign
from soapshop.core.services.photos import store_photo
from tests.bad_input import EVERYTHING, SCRIPT, TOO_LONG
from tests.core.pictures import jpeg, upload
from tests.factories import MaterialFactory, MouldFactory, VersionFactory, design, part
from tests.recipes.portions_typed import portion, two, typed

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true", "HX-Target": "result"}
LIGHT = PortionDesign("Light", PortionBy.SHARE, Decimal(50), "#f4ecdc")
REST = PortionDesign("Dark", colour="#7d6a58")


@pytest.fixture
def phone(client_of, maker, workshop):
    return client_of(maker)


@pytest.fixture
def version():
    return VersionFactory()


def url(version: Version, name: str = "look") -> str:
    return reverse(f"recipes:{name}", args=[version.recipe_id])


def text(response) -> str:
    return " ".join(response.content.decode().replace("\u202f", " ").replace("\u00a0", " ").split())


def latest(version: Version) -> Version:
    found = Version.objects.with_ingredients().filter(recipe=version.recipe_id)
    return found.order_by("-number")[0]


def look_of(version: Version) -> list[tuple[str, str]]:
    return [(one.name, one.colour) for one in design_of(latest(version)).portions]


def poured(version: Version) -> None:
    services.mark_poured(version=version, pours=1, last_poured_at=timezone.now())


# --- looking and saving -------------------------------------------------------------------------------------


def test_a_batter_that_is_not_split_begins_as_one_portion(phone, version):
    page = text(phone.get(url(version)))

    assert 'value="All of it"' in page
    assert 'name="add"' in page
    assert 'name="remove"' not in page


def test_a_look_is_saved_and_leads_to_the_recipe(phone, version):
    answer = phone.post(url(version), typed(*two(), save=""), follow=True)

    assert answer.redirect_chain == [(url(version, "recipe"), 302)]
    assert look_of(version) == [("Light", "#f4ecdc"), ("Dark", "#7d6a58")]
    assert "Saved how version 1" in text(answer)


def test_a_look_sent_twice_makes_one(phone, version):
    poured(version)
    sent = typed(*two(), save="", seen=latest(version).stamp)

    for _ in range(2):
        assert phone.post(url(version), sent).status_code == 302

    assert latest(version).number == 2
    assert look_of(version)[0] == ("Light", "#f4ecdc")


def test_what_was_poured_stays_and_the_look_makes_the_next_version(phone, version):
    poured(version)
    assert "Saving makes version 2" in text(phone.get(url(version)))

    phone.post(url(version), typed(*two(), save=""))

    assert latest(version).number == 2
    assert not design_of(Version.objects.with_ingredients().get(pk=version.pk)).portions


def test_a_look_that_someone_else_saved_meanwhile_is_told_and_can_be_replaced(phone, version):
    seen = version.stamp
    services.save_look(version=latest(version), portions=(REST, LIGHT), by=version.made_by, seen=seen)

    answer = phone.post(url(version), typed(*two(), save="", seen=seen))
    assert answer.status_code == 422
    assert "while you were writing" in text(answer)

    again = typed(*two(), save="", seen=answer.context["form"].seen)
    assert phone.post(url(version), again).status_code == 302
    assert look_of(version)[0][0] == "Light"


def test_the_colour_of_a_portion_follows_what_colours_it_unless_one_was_picked(phone, version):
    clay = MaterialFactory(colour_=True, colour="#c98f80")
    rows = [(clay, "2", "fats")]
    tone = {"colour": "#efe6cf", "shown": "#efe6cf", "made": "on"}
    made = portion("p1", name="Clay", size_by="share", size="50", rows=rows, **tone)
    picked = portion("p2", name="Picked", rows=rows, **tone | {"colour": "#aa3366"})

    phone.post(url(version), typed(made, picked, save=""))

    assert look_of(version) == [("Clay", ""), ("Picked", "#aa3366")]
    assert [layer.colour for layer in latest(version).look.layers] == ["#c98f80", "#aa3366"]


@pytest.mark.parametrize("role", ["viewer", "nobody"])
def test_a_look_is_for_makers(client_of, viewer, client, version, role: str):
    guest = client_of(viewer) if role == "viewer" else client
    expected = 403 if role == "viewer" else 302

    assert guest.get(url(version)).status_code == expected
    assert guest.post(url(version), typed(*two(), save="")).status_code == expected
    assert guest.post(url(version, "look_preview"), typed(*two())).status_code == expected
    assert look_of(version) == []


# --- refused ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("field", ["name", "size", "colour", "destination"])
def test_whatever_is_typed_is_answered_and_kept(phone, version, field: str):
    for value in EVERYTHING:
        answer = phone.post(url(version), typed(*two(**{field: value}), save=""))

        assert answer.status_code in (302, 422)
        if answer.status_code == 422:
            assert SCRIPT not in answer.content.decode()
            assert answer.context["form"].portions[0][field].value() == value
            assert answer.context["result"].problems


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        (("60", "50"), "The shares add up to 110 %, more than the whole batter: Light, Dark."),
        (("30", "50"), "The shares add up to only 80 %, and no portion takes the rest: Light, Dark."),
    ],
)
def test_too_much_and_too_little_say_which(phone, version, sizes: tuple[str, str], words: str):
    light, dark = two(size=sizes[0])
    dark |= {"p2-size_by": "share", "p2-size": sizes[1]}

    answer = phone.post(url(version), typed(light, dark, save=""))

    assert answer.status_code == 422
    assert answer.context["result"].problems == (words,)
    assert answer.context["form"].portions[0].errors["size"] == [words]


def test_two_rests_say_which(phone, version):
    answer = phone.post(url(version), typed(*two(size_by="rest"), save=""))

    assert "Only one portion can take the rest" in answer.context["result"].problems[0]


def test_a_problem_names_its_portion(phone, version):
    acid = MaterialFactory(name="Citric acid", colour_=True)
    twice = two()
    twice[0]["p1-material"], twice[0]["p1-amount"] = [acid.pk] * 2, ["1", "2"]
    twice[0]["p1-amount_by"] = ["fats", "fats"]

    answer = phone.post(url(version), typed(*twice, save=""))

    assert answer.context["result"].problems == ("Light: Citric acid stands in this portion twice.",)
    assert answer.context["form"].portions[0].rows[0].errors["material"]


def test_more_portions_than_there_may_be_are_refused_above_all(phone, version):
    many = [portion(f"p{at}", name=f"Portion {at}", size_by="grams", size="10") for at in range(20)]

    answer = phone.post(url(version), typed(*many, save=""))

    assert answer.status_code == 422
    assert answer.context["form"].errors == ["A batter is split into up to 12 portions; these are 13."]


def test_a_form_that_lost_its_portions_takes_none_away(phone, version):
    phone.post(url(version), typed(*two(), save=""))

    assert phone.post(url(version), {"save": ""}).status_code == 422
    assert len(look_of(version)) == 2


# --- steps and previews -------------------------------------------------------------------------------------


def test_a_step_without_a_script_shows_the_whole_page_with_what_was_typed(phone, version):
    answer = phone.post(url(version), typed(*two(name="Slate"), add="1"))

    assert answer.status_code == 200
    assert [one["name"].value() for one in answer.context["form"]] == ["Slate", "Dark", "Portion 3"]
    assert "<!doctype html>" in text(answer)
    assert look_of(version) == []


@pytest.mark.parametrize("step", ["add", "earlier", "later", "remove", "add_into", "remove_into"])
def test_a_step_with_htmx_gives_the_portions_and_where_to_look_next(phone, version, step: str):
    rows = [(MaterialFactory(colour_=True), "1", "fats")]
    there = portion("p1", name="Light", size_by="share", size="50", rows=rows), two()[1]
    value = "p1:0" if step == "remove_into" else "p1"

    headers = HTMX | {"HX-Target": "portions"}
    answer = text(phone.post(url(version, "look_preview"), typed(*there, **{step: value}), headers=headers))

    assert answer.startswith('<div class="portions" id="portions">')
    assert answer.count("data-focus") == 1
    for part_of_page in ('id="result" hx-swap-oob="true"', 'id="bar" hx-swap-oob="true"'):
        assert part_of_page in answer


def test_typing_gives_the_result_and_leaves_what_is_typed_alone(phone, version):
    sent = typed(*two(size_by="grams", size="300"), add="1")

    answer = text(phone.post(url(version, "look_preview"), sent, headers=HTMX))

    assert answer.startswith('<div class="stack" id="result">')
    assert 'id="p1-unit" hx-swap-oob="true">g</span>' in answer
    assert 'id="p1-edge"' in answer
    assert 'id="id_p1-size"' not in answer
    assert 'id="id_p1-colour"' not in answer
    assert "Portion 3" not in answer


def test_a_colour_that_follows_is_put_into_its_field(phone, version):
    clay = MaterialFactory(colour_=True, colour="#c98f80")
    tone = {"colour": "#efe6cf", "shown": "#efe6cf", "made": "on"}
    sent = typed(portion(rows=[(clay, "2", "fats")], **tone))

    answer = text(phone.post(url(version, "look_preview"), sent, headers=HTMX))

    assert 'id="p1-tone" hx-swap-oob="true"' in answer
    assert 'value="#c98f80"' in answer


def test_a_preview_says_what_is_wrong(phone, version):
    sent = typed(*two(size="-5"))

    answer = text(phone.post(url(version, "look_preview"), sent, headers=HTMX))

    assert "It does not work out yet" in answer
    assert "Light: Amount: At least 0.01." in answer


def test_long_words_and_scripts_in_a_preview_stay_words(phone, version):
    sent = typed(*two(name=SCRIPT, size=TOO_LONG))

    answer = phone.post(url(version, "look_preview"), sent, headers=HTMX).content.decode()

    assert SCRIPT not in answer
    assert TOO_LONG not in answer


def test_the_page_asks_the_database_no_more_for_ten_portions_than_for_two(phone):
    clay, mould = MaterialFactory(colour_=True), MouldFactory()
    kept = Mould(None, None, None, mould)
    parts = (*design().parts, part(3, fragrance=True))

    def split(number: int) -> Version:
        share = Decimal(100) / number
        portions = tuple(
            PortionDesign(f"Portion {at}", PortionBy.SHARE, share.quantize(Decimal("0.01")), additions=into)
            for at, into in enumerate([(Into(clay, Decimal(1)),)] * number)
        )
        return VersionFactory(design=replace(design(*parts), mould=kept, portions=portions))

    def asked(version: Version, name: str) -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert phone.get(url(version, name)).status_code == 200
        return len(queries)

    few, many = split(2), split(10)
    phone.get(url(few))
    for name in ("look", "recipe"):
        assert asked(few, name) == asked(many, name)


# --- the page of the recipe ---------------------------------------------------------------------------------


def test_a_recipe_leads_makers_to_its_look(phone, client_of, viewer, version):
    assert f'href="{url(version)}"' in text(phone.get(url(version, "recipe")))
    assert f'href="{url(version)}"' not in text(client_of(viewer).get(url(version, "recipe")))


def test_a_recipe_shows_its_jugs_and_how_they_came_about(phone):
    version = VersionFactory(design=design(portions=(LIGHT, REST)))

    page = text(phone.get(url(version, "recipe")))

    assert '<h2 id="jugs-title">Jugs</h2>' in page
    assert "What the other jugs leave of the batter." in page
    assert "A jug for it holds" in page


def test_a_recipe_that_is_poured_as_one_shows_no_jugs(phone, version):
    page = text(phone.get(url(version, "recipe")))

    assert "jugs-title" not in page
    assert "scent-title" not in page


def test_a_recipe_warns_of_a_fragrance_that_behaved_badly_and_not_of_one_that_did_well(phone):
    wild, meek = (MaterialFactory(fragrance=True, name=name) for name in ("Clove", "Lavender"))
    Behaviour.objects.create(material=wild, batches=3, seized=2)
    Behaviour.objects.create(material=meek, batches=3)
    version = VersionFactory(design=design(*design().parts, part(1, wild), part(1, meek)))

    for name in ("recipe", "look"):
        page = text(phone.get(url(version, name)))
        assert "Clove seized in 2 of 3 batches" in page
        assert "behaved well" not in page


def test_the_placing_strip_is_for_recipes_with_embeds(phone, version):
    strip = reverse("recipes:strip", args=[version.recipe_id, 1])
    assert strip not in text(phone.get(url(version, "recipe")))

    pearls = VersionFactory(design=design(*design().parts, part(2, embed=True)))
    strip = reverse("recipes:strip", args=[pearls.recipe_id, 1])
    assert strip in text(phone.get(url(pearls, "recipe")))


def test_what_came_of_a_version_stands_on_its_page_and_on_the_next(phone, maker, version):
    Outcome.objects.create(
        batch="26-0001",
        version=version,
        picture=version.look.to_json(),
        photo=store_photo(upload=upload(jpeg()), by=maker),
        as_meant="The line is straight.",
        otherwise="Pour thicker & slower.",
        by=maker,
    )
    poured(version)
    for number in (2, 3):
        phone.post(url(version), typed(*two(name=f"Light {number}"), save=""))
        poured(latest(version))

    def page(number: int) -> str:
        return text(phone.get(reverse("recipes:version", args=[version.recipe_id, number])))

    for number in (1, 2):
        assert "What came of version 1" in page(number)
        assert "Pour thicker &amp; slower." in page(number)
        assert "The cut face of 26-0001" in page(number)
    assert "What came of version 1" not in page(3)
