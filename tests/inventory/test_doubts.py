"""Saponification values that cannot be right for the published fatty acids."""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.models import Material
from inventory.queries import sap_doubt, sap_from_acids
from inventory.queries.doubts import purity_doubt
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db


def olive(value: str = "190") -> Material:
    nominal = Decimal(value)
    return MaterialFactory(
        name="Olive oil", reference="olive", sap_low=nominal - 1, sap_nominal=nominal, sap_high=nominal + 1
    )


def test_a_value_that_agrees_raises_no_doubt():
    assert sap_doubt(olive()) is None


def test_a_value_for_the_other_alkali_is_found_out():
    doubt = sap_doubt(olive("135.5"))

    assert doubt is not None
    assert doubt.lot is None
    assert "cannot be right for Olive oil" in doubt.words
    assert "sodium hydroxide" in doubt.hint


def test_the_certificate_of_a_lot_goes_before_the_material():
    fat = olive("135.5")
    good = LotFactory(material=fat, sap=Decimal(190), sap_uncertainty=Decimal(1))
    bad = LotFactory(material=fat, sap=Decimal(250), sap_uncertainty=Decimal(1))

    assert sap_doubt(fat, good) is None
    doubt = sap_doubt(fat, bad)
    assert doubt is not None
    assert doubt.lot == bad
    assert doubt.hint == ""


def test_a_lot_without_a_certificate_leaves_the_material_to_be_judged():
    fat = olive("135.5")
    doubt = sap_doubt(fat, LotFactory(material=fat))

    assert doubt is not None
    assert doubt.lot is None


def test_the_uncertainty_of_a_certificate_is_allowed_for():
    fat = olive()

    assert sap_doubt(fat, LotFactory(material=fat, sap=Decimal(202), sap_uncertainty=Decimal(10))) is None


def test_what_is_not_in_the_table_cannot_be_judged():
    hedge = MaterialFactory(sap_low=1, sap_nominal=2, sap_high=3)
    wax = MaterialFactory(reference="beeswax", sap_low=1, sap_nominal=2, sap_high=3)

    assert [sap_doubt(hedge), sap_doubt(wax), sap_from_acids(hedge), sap_from_acids(wax)] == [None] * 4
    assert (
        sap_doubt(MaterialFactory(reference="olive", sap_low=None, sap_nominal=None, sap_high=None)) is None
    )


def test_the_acids_give_a_value_with_its_bounds():
    found = sap_from_acids(olive())

    assert found is not None
    assert found.bounds.low < found.bounds.typical < found.bounds.high
    assert sum(share for _, share in found.acids) == pytest.approx(100, abs=1)
    assert found.acids_source


def test_the_own_fatty_acids_of_a_fat_go_before_the_published_ones():
    lauric = {"C12:0": 60.0, "C14:0": 30.0, "C16:0": 8.0}
    fat = olive()
    assert sap_doubt(fat) is None

    fat.profile = lauric
    doubt, found = sap_doubt(fat), sap_from_acids(fat)

    assert doubt is not None
    assert "its fatty acids give" in doubt.words
    assert found is not None
    assert found.bounds.typical > 240
    assert found.acids_source == "Given by the workshop"
    assert [share for _, share in found.acids] == [60, 30, 8]


def test_a_fat_that_no_table_holds_is_judged_by_its_own_fatty_acids():
    oleic = {"C16:0": 10.0, "C18:1": 75.0, "C18:2": 12.0}
    good = MaterialFactory(sap_low=186, sap_nominal=190, sap_high=194, profile=oleic)
    wrong = MaterialFactory(sap_low=240, sap_nominal=250, sap_high=260, profile=oleic)
    waxy = MaterialFactory(sap_low=172, sap_nominal=176, sap_high=180, profile=oleic)

    assert sap_doubt(good) is None
    assert sap_doubt(waxy) is None
    assert sap_doubt(wrong) is not None


def test_what_is_no_triglyceride_is_not_judged_as_one():
    wax = olive("135.5")
    wax.fat_kind = "wax"

    assert sap_doubt(wax) is None


def test_a_purity_that_is_far_from_the_alkali_is_told():
    lye = MaterialFactory(naoh=True, name="Sodium hydroxide")
    good = LotFactory(material=lye, purity=Decimal("96.8"), purity_uncertainty=Decimal("0.5"))
    weak = LotFactory(material=lye, purity=Decimal(50), purity_uncertainty=Decimal("0.5"))

    assert purity_doubt(good) == ""
    assert "The certificate says 50 %, but Sodium hydroxide holds 97 to 100 %" in purity_doubt(weak)
    assert purity_doubt(LotFactory(material=lye)) == ""
    assert purity_doubt(LotFactory()) == ""
