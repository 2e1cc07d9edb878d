"""Materials, suppliers and what is written on a lot: rules of the services."""

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from inventory.models import Kind, Material, Supplier
from inventory.services import ledger
from inventory.services.lots import update_lot
from inventory.services.materials import (
    archive_material,
    bring_back_material,
    create_material,
    proposed_range,
    update_material,
)
from inventory.services.suppliers import create_supplier, update_supplier
from soapshop.core.queries import history_of
from tests.factories import LotFactory, MaterialFactory, SupplierFactory

pytestmark = pytest.mark.django_db


def fat(by, **fields):
    return create_material(kind=Kind.FAT, by=by, **{"name": "Plum kernel oil", **fields})


def test_a_fat_of_the_makers_own(maker):
    made = fat(
        maker, sap_low=Decimal(185), sap_nominal=Decimal(190), sap_high=Decimal(196), sap_source="data sheet"
    )
    assert (made.sap.low, made.sap.nominal, made.sap.high, made.sap.source) == (185, 190, 196, "data sheet")


def test_where_only_the_usual_value_is_known_three_per_cent_each_way_are_assumed(maker):
    made = fat(maker, sap_nominal=Decimal(190))
    assert (
        (made.sap_low, made.sap_high)
        == proposed_range(Decimal(190))
        == (Decimal("184.30"), Decimal("195.70"))
    )


def test_a_known_end_of_the_range_is_kept(maker):
    made = fat(maker, sap_nominal=Decimal(190), sap_low=Decimal(188))
    assert (made.sap_low, made.sap_high) == (188, Decimal("195.70"))


def test_a_fat_without_a_value_may_be_kept(maker):
    assert fat(maker).sap is None


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("sap_nominal", {"sap_nominal": Decimal(0)}),
        ("sap_nominal", {"sap_nominal": Decimal(-190)}),
        ("sap_nominal", {"sap_nominal": Decimal("700.01")}),
        ("sap_nominal", {"sap_nominal": Decimal("NaN")}),
        ("sap_nominal", {"sap_low": Decimal(180)}),
        ("sap_low", {"sap_nominal": Decimal(190), "sap_low": Decimal(191)}),
        ("sap_low", {"sap_nominal": Decimal(190), "sap_low": Decimal(0)}),
        ("sap_high", {"sap_nominal": Decimal(190), "sap_high": Decimal(189)}),
        ("sap_high", {"sap_nominal": Decimal(690)}),
        ("density", {"density": Decimal(0)}),
        ("reorder_level", {"reorder_level": Decimal(-1)}),
        ("name", {"name": ""}),
        ("name", {"name": "x" * 81}),
        ("purity_low", {"purity_low": Decimal(97)}),
        ("colour", {"colour": "#aabbcc"}),
        ("acid", {"acid": "citric"}),
    ],
)
def test_a_fat_that_cannot_be_is_refused_at_its_field(maker, field, values):
    with pytest.raises(ValidationError) as refused:
        fat(maker, **values)
    assert list(refused.value.message_dict) == [field]
    assert not Material.objects.exists()


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("alkali", {"alkali": ""}),
        ("purity_low", {"purity_low": Decimal(0)}),
        ("purity_low", {"purity_low": None}),
        ("purity_high", {"purity_high": Decimal(96)}),
        ("purity_high", {"purity_high": Decimal("100.1")}),
    ],
)
def test_an_alkali_needs_its_name_and_its_purity(maker, field, values):
    good = {"name": "Lye", "alkali": "naoh", "purity_low": Decimal(97), "purity_high": Decimal(99)}
    with pytest.raises(ValidationError) as refused:
        create_material(kind=Kind.ALKALI, by=maker, **{**good, **values})
    assert list(refused.value.message_dict) == [field]
    assert create_material(kind=Kind.ALKALI, by=maker, **good).purity_high == 99


@pytest.mark.parametrize("field", ["piece_grams", "piece_length"])
@pytest.mark.parametrize("value", ["0", "-1", "NaN", "1e12"])
def test_an_embed_weighs_something_and_takes_some_of_the_loaf(maker, field, value):
    with pytest.raises(ValidationError) as refused:
        create_material(kind=Kind.EMBED, by=maker, name="Sun disc", **{field: Decimal(value)})
    assert list(refused.value.message_dict) == [field]
    made = create_material(kind=Kind.EMBED, by=maker, name="Sun disc", **{field: Decimal(12)})
    assert getattr(made, field) == 12


@pytest.mark.parametrize("kind", [Kind.FAT, Kind.TOPPING, Kind.BATTER, Kind.PACKAGING])
def test_only_embeds_come_in_pieces_of_a_size(maker, kind):
    with pytest.raises(ValidationError) as refused:
        create_material(kind=kind, by=maker, name="Meadow", piece_grams=Decimal(12), piece_length=Decimal(9))
    assert set(refused.value.message_dict) == {"piece_grams", "piece_length"}


