"""Two versions or recipes side by side."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from inventory.models import Material
from recipes import services
from recipes.design import Mould
from recipes.models import Destination, Version
from shared.cross_section import Technique
from tests.bad_input import EVERYTHING
from tests.factories import (
    LotFactory,
    MaterialFactory,
    MouldFactory,
    VersionFactory,
    WorkshopFactory,
    design,
    into,
    part,
    portion,
)

pytestmark = pytest.mark.django_db

COMPARE = reverse("recipes:compare")


@pytest.fixture
def materials() -> dict[str, Material]:
    return {
        "olive": MaterialFactory(name="Olive oil"),
        "palm": MaterialFactory(name="Palm oil"),
        "lye": MaterialFactory(name="Sodium hydroxide", naoh=True),
        "water": MaterialFactory(name="Water", liquid=True),
        "scent": MaterialFactory(name="Lavender", fragrance=True),
        "wrap": MaterialFactory(name="Wrap", packaging=True),
    }


@pytest.fixture
def versions(materials, maker) -> tuple[Version, Version]:
    """Version 2 has less palm, a scent and a wrap, more superfat and longer to cure."""
    base = part(100, materials["lye"]), part(100, materials["water"])
    LotFactory(material=materials["olive"], quantity=1000, cost=10)
    one = VersionFactory(
        name="Gravel Lane", design=design(part(60, materials["olive"]), part(40, materials["palm"]), *base)
    )
    services.mark_poured(version=one, pours=1, last_poured_at=timezone.now())
    fats = part(70, materials["olive"]), part(30, materials["palm"])
    more = part(2, materials["scent"]), part(1, materials["wrap"])
    two = services.save_version(
        recipe=one.recipe,
        name="Gravel Lane",
        design=design(*fats, *base, *more, superfat=Decimal(8)),
        cure_days=35,
        note="softer",
        by=maker,
    )
    return one, two


def rows(answer) -> dict[str, tuple[str, str, str]]:
    return {
        row.name: (row.before.replace("\u00a0", " "), row.after.replace("\u00a0", " "), row.words)
        for _, found in answer.context["parts"]
        for row in found
    }


def compare(client, one: object, two: object):
    return client.get(COMPARE, {"a": getattr(one, "pk", one), "b": getattr(two, "pk", two)})


def test_two_versions_stand_side_by_side_with_what_changed(client_of, viewer, versions):
    answer = compare(client_of(viewer), *versions)

    found = rows(answer)
    assert found["Olive oil"] == ("60 %", "70 %", "10 points more")
    assert found["Palm oil"] == ("40 %", "30 %", "10 points less")
    assert found["Lavender"] == ("none", "2 %", "new")
    assert found["Wrap"] == ("none", "1 a bar", "new")
    assert found["Superfat aimed at"] == ("5 %", "8 %", "3 points more")
    assert found["Superfat, likely"][2] == "changed"
    assert found["Lye concentration"] == ("33 %", "33 %", "same")
    assert found["Weight of all fats"] == ("1\u202f000 g", "1\u202f000 g", "same")
    assert found["Cost a bar"][2].endswith("more")
    assert found["Sodium hydroxide"][2].endswith("g less")
    assert found["Cure"] == ("28 days", "35 days", "7\u00a0days more")
    assert "softer" in answer.text
    assert answer.context["names"] == ("version 1", "version 2")


def test_the_other_way_round_what_came_is_what_went(client_of, viewer, versions):
    assert rows(compare(client_of(viewer), *reversed(versions)))["Lavender"][2] == "gone"


def test_two_recipes_stand_side_by_side_under_their_names(client_of, viewer, versions):
    other = VersionFactory(name="Night Ferry")

    answer = compare(client_of(viewer), versions[1], other)

    assert answer.context["names"] == ("Gravel Lane", "Night Ferry")
    assert rows(answer)["Palm oil"][2] == "gone"


def test_one_that_no_longer_works_out_is_compared_in_what_is_left(client_of, viewer, versions, materials):
    Material.objects.filter(pk=materials["palm"].pk).update(sap_low=None, sap_nominal=None, sap_high=None)

    answer = compare(client_of(viewer), *versions)

    assert set(rows(answer)) == {"Bars", "Cure"}
    assert "Palm oil has no saponification value yet" in answer.text


def parts(answer) -> dict[str, dict[str, tuple[str, str, str]]]:
    return {
        part: {row.name: (row.before, row.after, row.words) for row in found}
        for part, found in answer.context["parts"]
    }


@pytest.fixture
def split(materials, maker) -> tuple[Version, Version]:
    """Version 2 has more rose, swirled and unscented, no tins any more, and a mould that is kept."""
    base = part(100, materials["olive"]), part(100, materials["lye"]), part(100, materials["water"])
    scent, clay = part(2, materials["scent"]), MaterialFactory(name="Rose clay", colour_=True)
    rose = {"colour": "#c98b82", "technique": Technique.LAYER}
    tins = portion(
        "Tins", grams=100, destination=Destination.OTHER, other_mould=MouldFactory(name="Six tins")
    )
    one = VersionFactory(
        design=design(*base, scent, portions=(portion("White"), portion("Rose", share=25, **rose), tins))
    )
    services.mark_poured(version=one, pours=1, last_poured_at=timezone.now())
    rose |= {"technique": Technique.DROP, "fragrance": Decimal(0)}
    more = portion("White"), portion("Rose", into("1.5", clay), share=40, **rose)
    mould = Mould(None, None, Decimal(50), MouldFactory(name="Long loaf"))
    two = services.save_version(
        recipe=one.recipe,
        name=one.recipe.name,
        design=design(*base, scent, portions=more, size_by="mould", size_grams=None, mould=mould),
        cure_days=28,
        by=maker,
    )
    return one, two


def test_portions_stand_side_by_side(client_of, viewer, split):
    found = parts(compare(client_of(viewer), *split))

    rose = found["Portion: Rose"]
    assert rose["Share of the batter"] == ("25\u00a0%", "40\u00a0%", "15 points more")
    assert rose["Colour"] == ("#c98b82", "#c98b82", "same")
    assert rose["Poured as"] == ("layer", "drop swirl", "changed")
    assert rose["Fragrance of the recipe, of its fats"] == ("2\u00a0%", "0\u00a0%", "2 points less")
    assert rose["With Rose clay"] == ("none", "1.5 % of its fats", "new")
    assert found["Portion: White"]["Poured as"] == ("layer", "layer", "same")
    assert found["Portion: Tins"]["Goes into"] == ("Six tins", "none", "gone")


def test_moulds_stand_side_by_side(client_of, viewer, split):
    answer = compare(client_of(viewer), *split)

    assert rows(answer)["Mould"] == ("none", "Long loaf, filled 50 mm high", "new")


def test_a_mould_that_was_only_typed_is_told_by_its_sides(client_of, viewer):
    sides = Decimal(250), Decimal("80.5")
    filled = VersionFactory(design=design(size_by="mould", mould=Mould(*sides, Decimal(60))))
    base = VersionFactory(design=design(mould=Mould(*sides, None)))

    found = rows(compare(client_of(viewer), base, filled))["Mould"]

    assert found == ("250 × 80.5 mm", "250 × 80.5 mm, filled 60 mm high", "changed")


def test_a_portion_shows_its_colour(client_of, viewer, split):
    page = compare(client_of(viewer), *split).text

    assert page.count('<rect width="16" height="16" fill="#c98b82">') == 2
    assert '<rect width="16" height="16" fill="none">' not in page


def test_portions_of_one_that_no_longer_works_out_are_compared_without_their_shares(
    client_of, viewer, split, materials
):
    Material.objects.filter(pk=materials["olive"].pk).update(sap_low=None, sap_nominal=None, sap_high=None)

    rose = parts(compare(client_of(viewer), *split))["Portion: Rose"]

    assert "Share of the batter" not in rose
    assert rose["Poured as"][2] == "changed"


def test_what_is_set_on_top_is_counted_and_weighed_for_a_bar(client_of, viewer):
    on_top = part(3, embed=True, name="Stars"), part("1.5", topping=True, name="Poppy")
    plain, decked = VersionFactory(), VersionFactory(design=design(*design().parts, *on_top))

    found = parts(compare(client_of(viewer), plain, decked))["On top"]

    assert found["Stars"] == ("none", "3 a bar", "new")
    assert found["Poppy"] == ("none", "1.5 g a bar", "new")


def test_a_recipe_leads_to_the_comparison_of_its_versions_the_earlier_first(client_of, viewer, versions):
    one, two = versions
    client = client_of(viewer)
    link = f"{COMPARE}?a={one.pk}&amp;b={two.pk}"

    assert link in client.get(reverse("recipes:recipe", args=[one.recipe_id])).text
    assert link in client.get(reverse("recipes:version", args=[one.recipe_id, 1])).text


def test_the_lists_hold_last_versions_and_all_of_what_is_compared(client_of, viewer, versions):
    one, two = versions
    other = VersionFactory(name="Night Ferry")
    client = client_of(viewer)

    assert client.get(COMPARE).context["choices"] == [two, other]
    assert compare(client, one, "").context["choices"] == [two, one, other]


@pytest.mark.parametrize("value", [*EVERYTHING, "9" * 18])
def test_a_choice_that_is_none_is_said_to_be_none(client_of, viewer, versions, value):
    answer = compare(client_of(viewer), versions[0], value)

    assert answer.status_code == 200
    assert ("One of these versions does not exist." in answer.text) == bool(value)


def test_the_database_is_asked_a_constant_number_of_times(client_of, viewer, versions):
    WorkshopFactory()
    client = client_of(viewer)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            compare(client, *versions)
        return len(asked)

    few = queries()
    for _ in range(5):
        VersionFactory()

    assert queries() == few <= 18
