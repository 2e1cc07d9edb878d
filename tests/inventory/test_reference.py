"""The catalogue a workshop begins with."""

from datetime import date
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Kind, Lot, Material
from inventory.queries import material_page
from inventory.services.materials import update_material
from inventory.services.reference import load_reference_fats
from shared.fats import FatKind, reference_fats
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db


def test_every_reference_fat_that_soap_is_made_of_is_loaded_with_its_published_range():
    load_reference_fats()
    loaded = {each.reference: each for each in Material.objects.filter(kind=Kind.FAT)}
    wanted = {key: fat for key, fat in reference_fats().items() if fat.kind is not FatKind.WAX}
    assert loaded.keys() == wanted.keys()
    for key, fat in wanted.items():
        assert loaded[key].sap.low == pytest.approx(fat.sap.low, abs=0.005)
        assert loaded[key].sap.nominal == pytest.approx(fat.sap.nominal, abs=0.005)
        assert loaded[key].sap.high == pytest.approx(fat.sap.high, abs=0.005)
        assert loaded[key].sap_source


def test_both_alkalis_and_water_come_along():
    load_reference_fats()
    alkalis = {
        each.alkali: (each.purity_low, each.purity_high) for each in Material.objects.filter(kind=Kind.ALKALI)
    }
    assert alkalis == {"naoh": (97, 100), "koh": (85, 92)}
    assert Material.objects.get(kind=Kind.LIQUID).reference == "water"


def test_loading_again_adds_nothing_and_changes_nothing(maker):
    assert load_reference_fats() > 40
    olive = Material.objects.get(name="Olive oil")
    update_material(
        material=olive,
        by=maker,
        sap_nominal=Decimal(189),
        sap_low=Decimal(186),
        sap_high=Decimal(192),
        name="Our olive",
    )
    assert load_reference_fats() == 0
    olive.refresh_from_db()
    assert (olive.name, olive.sap_nominal) == ("Our olive", 189)


def test_a_name_that_the_maker_took_first_stays_theirs():
    own = MaterialFactory(name="olive OIL", sap_nominal=Decimal(191))
    load_reference_fats()
    assert Material.objects.filter(name__iexact="olive oil").get() == own


def test_the_page_of_a_fat_tells_how_its_value_came_about_until_the_maker_changes_it(maker):
    load_reference_fats()
    olive = Material.objects.get(name="Olive oil")
    today = {"today": date(2026, 5, 3), "warn_days": 60}
    reference = material_page(olive, **today).reference
    assert reference.nominal_from
    assert reference.sources
    update_material(material=olive, by=maker, sap_source="my own titration")
    assert material_page(olive, **today).reference is None


def test_reconcile_says_that_all_is_well():
    LotFactory()
    out = StringIO()
    call_command("reconcile", stdout=out)
    assert "Every lot agrees" in out.getvalue()


def test_reconcile_names_the_lot_that_disagrees_and_fails():
    lot = LotFactory(quantity=100)
    Lot.objects.filter(pk=lot.pk).update(on_hand=99)
    err = StringIO()
    with pytest.raises(CommandError, match="1 lots disagree"):
        call_command("reconcile", stderr=err)
    assert lot.code in err.getvalue()
