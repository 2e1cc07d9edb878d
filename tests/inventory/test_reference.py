"""The catalogue a workshop begins with."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Kind, Lot, Material
from inventory.queries import material_page
from inventory.services.checks import check
from inventory.services.materials import update_material
from inventory.services.reference import load_catalogue
from shared.chemistry import AcidKind, AlkaliKind
from shared.fats import FatKind, reference_fats
from shared.liquids import reference_liquids
from tests.factories import LotFactory, MaterialFactory

pytestmark = pytest.mark.django_db


def test_every_reference_fat_that_soap_is_made_of_is_loaded_with_its_published_range():
    load_catalogue()
    loaded = {each.reference: each for each in Material.objects.filter(kind=Kind.FAT)}
    wanted = {key: fat for key, fat in reference_fats().items() if fat.kind is not FatKind.WAX}
    assert loaded.keys() == wanted.keys()
    for key, fat in wanted.items():
        assert loaded[key].sap.low == pytest.approx(fat.sap.low, abs=0.005)
        assert loaded[key].sap.nominal == pytest.approx(fat.sap.nominal, abs=0.005)
        assert loaded[key].sap.high == pytest.approx(fat.sap.high, abs=0.005)
        assert loaded[key].sap_source


def test_both_alkalis_come_along():
    load_catalogue()
    alkalis = {
        each.alkali: (each.purity_low, each.purity_high) for each in Material.objects.filter(kind=Kind.ALKALI)
    }
    assert alkalis == {"naoh": (97, 100), "koh": (85, 92)}


def test_every_published_liquid_and_additive_is_loaded_with_what_it_is_made_of():
    load_catalogue()
    for key, known in reference_liquids().items():
        loaded = Material.objects.get(reference=key)
        assert loaded.kind == (Kind.ADDITIVE if known.additive else Kind.LIQUID)
        assert replace(loaded.contents, name=known.liquid.name, source=known.liquid.source) == known.liquid
        assert loaded.composition_source == known.liquid.source[:300]
        assert loaded.inci_name == known.inci_name


def test_all_that_is_loaded_could_have_been_written_down_by_a_maker():
    load_catalogue()
    for material in Material.objects.all():
        check(material)


def test_acids_are_loaded_with_how_much_of_them_is_acid():
    load_catalogue()
    acids = Material.objects.filter(kind=Kind.ADDITIVE).exclude(acid="")
    assert {each.reference: each.acid_percent for each in acids} == {
        "citric": 100,
        "citric_monohydrate": 100,
        "lactic": 80,
    }


def test_the_tables_share_no_key_and_no_name():
    keys = [*reference_fats(), *reference_liquids(), *AcidKind, *AlkaliKind]
    assert len(keys) == len(set(keys))
    names = [each.name for each in reference_fats().values()]
    names += [each.liquid.name for each in reference_liquids().values()]
    assert len(names) == len(set(names))


def test_water_of_an_older_catalogue_is_told_that_it_is_water():
    old = MaterialFactory(liquid=True, reference="water", name="Rain barrel")
    load_catalogue()
    old.refresh_from_db()
    assert (old.name, old.water, old.contents.other) == ("Rain barrel", 100, 0)


def test_a_liquid_of_that_name_stays_as_the_maker_wrote_it_down():
    own = MaterialFactory(liquid=True, name="Goat milk")
    load_catalogue()
    own.refresh_from_db()
    assert own.contents is None
    assert Material.objects.filter(name="Goat milk").count() == 1


def test_loading_again_adds_nothing_and_changes_nothing(maker):
    assert load_catalogue() > 40
    olive = Material.objects.get(name="Olive oil")
    update_material(
        material=olive,
        by=maker,
        sap_nominal=Decimal(189),
        sap_low=Decimal(186),
        sap_high=Decimal(192),
        name="Our olive",
    )
    assert load_catalogue() == 0
    olive.refresh_from_db()
    assert (olive.name, olive.sap_nominal) == ("Our olive", 189)


def test_a_name_that_the_maker_took_first_stays_theirs():
    own = MaterialFactory(name="olive OIL", sap_nominal=Decimal(191))
    load_catalogue()
    assert Material.objects.filter(name__iexact="olive oil").get() == own


def test_the_page_of_a_fat_tells_how_its_value_came_about_until_the_maker_changes_it(maker):
    load_catalogue()
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
