"""How the figures of a recipe came about: what is told must be what is shown."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.models import Kind
from recipes.design import Design, Mould, Part
from recipes.explain import Explanation, explain, explain_card
from recipes.models import LiquidBy, Process, SizeBy, Stage
from recipes.queries import Sheet, sheet
from soapshop.core.models import Units, Workshop
from tests.factories import LotFactory, MaterialFactory, VersionFactory, WorkshopFactory, design, part
from tests.recipes.catalogue import fat
from tests.recipes.test_stages import made_of, olive, soda, water

pytestmark = pytest.mark.django_db


@pytest.fixture
def workshop() -> Workshop:
    return WorkshopFactory()


def sheet_of(what: Design, workshop: Workshop) -> Sheet:
    return sheet(what, workshop=workshop, day=timezone.localdate())


def figures(*parts: Part, workshop: Workshop, **changed: Any) -> dict[str, Explanation]:
    found = explain(sheet_of(design(*parts, **changed), workshop), workshop)
    return {one.name: one for one in found}


def weights(*parts: Part, workshop: Workshop, **changed: Any) -> dict[str, Explanation]:
    found = explain_card(sheet_of(design(*parts, **changed), workshop), workshop)
    return {one.name: one for one in found}


def told(one: Explanation) -> dict[str, str]:
    """What was put in, by name."""
    return {entry.name: entry.figure.replace("\xa0", " ") for entry in one.entries}


def sources(one: Explanation) -> str:
    return " ".join(entry.source for entry in one.entries)


# Every figure has a formula, what was put in, and a source.


def test_each_figure_says_its_formula_what_was_put_in_and_where_it_is_from(workshop):
    scent = part(2, fragrance=True, name="Lavender oil")
    box = part(1, kind=Kind.PACKAGING, name="Box")
    found = sheet_of(design(olive(), soda(), water(), scent, box), workshop)

    for one in (*explain(found, workshop), *explain_card(found, workshop)):
        assert one.name
        assert one.figure
        assert one.formula
        assert one.source
        assert all(entry.name and entry.figure for entry in one.entries), one.name


def test_each_line_of_the_card_is_told_as_it_is_shown(workshop):
    found = sheet_of(design(olive(70), part(30, name="Palm oil"), soda(), water()), workshop)
    shown = {one.name: one.figure for one in explain_card(found, workshop)}

    for line in found.worked_out.lines:
        assert shown[line.material.name].replace("\xa0", " ") == f"{line.grams.normalize():f} g"
    assert "".join(shown["All fats"].split()) == f"{found.worked_out.fat_grams:.0f}g"


def test_what_the_fats_take_makes_the_alkali_that_is_told(workshop):
    found = figures(olive(), soda(), water(), workshop=workshop)["Alkali, before rounding"]

    assert told(found)["Olive oil"] == "1 000 g × 190.0 mg/g".replace("1 ", "1\u202f")
    # 1000 g x 190 mg/g / 56.105 g/mol = 3.3865 mol, less 5 %, x 39.997 g/mol.
    assert found.figure == "128.7\xa0g"


def test_the_lye_concentration_is_the_alkali_against_it_and_its_water(workshop):
    made = figures(olive(), soda(), water(), workshop=workshop)["Lye concentration"]
    put_in = ("Alkali without its water", "Water in the lye")
    alkali, in_lye = (float(told(made)[name].removesuffix(" g")) for name in put_in)

    assert made.figure.replace("\xa0", " ") == "33.0 %"
    assert 100 * alkali / (alkali + in_lye) == pytest.approx(33, abs=0.05)


def test_the_batter_is_the_sum_of_the_weights_that_are_told(workshop):
    found = figures(olive(), soda(), water(), part(2, fragrance=True), workshop=workshop)["Batter"]
    together = sum(
        Decimal(figure.removesuffix(" g").replace("\u202f", "").replace(" ", ""))
        for figure in told(found).values()
    )

    assert found.figure.replace("\u202f", "").replace("\xa0", "").replace(" ", "") == f"{together}g"


# Where it is from.


def test_a_certificate_goes_before_what_the_stockroom_says(workshop):
    lye = MaterialFactory(name="Lye", naoh=True)
    LotFactory(material=lye, code="LY-7", purity=98, purity_uncertainty=1)
    found = figures(olive(), part(100, lye), water(), workshop=workshop)

    assert "certificate of lot LY-7" in sources(found["Alkali, before rounding"])
    assert "certificate of lot LY-7" in sources(found["Superfat, as weighed"])
    assert "97 to 99 % pure" in " ".join(told(found["Superfat, as weighed"]).values())


def test_a_ready_made_lye_tells_its_strength_and_the_water_it_brings(workshop):
    lye = MaterialFactory(name="Lye 50", naoh=True, purity_low=50, purity_high=50, dissolved=True)
    found = figures(olive(), part(100, lye), water(), workshop=workshop)

    assert told(found["Alkali, before rounding"])["Lye 50"] == "50 % strong"
    assert "Water that the lye solution brings" in told(found["Liquid, before rounding"])


def test_the_fat_and_the_acid_of_a_liquid_are_told_among_what_takes_alkali(workshop):
    milk, vinegar = made_of("goat_milk"), made_of("cider_vinegar")
    parts = (olive(), soda(), water(50), part(30, milk), part(20, vinegar))
    found = figures(*parts, workshop=workshop)

    for name in ("Alkali, before rounding", "Superfat, as weighed"):
        assert f"Fat in {milk}" in told(found[name])
        assert f"Acid in {vinegar}" in told(found[name])


def test_an_acid_is_told_with_how_much_of_it_is_acid(workshop):
    sour = part(2, name="Lactic acid", kind=Kind.ADDITIVE, acid="lactic", acid_least=80)
    found = figures(olive(), soda(), water(), sour, workshop=workshop)["Alkali, before rounding"]

    assert told(found)["Lactic acid"] == "20.0 g, 80 % of it acid"


def test_fats_after_the_cook_take_no_alkali_and_the_cook_has_a_superfat_of_its_own(workshop):
    after = olive(10, Stage.COOK, "Shea butter")
    found = figures(olive(90), after, soda(), water(), workshop=workshop, process=Process.HOT)

    assert "no alkali is weighed for it" in sources(found["Alkali, before rounding"])
    assert "Shea butter" not in told(found["Superfat, while it cooks"])
    assert "Shea butter" in told(found["Superfat, as weighed"])


def test_without_a_cook_there_is_one_superfat(workshop):
    assert "Superfat, while it cooks" not in figures(olive(), soda(), water(), workshop=workshop)


@pytest.mark.parametrize(
    ("method", "value", "put_in"),
    [
        (LiquidBy.CONCENTRATION, 33, "33.0 %"),
        (LiquidBy.RATIO, 2, "2.00 g to 1 g"),
        (LiquidBy.OF_FATS, 38, "38.0 %"),
    ],
)
def test_the_liquid_tells_the_figure_of_the_recipe(workshop, method, value, put_in):
    said = {"liquid_by": method, "liquid_value": Decimal(value)}
    found = figures(olive(), soda(), water(), workshop=workshop, **said)["Liquid, before rounding"]

    assert told(found)[method.label] == put_in


def test_heat_is_told_in_the_units_of_the_workshop():
    american = WorkshopFactory(units=Units.US)
    found = figures(olive(), soda(), water(), workshop=american)["Lye solution"]

    assert "°F" in found.figure
    assert "°C" not in found.figure


def test_a_material_without_a_price_is_told_as_such(workshop):
    assert told(figures(olive(), soda(), water(), workshop=workshop)["Cost a bar"])["Olive oil"] == "no price"


def test_the_usual_cure_tells_what_decided_it(workshop):
    found = figures(olive(), soda(), water(), workshop=workshop)["Cure, as is usual here"]

    assert found.figure == f"{workshop.cure_days_olive} days"
    assert told(found)["Olive oil, of the fats"] == "100 %"


# How large, and each weight.


@pytest.mark.parametrize(
    ("size", "put_in"),
    [
        ({"size_by": SizeBy.FATS, "size_grams": Decimal(800)}, "Weight of all fats"),
        ({"size_by": SizeBy.BATTER, "size_grams": Decimal(800)}, "Weight of batter"),
        ({"size_by": SizeBy.WEIGHTS, "size_grams": None}, "Fats in the recipe"),
        (
            {"size_by": SizeBy.MOULD, "mould": Mould(Decimal(250), Decimal(80), Decimal(60))},
            "It holds",
        ),
    ],
)
def test_the_weight_of_the_fats_tells_what_it_goes_by(workshop, size, put_in):
    found = weights(olive(), soda(), water(), workshop=workshop, **size)["All fats"]

    assert put_in in told(found)
    assert told(found)["Against the recipe’s own size"] == "× 1"


def test_a_mould_tells_its_volume_and_the_densities(workshop):
    oil = MaterialFactory(name="Heavy oil", density=Decimal("0.95"))
    mould = Mould(Decimal(250), Decimal(80), Decimal(60))
    size = {"size_by": SizeBy.MOULD, "mould": mould}
    found = told(weights(part(50, oil), olive(50), soda(), water(), workshop=workshop, **size)["All fats"])

    assert found["It holds"] == "1\u202f200 mL"
    assert found["Heavy oil"] == "0.95 g/mL"
    assert found["Olive oil"] == "0.91 g/mL"
    assert found["Lye solution"].endswith("g/mL")


def test_a_fat_tells_its_share_or_its_weight_in_the_recipe(workshop):
    by_share = weights(olive(), soda(), water(), workshop=workshop)["Olive oil"]
    size = {"size_by": SizeBy.WEIGHTS, "size_grams": None}
    by_weight = weights(olive(700), soda(), water(), workshop=workshop, **size)["Olive oil"]

    assert told(by_share)["Its share"] == "100 %"
    assert told(by_weight)["In the recipe"] == "700.0 g"


def test_what_the_scale_cannot_show_is_told_without_its_step(workshop):
    pinch = part(Decimal("0.01"), colour_=True, name="Indigo")
    found = weights(olive(), soda(), water(), pinch, workshop=workshop)["Indigo"]

    assert found.figure == "0.10\xa0g"
    assert "Step of the scale" not in told(found)
    assert told(found)["Its share"] == "0.01 %"


def test_what_is_short_is_told(workshop):
    LotFactory(material=olive().material, quantity=200, code="OO-1")
    found = weights(olive(), soda(), water(), workshop=workshop)["In stock"]

    assert found.figure == "3 short"
    assert told(found)["Olive oil"] == "200 g"
    assert "OO-1" in sources(found)


def test_with_enough_of_each_the_stock_says_so(workshop):
    for one in (olive(), soda(), water()):
        LotFactory(material=one.material, quantity=5000)

    assert weights(olive(), soda(), water(), workshop=workshop)["In stock"].figure == "enough of each"


# A recipe against another, a swap, a blend.


def test_two_sides_tell_the_figures_of_each(client_of, maker):
    one, two = VersionFactory(name="North"), VersionFactory(name="South")
    page = client_of(maker).get(reverse("recipes:compare"), {"a": one.pk, "b": two.pk}).text

    assert page.count("<span>Superfat, as weighed</span>") == 2
    assert "How North, version 1, was worked out" in page


def test_a_side_that_does_not_work_out_tells_nothing(client_of, maker):
    one, two = VersionFactory(), VersionFactory()
    fat_of_two = two.ingredients.get(material__kind=Kind.FAT).material
    fat_of_two.sap_low = fat_of_two.sap_nominal = fat_of_two.sap_high = None
    fat_of_two.save()
    page = client_of(maker).get(reverse("recipes:compare"), {"a": one.pk, "b": two.pk}).text

    assert page.count("<span>Superfat, as weighed</span>") == 1


def test_a_fat_that_steps_in_tells_its_share_of_all_fats(client_of, maker):
    missing = fat("palm")
    stand_in = fat("lard", 3)
    version = VersionFactory(design=design(part(100, missing), soda(), water()))
    address = reverse("recipes:swap", args=[version.recipe_id])
    ways = client_of(maker).get(address, {"material": missing.pk}).context["ways"]
    way = next(way for way in ways if way.name == stand_in.name)

    assert [one.figure for one in way.how] == ["1\u202f000\xa0g"]
    assert told(way.how[0])["Its share"] == "100 %"


def test_what_a_kilogram_of_a_blend_costs_is_the_sum_of_what_is_told(client_of, maker):
    fats = [fat("olive", 8), fat("coconut", 5)]
    limits = {"limit-what": f"fat:{fats[0].pk}", "limit-side": "at_least", "limit-value": "40"}
    wish = {"find": "1", "goal": "cheapest", "fat": [each.pk for each in fats]} | limits
    best = client_of(maker).get(reverse("recipes:blend"), wish).context["found"].best
    cost, iodine = best.how

    assert cost.figure == "6.20\xa0EUR"
    assert told(cost)[fats[0].name] == "40 % at 8.00 EUR a kg"
    assert told(iodine)[fats[1].name].startswith("60 % with")


def test_a_blend_whose_price_is_not_known_tells_its_iodine_value_alone(client_of, maker):
    fats = [fat("olive"), fat("coconut")]
    wish = {"find": "1", "goal": "profile", "fat": [each.pk for each in fats]}
    wish |= {"short_saturated": "20"}
    best = client_of(maker).get(reverse("recipes:blend"), wish).context["found"].best

    assert [one.name for one in best.how] == ["Iodine value"]