@pytest.mark.parametrize("kind", [Kind.COLOUR, Kind.EMBED, Kind.TOPPING])
def test_what_is_seen_in_the_bar_has_a_colour(maker, kind):
    assert create_material(kind=kind, by=maker, name="Meadow", colour="#8a5a83").colour == "#8a5a83"
    with pytest.raises(ValidationError):
        create_material(kind=Kind.BATTER, by=maker, name="Batter of Moss", colour="#8a5a83")


def test_a_name_is_given_once_whatever_its_capitals(maker):
    MaterialFactory(name="Plum kernel oil")
    with pytest.raises(ValidationError) as refused:
        fat(maker, name="PLUM kernel OIL")
    assert list(refused.value.message_dict) == ["name"]


def test_changing_a_material_remembers_what_it_was(maker):
    material = MaterialFactory(reorder_level=Decimal(500))
    update_material(material=material, by=maker, reorder_level=Decimal(2000), name=material.name)
    assert Material.objects.get().reorder_level == 2000
    [entry] = history_of(material)
    assert entry.detail == {"reorder_level": ["500", "2000"]}


def test_a_material_keeps_its_own_name_when_it_is_changed(maker):
    material = MaterialFactory(name="Olive oil")
    assert update_material(material=material, by=maker, name="Olive Oil").name == "Olive Oil"


def test_a_material_with_stock_cannot_be_put_away(maker):
    lot = LotFactory()
    with pytest.raises(ValidationError, match="on the shelf"):
        archive_material(material=lot.material, by=maker)
    ledger.discard(lot=lot, quantity=lot.on_hand, reason="rancid", key="d", by=maker)
    archive_material(material=lot.material, by=maker)
    assert not Material.objects.in_use().exists()
    bring_back_material(material=lot.material, by=maker)
    assert Material.objects.in_use().exists()


def test_a_viewer_changes_nothing(viewer):
    material, supplier, lot = MaterialFactory(), SupplierFactory(), LotFactory()
    for deed in (
        lambda: fat(viewer),
        lambda: update_material(material=material, by=viewer, name="x"),
        lambda: archive_material(material=material, by=viewer),
        lambda: bring_back_material(material=material, by=viewer),
        lambda: create_supplier(by=viewer, name="x"),
        lambda: update_supplier(supplier=supplier, by=viewer, name="x"),
        lambda: update_lot(lot=lot, by=viewer, place="x"),
        lambda: ledger.correct(lot=lot, counted=Decimal(1), reason="x", key="c", by=viewer),
        lambda: ledger.reverse(movement=lot.movements.get(), reason="x", key="r", by=viewer),
    ):
        with pytest.raises(PermissionDenied):
            deed()
    assert not Material.objects.filter(name__in=["x", "Plum kernel oil"]).exists()


def test_a_supplier_is_written_down_once(maker):
    create_supplier(by=maker, name="Lantern Oils", phone="01632 960 001")
    with pytest.raises(ValidationError) as refused:
        create_supplier(by=maker, name="lantern oils")
    assert list(refused.value.message_dict) == ["name"]
    assert Supplier.objects.count() == 1


def test_a_supplier_may_be_put_away(maker):
    supplier = SupplierFactory()
    update_supplier(supplier=supplier, by=maker, archived=True)
    assert Supplier.objects.get().archived


def test_what_is_written_on_a_lot_may_be_changed_and_its_history_kept(maker):
    lot = LotFactory()
    update_lot(lot=lot, by=maker, place="shelf C3", sap=Decimal("189.5"), sap_uncertainty=Decimal("1.5"))
    lot.refresh_from_db()
    assert (lot.place, lot.saponification_value.nominal) == ("shelf C3", 189.5)
    assert history_of(lot)[0].detail["place"] == ["", "shelf C3"]


def test_saving_a_lot_unchanged_writes_no_history(maker):
    lot = LotFactory(place="shelf A")
    update_lot(lot=lot, by=maker, place="shelf A")
    assert not history_of(lot)


def test_taking_a_certificate_away_takes_its_uncertainty_along(maker):
    lot = LotFactory(sap=Decimal(190), sap_uncertainty=Decimal(1))
    update_lot(lot=lot, by=maker, sap=None)
    lot.refresh_from_db()
    assert (lot.sap, lot.sap_uncertainty) == (None, None)


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("cost", {"cost": Decimal(-1)}),
        ("sap", {"sap": Decimal(900), "sap_uncertainty": Decimal(1)}),
        ("purity", {"purity": Decimal(98), "purity_uncertainty": Decimal(1)}),
    ],
)
def test_what_cannot_stand_on_a_lot_is_refused(maker, field, values):
    lot = LotFactory()
    with pytest.raises(ValidationError) as refused:
        update_lot(lot=lot, by=maker, **values)
    assert list(refused.value.message_dict) == [field]
