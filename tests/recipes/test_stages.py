"""What goes into the lye, at trace and after the cook: liquids that are more than water, ready-made lye."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from inventory.models import Kind, Material
from recipes.design import Mould, Part
from recipes.errors import DesignError
from recipes.formulation import WorkedOut, work_out
from recipes.models import LiquidScope, Process, SizeBy, Stage
from shared.chemistry import M_NAOH, AcidKind
from shared.liquids import reference_liquids
from soapshop.core.models import Workshop
from tests.factories import MaterialFactory, design, part

pytestmark = pytest.mark.django_db


def named(name: str, **traits: Any) -> Material:
    """The material of that name, new or made before in the test."""
    return Material.objects.filter(name=name).first() or MaterialFactory(name=name, **traits)


def made_of(key: str, kind: Kind = Kind.LIQUID) -> Material:
    """A liquid or an additive with the contents of the table."""
    known = reference_liquids()[key].liquid
    return named(
        known.name,
        kind=kind,
        water=known.water,
        fat=known.fat,
        fat_low=known.fat_low if known.sap else None,
        fat_high=known.fat_high if known.sap else None,
        fat_reference=known.fat_reference,
        sugar=known.sugar,
        acid=known.acid or "",
        acid_least=known.acid_least or None,
    )


def olive(amount: str | int = 100, stage: Stage = Stage.USUAL, name: str = "Olive oil") -> Part:
    material = named(name, sap_low=184, sap_nominal=190, sap_high=196)
    return Part(material, Decimal(amount), stage)


def soda() -> Part:
    return part(100, named("Sodium hydroxide", naoh=True, purity_low=100, purity_high=100))


def water(amount: str | int = 100) -> Part:
    return part(amount, named("Water", liquid=True))


def worked(*parts: Part, **changed: Any) -> WorkedOut:
    return work_out(design(*parts, **changed), workshop=Workshop())


def exact(card: WorkedOut, name: str) -> float:
    return next(line.exact for line in card.lines if line.material.name == name)


def names(card: WorkedOut) -> list[str]:
    return [line.material.name for line in card.lines]


def refused(*parts: Part, **changed: Any) -> DesignError:
    with pytest.raises(DesignError) as caught:
        worked(*parts, **changed)
    return caught.value


def test_the_fat_of_milk_takes_lye_too():
    """1 kg at 2 g of water to 1 g of lye in milk of 4.14 % fat: the fat of some 300 g milk is 12 g."""
    plain = worked(olive(), soda(), water())
    milky = worked(olive(), soda(), Part(made_of("goat_milk"), Decimal(100)))

    more = exact(milky, "Sodium hydroxide") - exact(plain, "Sodium hydroxide")
    milk = exact(milky, "Goat milk")
    fat = milk * 0.0414
    assert 11 < fat < 14
    sap = reference_liquids()["goat_milk"].liquid.sap
    assert sap
    assert more == pytest.approx(0.95 * fat * sap.nominal / 56_106 * M_NAOH, rel=0.01)


def test_of_milk_the_water_counts_so_that_more_of_it_is_needed():
    plain = worked(olive(), soda(), water())
    milky = worked(olive(), soda(), Part(made_of("goat_milk"), Decimal(100)))

    assert milky.formulation.lye_concentration == pytest.approx(33)
    assert exact(milky, "Goat milk") > exact(plain, "Water") / 0.8703


def test_a_liquid_of_which_nothing_is_known_counts_as_water():
    plain, unknown = (
        worked(olive(), soda(), part(100, named(name, liquid=True))) for name in ("Water", "Hedge tea")
    )

    assert exact(plain, "Water") == exact(unknown, "Hedge tea")
    assert plain.safety == unknown.safety


def test_liquid_at_trace_is_weighed_after_the_lye():
    milk = Part(made_of("goat_milk"), Decimal(40), Stage.TRACE)

    card = worked(olive(), soda(), water(60), milk)

    assert names(card) == ["Olive oil", "Water", "Sodium hydroxide", "Goat milk"]


def test_with_liquid_at_trace_the_lye_is_the_stronger_unless_the_figure_speaks_of_the_lye():
    milk = Part(made_of("goat_milk"), Decimal(40), Stage.TRACE)
    parts = (olive(), soda(), water(60), milk)

    batter, lye = (worked(*parts, liquid_scope=scope) for scope in (LiquidScope.BATTER, LiquidScope.LYE))

    assert batter.formulation.liquid_ratio == pytest.approx(67 / 33)
    assert 43 < batter.formulation.lye_concentration < 47
    assert lye.formulation.lye_concentration == pytest.approx(33)
    assert exact(lye, "Water") > exact(batter, "Water")


def test_something_is_left_to_mix_the_lye_with():
    milk = Part(made_of("goat_milk"), Decimal(100), Stage.TRACE)

    error = refused(olive(), soda(), milk)

    assert (error.field, error.message) == ("liquids", "Something must be left to mix the lye with.")


def test_too_much_at_trace_leaves_a_lye_that_does_not_dissolve():
    milk = Part(made_of("goat_milk"), Decimal(80), Stage.TRACE)

    error = refused(olive(), soda(), water(20), milk)

    assert error.field == "liquid_value"
    assert "Too little liquid" in error.message


def test_vinegar_takes_lye_by_the_acid_that_it_holds():
    """Acetic acid (60.052 g/mol) takes one mol of alkali to a mol: 4 g of it 2.664 g of sodium hydroxide."""
    plain = worked(olive(), soda(), water())
    sour = worked(olive(), soda(), water(50), Part(made_of("distilled_vinegar"), Decimal(50)))

    acid = exact(sour, "Vinegar, distilled") * 0.04
    more = exact(sour, "Sodium hydroxide") - exact(plain, "Sodium hydroxide")
    assert more == pytest.approx(acid * M_NAOH / 60.052, rel=1e-3)
    assert "acetate" in sour.formulation.salts[0].name


def test_ten_grams_of_citric_acid_take_six_and_a_quarter_of_sodium_hydroxide():
    """Three protons: 10 g / 192.124 g/mol × 3 × 39.997 g/mol = 6.25 g."""
    plain = worked(olive(), soda(), water())
    sour = worked(olive(), soda(), water(), part(1, additive=True, acid=AcidKind.CITRIC))

    more = exact(sour, "Sodium hydroxide") - exact(plain, "Sodium hydroxide")
    assert more == pytest.approx(6.245, abs=0.005)


def test_an_acid_as_a_solution_counts_by_its_share():
    whole = worked(olive(), soda(), water(), part(1, additive=True, acid=AcidKind.LACTIC))
    half = worked(olive(), soda(), water(), part(2, additive=True, acid=AcidKind.LACTIC, acid_least=50))

    assert exact(half, "Sodium hydroxide") == pytest.approx(exact(whole, "Sodium hydroxide"))


def test_what_is_dissolved_in_the_lye_is_weighed_before_the_alkali():
    salt = Part(made_of("salt", Kind.ADDITIVE), Decimal(1), Stage.LYE)
    honey = Part(made_of("honey", Kind.ADDITIVE), Decimal(1))

    card = worked(olive(), soda(), water(), honey, salt)

    assert names(card) == ["Olive oil", "Water", "Salt", "Sodium hydroxide", "Honey"]


def test_more_water_than_is_asked_for_is_refused():
    """Cucumber for half the weight of the fats brings more water than 33 % lye takes."""
    pulp = Part(made_of("cucumber_puree", Kind.ADDITIVE), Decimal(50))

    error = refused(olive(), soda(), water(), pulp)

    assert error.field == "liquid_value"
    assert "g of water more than it asks for" in error.message


class TestReadyMadeLye:
    @staticmethod
    def solution(strength: int = 50) -> Part:
        traits = {"purity_low": strength, "purity_high": strength, "dissolved": True}
        return part(100, naoh=True, name="Lye solution", **traits)

    def test_its_alkali_and_its_water_count(self):
        card, dry = worked(olive(), self.solution(), water()), worked(olive(), soda(), water())

        lye = exact(dry, "Sodium hydroxide")
        assert exact(card, "Lye solution") == pytest.approx(2 * lye)
        assert exact(card, "Water") == pytest.approx(exact(dry, "Water") - lye)
        assert card.formulation.lye_concentration == pytest.approx(33)

    def test_it_heats_less_than_dry_alkali(self):
        card, dry = worked(olive(), self.solution(), water()), worked(olive(), soda(), water())

        assert card.heat.celsius < dry.heat.celsius - 20

    def test_it_needs_no_liquid_beside_it(self):
        card = worked(olive(), self.solution(33))

        assert names(card) == ["Olive oil", "Lye solution"]
        assert card.formulation.lye_concentration == pytest.approx(33)

    def test_it_may_be_all_the_lye_with_milk_at_trace(self):
        milk = Part(made_of("goat_milk"), Decimal(100), Stage.TRACE)

        card = worked(olive(), self.solution(), milk, liquid_value=Decimal(30))

        assert names(card) == ["Olive oil", "Lye solution", "Goat milk"]
        assert card.formulation.lye_concentration == pytest.approx(50)

    def test_a_weaker_one_than_the_recipe_asks_for_is_refused(self):
        error = refused(olive(), self.solution(25), water())

        assert "g of water more than it asks for" in error.message

    def test_the_batter_fills_its_mould_as_with_dry_alkali(self):
        """The same things are in both batters, so they weigh the same and take the same room."""
        box = {"size_by": SizeBy.MOULD, "size_grams": None, "mould": Mould(*map(Decimal, (250, 80, 60)))}
        card, dry = worked(olive(), self.solution(), water(), **box), worked(olive(), soda(), water(), **box)

        assert float(card.batter_grams) == pytest.approx(float(dry.batter_grams), abs=2)


class TestAfterTheCook:
    def test_a_fat_after_the_cook_takes_no_lye_and_comes_late(self):
        shea = olive(5, Stage.COOK, "Shea butter")

        card = worked(olive(95), soda(), water(), shea, process=Process.HOT, superfat=Decimal(1))
        cooked = worked(olive(), soda(), water(), superfat=Decimal(1), size_grams=Decimal(950))

        assert exact(card, "Sodium hydroxide") == pytest.approx(exact(cooked, "Sodium hydroxide"))
        assert names(card)[-1] == "Shea butter"
        assert card.fat_grams == 1000
        assert card.safety.nominal > cooked.safety.nominal + 4

    def test_the_pot_while_it_cooks_has_a_range_of_its_own(self):
        shea = olive(5, Stage.COOK, "Shea butter")

        card = worked(olive(95), soda(), water(), shea, process=Process.HOT)

        assert card.formulation.before_after_cook
        assert card.formulation.before_after_cook.nominal < card.safety.nominal

    def test_there_is_no_cook_in_the_cold_process(self):
        error = refused(olive(95), soda(), water(), olive(5, Stage.COOK, "Shea butter"))

        assert error.field == "fats"
        assert error.material
        assert error.material.name == "Shea butter"
        assert "Choose hot process" in error.message

    def test_not_all_fats_can_wait_for_it(self):
        error = refused(olive(100, Stage.COOK), soda(), water(), process=Process.HOT)

        assert error.message == "A fat must be in the pot from the beginning."


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        (lambda: olive(100, Stage.TRACE), "fats"),
        (lambda: Part(made_of("goat_milk"), Decimal(100), Stage.COOK), "liquids"),
        (lambda: Part(made_of("honey", Kind.ADDITIVE), Decimal(1), Stage.COOK), "additives"),
    ],
)
def test_what_cannot_go_in_then_is_refused_beside_it(wrong: Any, field: str):
    bad = wrong()
    others = [one for one in (olive(name="Other oil"), soda(), water()) if one.kind != bad.kind]

    error = refused(bad, *others, process=Process.HOT)

    assert (error.field, error.material) == (field, bad.material)
