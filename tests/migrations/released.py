"""States of the database that were released, and a workshop as each could hold it.

The rows are made with the models of that time, so that nothing here follows later changes. A new release
adds its targets to RELEASED, and to `fill` what its new tables hold.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

from django.db.migrations.state import StateApps

RELEASED = {
    "from recipe to rack": [
        ("core", "0002_workshop_row"),
        ("inventory", "0001_initial"),
        ("recipes", "0001_initial"),
        ("batches", "0001_initial"),
    ],
    "the bench in the pocket": [
        ("core", "0003_more_settings"),
        ("inventory", "0001_initial"),
        ("recipes", "0001_initial"),
        ("batches", "0002_events_and_deeds"),
    ],
    "what goes in, and when": [
        ("core", "0003_more_settings"),
        ("inventory", "0002_contents_and_origin"),
        ("recipes", "0002_stages_tags_process"),
        ("batches", "0003_line_stage"),
    ],
}
BENCH_SETTINGS = {
    "address": "https://soap.example",
    "calendar_secret": "f" * 32,
    "cure_days_olive": 200,
    "cure_days_potash": 20,
    "fine_scale_step": Decimal("0.01"),
    "fine_scale_up_to": Decimal(200),
    "label_region": "UK",
    "turn_every": 5,
    "weigh_in_every": 14,
}
DAY = date(2026, 3, 2)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def fill(apps: StateApps, database: str) -> None:
    """One row at least in every table of the workshop, with something in every field that matters."""

    def make(model: str, **values: Any) -> Any:
        return apps.get_model(model).objects.using(database).create(**values)

    by = make("core.User", username="tamsin", name="Tamsin", role="owner", password="!")
    _fill_core(make, by)
    apps.get_model("core.Workshop").objects.using(database).update(
        name="Fernhollow", currency="GBP", units="us", time_zone="Europe/London", cure_days=35
    )
    lots = _fill_inventory(make, by)
    version = _fill_recipes(make, by, lots)
    batch = _fill_batches(make, by, version, lots)
    if "deed" in apps.all_models["batches"]:
        apps.get_model("core.Workshop").objects.using(database).update(**BENCH_SETTINGS)
        _fill_bench(make, by, batch)
    if "tag" in apps.all_models["recipes"]:
        _fill_stages(make, by, version, _fill_contents(make))


def _fill_core(make: Callable[..., Any], by: Any) -> None:
    make("core.History", at=NOON, by=by, subject="batches.batch:1", what="Poured 26-0001", detail={"g": "1"})


def _photo(make: Callable[..., Any], by: Any) -> Any:
    return make(
        "core.Photo",
        full="photos/2026/03/a.jpg",
        thumb="photos/2026/03/a-small.jpg",
        width=800,
        height=600,
        taken_at=NOON,
        added_by=by,
    )


def _fill_inventory(make: Callable[..., Any], by: Any) -> dict[str, Any]:
    supplier = make("inventory.Supplier", name="Larkspur Trading")
    delivery = make("inventory.Delivery", supplier=supplier, received_on=DAY, key=uuid4(), by=by)
    olive = make(
        "inventory.Material",
        kind="fat",
        name="Olive oil",
        inci_name="Olea Europaea Fruit Oil",
        supplier=supplier,
        sap_low=184,
        sap_nominal=190,
        sap_high=196,
        sap_source="Codex",
    )
    lye = make(
        "inventory.Material",
        kind="alkali",
        name="Sodium hydroxide",
        alkali="NaOH",
        purity_low=98,
        purity_high=100,
    )
    return {
        "olive": _lot(make, by, olive, delivery, "OLI-1", "5000.00"),
        "lye": _lot(make, by, lye, delivery, "LYE-1", "900.50"),
    }


def _lot(make: Callable[..., Any], by: Any, material: Any, delivery: Any, code: str, grams: str) -> Any:
    lot = make(
        "inventory.Lot",
        material=material,
        delivery=delivery,
        code=code,
        received_on=DAY,
        best_before=date(2027, 3, 2),
        quantity=Decimal(grams),
        cost=Decimal("42.10"),
        on_hand=Decimal(grams),
    )
    make(
        "inventory.Movement",
        lot=lot,
        quantity=Decimal(grams),
        kind="received",
        at=NOON,
        by=by,
        key=f"received-{code}",
    )
    return lot


def _fill_recipes(make: Callable[..., Any], by: Any, lots: dict[str, Any]) -> Any:
    recipe = make("recipes.Recipe", name="Hedgerow", created_by=by)
    version = make(
        "recipes.Version",
        recipe=recipe,
        number=1,
        size_grams=1000,
        cure_days=35,
        made_by=by,
        pours=1,
        poured_at=NOON,
    )
    for position, lot in enumerate(lots.values()):
        make("recipes.Ingredient", version=version, material=lot.material, amount=100, position=position)
    return version


def _fill_batches(make: Callable[..., Any], by: Any, version: Any, lots: dict[str, Any]) -> Any:
    make("batches.NumberSeries", year=2026, last=1)
    batch = make(
        "batches.Batch",
        code="26-0001",
        version=version,
        state="cut",
        key=uuid4(),
        planned_for=DAY,
        planned_by=by,
        bars_planned=12,
        frozen={"recipe": "Hedgerow", "lines": []},
        lye_mixed_at=NOON,
        poured_at=NOON,
        poured_by=by,
        pour_key=UUID(int=1),
        superfat=Decimal("5.012"),
        verdict="safe",
        cost=Decimal("9.99"),
    )
    for position, lot in enumerate(lots.values()):
        line = make(
            "batches.Line", batch=batch, material=lot.material, position=position, planned=100, done=True
        )
        make("batches.Weighing", line=line, lot=lot, quantity=Decimal("100.5"), at=NOON, by=by, key=uuid4())
    cure = make(
        "batches.Cure",
        batch=batch,
        cure_days=35,
        started_on=DAY,
        ready_on=date(2026, 4, 7),
        cut_on=date(2026, 3, 3),
        bars_cut=12,
        trimmings=Decimal(40),
        bars_left=12,
    )
    make("batches.CureNote", cure=cure, at=NOON, by=by, words="Paler", photo=_photo(make, by), key=uuid4())
    make("batches.WeighIn", cure=cure, on=DAY, grams=Decimal("1301.5"), bars=12, by=by, key=uuid4())
    make("batches.BarMovement", cure=cure, count=12, kind="cut", at=NOON, by=by, key=uuid4())
    return batch


def _fill_bench(make: Callable[..., Any], by: Any, batch: Any) -> None:
    line = batch.lines.first()
    lot = line.weighings.first().lot
    make("batches.Weighing", line=line, lot=lot, quantity=2, at=NOON, by=by, key=uuid4(), on_top=True)
    batch.cure.turned_on = DAY
    batch.cure.save()
    make("batches.Event", batch=batch, kind="light_trace", at=NOON, by=by, key=uuid4())
    make(
        "batches.Event",
        batch=batch,
        kind="lye_temperature",
        at=NOON,
        by=by,
        celsius=Decimal("41.5"),
        key=uuid4(),
    )
    photo = _photo(make, by)
    make("batches.Event", batch=batch, kind="note", at=NOON, by=by, words="Smooth", photo=photo, key=uuid4())
    make(
        "batches.Deed",
        key=uuid4(),
        batch=batch,
        kind="weigh",
        content={"grams": "100.5"},
        by=by,
        done_at=NOON,
        received_at=NOON,
        set_aside=True,
        words="100.5 g of Olive oil",
        photo=_photo(make, by),
    )


def _fill_contents(make: Callable[..., Any]) -> dict[str, Any]:
    """Materials by when they go in, as the kitchen and the garden bring them."""
    milk = make(
        "inventory.Material",
        kind="liquid",
        name="Goat milk",
        origin="animal",
        water=87,
        fat=4,
        fat_low=3,
        fat_high=5,
        fat_kind="triglyceride",
        fat_reference="milk_fat",
        sugar=Decimal("4.5"),
        salt=Decimal("0.1"),
        composition_source="The dairy",
    )
    vinegar = make(
        "inventory.Material",
        kind="liquid",
        name="Cider vinegar",
        acid="acetic",
        acid_least=4,
        water=94,
        alcohol=Decimal("0.5"),
    )
    make("inventory.Material", kind="additive", name="Rosemary extract", antioxidant=True)
    make(
        "inventory.Material",
        kind="alkali",
        name="Lye solution",
        alkali="naoh",
        purity_low=49,
        purity_high=51,
        dissolved=True,
    )
    shea = make(
        "inventory.Material",
        kind="fat",
        name="Shea butter",
        origin="plant",
        sap_low=170,
        sap_nominal=180,
        sap_high=190,
        profile={"oleic": 46, "stearic": 41},
    )
    return {"lye": vinegar, "trace": milk, "cook": shea}


def _fill_stages(make: Callable[..., Any], by: Any, begun_from: Any, materials: dict[str, Any]) -> None:
    """A hot process batch, planned, in which each thing goes in at a stage of its own."""
    recipe = make("recipes.Recipe", name="Hedgerow in winter", created_by=by)
    recipe.tags.add(make("recipes.Tag", name="winter"), make("recipes.Tag", name="unscented"))
    version = make(
        "recipes.Version",
        recipe=recipe,
        number=1,
        process="hot",
        liquid_scope="lye",
        begun_from=begun_from,
        size_by="mould",
        mould_length=250,
        mould_width=80,
        mould_height=Decimal("60.5"),
        bar_colour="#c9a227",
        made_by=by,
    )
    batch = make(
        "batches.Batch",
        code="26-0002",
        version=version,
        key=uuid4(),
        planned_for=DAY,
        planned_by=by,
        bars_planned=10,
        frozen={"recipe": "Hedgerow in winter", "lines": []},
    )
    for position, (stage, material) in enumerate(materials.items()):
        where = {"stage": stage, "position": position}
        make("recipes.Ingredient", version=version, material=material, amount=100, **where)
        make("batches.Line", batch=batch, material=material, planned=50, **where)
