"""The fragrances of a recipe in its bars: limits, what would pass, allergens, and how brown they turn."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from inventory.models import Certificate, Material
from inventory.queries import current_certificates
from recipes.contents import contents_of
from recipes.design import Design, Mould
from recipes.formulation import WorkedOut, work_out
from recipes.models import Destination, Shape
from recipes.models import Mould as KeptMould
from recipes.portions import PortionDesign
from recipes.scent import Scent, cured_share, scent_of
from shared.browning import Shade
from shared.cross_section import Technique
from shared.finished_bar import finish
from soapshop.core.models import Workshop
from soapshop.core.words import in_words
from tests.factories import CertificateFactory, MaterialFactory, into, part, portion
from tests.recipes.unsaved import soap

pytestmark = pytest.mark.django_db

FINE = Workshop(scale_step=Decimal("0.001"))
UNSCENTED = Decimal(0)
DROP = Technique.DROP


@pytest.fixture
def certified() -> Callable[..., Material]:
    """A fragrance with what its certificate says."""

    def made(name: str = "Rose", **said: Any) -> Material:
        material = MaterialFactory(fragrance=True, name=name)
        CertificateFactory(material=material, **said)
        return material

    return made


def worked(what: Design) -> WorkedOut:
    return work_out(what, workshop=FINE)


def found(what: Design) -> Scent:
    keys = [material.pk for material in what.materials]
    scent = scent_of(worked(what), current_certificates(keys, timezone.localdate()))
    assert scent is not None
    return scent


def scented(fragrance: Material, *portions: PortionDesign, amount: object = 3, **changed: object) -> Design:
    return soap(part(amount, fragrance), portions=portions, **changed)


def white_and_rose(technique: Technique = Technique.LAYER) -> tuple[PortionDesign, PortionDesign]:
    return portion("White", share=40, fragrance=UNSCENTED), portion("Rose", technique=technique)


def share(verdict: Any, name: str = "Rose") -> float:
    return next(one.share for one in verdict.fragrances if one.name == name)


def poured_singly(shape: Shape) -> Mould:
    kept = KeptMould(name="Cups", shape=shape, diameter=75, cavities=6, millilitres=100, depth=Decimal(300))
    return Mould(None, None, None, kept)


# Limits


def test_soap_without_fragrance_has_nothing_to_judge():
    assert scent_of(worked(soap()), {}) is None


def test_the_fragrance_is_a_share_of_the_cured_bar(certified):
    """30 g in what a kilogram of fats weighs after the cure, which is less than the batter."""
    what = scented(certified())
    card, scent = worked(what), found(what)

    assert share(scent.mean) == pytest.approx(100 * 30 / finish(contents_of(card)).cured, rel=0.005)
    assert share(scent.mean) > 100 * 30 / float(card.batter_grams)
    assert scent.strongest.passes


def test_more_fragrance_leaves_the_rest_of_the_bar_as_it_is(certified):
    """So the figure that passes can be worked out from one that does not."""
    rose = certified()
    little, much = worked(scented(rose, amount=1)), worked(scented(rose, amount=6))

    without = [cured_share(card) * float(card.batter_grams) for card in (little, much)]
    assert without[1] - without[0] == pytest.approx(60 - 10)


def test_split_into_portions_that_are_all_scented_it_is_the_same_bar(certified):
    rose = certified()
    plain, split = found(scented(rose)), found(scented(rose, portion("Pale", share=40), portion("Deep")))

    assert share(split.mean) == pytest.approx(share(plain.mean), rel=1e-4)
    assert share(split.strongest) == pytest.approx(share(plain.mean), rel=1e-4)


def test_what_is_stirred_in_does_not_dry_away(certified):
    card = worked(scented(certified(), *white_and_rose()))
    left = cured_share(card)

    cured = float(card.split.batter) * left + float(sum(card.split.totals().values()))
    assert cured == pytest.approx(finish(contents_of(card)).cured, rel=0.005)
    assert 0.8 < left < 1


def test_across_layers_the_strongest_bar_is_the_mean_one(certified):
    scent = found(scented(certified(), *white_and_rose()))

    assert scent.strongest == scent.mean
    assert scent.strongest_of == "White, Rose"


def test_a_swirl_may_lie_all_in_one_bar(certified):
    """60 % of the batter is scented, so a bar all of it holds 1 / 0.6 of the mean, but for the weight of the
    fragrance itself."""
    scent = found(scented(certified(), *white_and_rose(DROP)))

    assert share(scent.strongest) == pytest.approx(share(scent.mean) / 0.6, rel=0.02)
    assert scent.strongest_of == "Rose"


@pytest.mark.parametrize("shape", [Shape.CAVITIES, Shape.TUBE])
def test_a_bar_of_cavities_or_of_a_tube_may_be_all_of_one_layer(certified, shape: Shape):
    scent = found(scented(certified(), *white_and_rose(), mould=poured_singly(shape)))

    assert share(scent.strongest) == pytest.approx(share(scent.mean) / 0.6, rel=0.02)


@pytest.mark.parametrize("place", [Destination.OTHER, Destination.KEPT])
def test_what_is_poured_elsewhere_is_judged_by_itself(certified, place: Destination):
    cups = portion("Cups", share=20, fragrance=Decimal(12), destination=place)

    scent = found(scented(certified(), portion("Loaf"), cups))

    assert scent.strongest.passes
    assert [(name, verdict.passes) for name, verdict in scent.elsewhere] == [("Cups", False)]
    assert share(scent.elsewhere[0][1]) == pytest.approx(4 * share(scent.mean), rel=0.1)
    assert scent.refusals == scent.elsewhere[0][1].refusals != ()


def test_where_nothing_goes_into_this_mould_what_is_poured_elsewhere_counts(certified):
    cups = portion("Cups", destination=Destination.OTHER)

    assert share(found(scented(certified(), cups)).mean) > 2


def test_a_weaker_portion_over_its_own_limit_is_found(certified):
    """4 % of rose pass; 2 % of mint do not. More of the stronger one does not hide it."""
    rose, mint = certified(limit=Decimal(5)), certified("Mint", limit=Decimal(1))
    portions = portion("Pink", into(4, rose), share=50), portion("Green", into(2, mint), technique=DROP)

    scent = found(soap(portions=portions))

    assert scent.strongest_of == "Green"
    assert "Mint" in scent.refused_words


def test_a_fragrance_of_no_known_limit_is_not_refused_but_watched(certified):
    scent = found(scented(MaterialFactory(fragrance=True, name="Mystery")))

    assert scent.refusals == ()
    assert [one for one in scent.told_watches if "Mystery" in str(one)]
    assert (scent.passing, scent.refused_words) == (None, "")


def test_what_is_not_certain_of_another_portion_is_told_too(certified):
    """The portion nearest to a limit is not the one of which nobody knows the limit."""
    known, unknown = certified(), MaterialFactory(fragrance=True, name="Mystery")
    portions = portion("Pink", into(4, known), share=50), portion("Grey", into(1, unknown), technique=DROP)

    assert [one for one in found(soap(portions=portions)).told_watches if "Mystery" in str(one)]


# The figure that would pass


@pytest.mark.parametrize("portions", [(), white_and_rose(), white_and_rose(DROP)])
@pytest.mark.parametrize("limit", ["0.8", "1.37", "2"])
def test_the_figure_that_is_said_to_pass_does_and_a_hundredth_more_does_not(
    certified, limit: str, portions: tuple[PortionDesign, ...]
):
    rose = certified(limit=Decimal(limit))
    over = found(scented(rose, *portions, amount=6))
    assert over.refusals

    most = over.passing

    assert f"with {most.normalize():f} %" in over.refused_words
    assert not found(scented(rose, *portions, amount=most)).refusals
    assert found(scented(rose, *portions, amount=most + Decimal("0.01"))).refusals


def test_two_fragrances_pass_together_with_the_figure_for_both(certified):
    rose, mint = certified(limit=Decimal(1)), certified("Mint", limit=Decimal(9))
    what = soap(part(2, rose), part(2, mint))
    most = found(what).passing

    halves = (replace(one, amount=most / 2) if one.amount == 2 else one for one in what.parts)
    assert not found(replace(what, parts=tuple(halves))).refusals


def test_where_portions_have_figures_of_their_own_it_is_told_how_much_of_them_passes(certified):
    rose = certified(limit=Decimal(2))

    def with_share(own: Decimal) -> Scent:
        strong = portion("Strong", share=20, fragrance=own, technique=DROP)
        return found(scented(rose, portion("Pale", fragrance=UNSCENTED), strong))

    over = with_share(Decimal(10))
    assert over.passing is None
    per_cent = Decimal(over.refused_words.split("passes with ")[1].split(" %")[0])

    assert not with_share((per_cent / 10).quantize(Decimal("0.001"))).refusals
    assert with_share(per_cent / 10 + Decimal("0.02")).refusals


def test_a_fragrance_of_one_portion_alone_has_no_figure_in_the_recipe(certified):
    own = portion("Pink", into(8, certified(limit=Decimal(2))), share=50, technique=DROP)

    scent = found(soap(portions=(portion("White"), own)))

    assert (scent.of_fats, scent.passing) == (None, None)
    assert "of the fragrance that each portion has now" in scent.refused_words


def test_of_what_is_not_permitted_no_figure_passes(certified):
    scent = found(scented(certified(limit=Decimal(0))))

    assert scent.passing == 0
    assert "passes with" not in scent.refused_words
    assert "may not go into soap" in scent.refused_words


def test_allergens_over_a_hundredth_of_a_per_cent_are_named_whichever_bar_holds_them(certified):
    linalool = [{"name": "Linalool", "share": Decimal(20), "limit": None, "allergen": True, "cas": ""}]
    trace = [{"name": "Limonene", "share": Decimal("0.1"), "limit": None, "allergen": True, "cas": ""}]
    rose, mint = allergenic(certified("Rose"), linalool), allergenic(certified("Mint", limit=2), trace)
    portions = portion("Pink", into(1, rose), share=50), portion("Green", into(2, mint), technique=DROP)

    assert found(soap(portions=portions)).allergens_named == ("Linalool",)


def allergenic(material: Material, substances: list[dict[str, Any]]) -> Material:
    certificate = Certificate.objects.get(material=material)
    for one in substances:
        certificate.substances.create(**one)
    return material


# How brown


def test_nine_per_cent_vanillin_at_three_per_cent_of_the_fats_brown_strongly(certified):
    """Some 2.4 % of the cured bar are fragrance, 0.2 % vanillin. Common practice, no source."""
    brown = found(scented(certified(vanillin=Decimal(9)))).browning[0]

    assert brown.vanillin == pytest.approx(0.09 * share(found(scented(certified("B"))).mean, "B"), rel=1e-6)
    assert brown.forecast.shade == Shade.DARK


def test_an_unscented_portion_stays_light_and_may_be_browned_by_its_neighbour(certified):
    scent = found(scented(certified(vanillin=Decimal(9)), *white_and_rose()))

    white, rose = scent.browning
    assert (white.name, white.vanillin, white.forecast.shade) == ("White", 0, Shade.LIGHT)
    assert rose.forecast.shade == Shade.DARK
    assert "White may turn brown" in in_words(scent.bleeding[0].text)


def test_what_is_poured_elsewhere_browns_nobody(certified):
    cups = portion("Cups", share=40, destination=Destination.OTHER)

    scent = found(scented(certified(vanillin=Decimal(9)), cups, portion("White", fragrance=UNSCENTED)))

    assert scent.bleeding == ()


def test_a_fragrance_of_unknown_vanillin_is_not_forecast(certified):
    scent = found(scented(certified(vanillin=None), *white_and_rose()))

    white, rose = scent.browning
    assert (rose.vanillin, rose.forecast) == (None, None)
    assert white.forecast.shade == Shade.LIGHT
    assert scent.bleeding == ()


def test_a_fragrance_without_vanillin_stays_light(certified):
    assert found(scented(certified(vanillin=Decimal(0)))).browning[0].forecast.shade == Shade.LIGHT
