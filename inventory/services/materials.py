"""Materials: adding one of the maker's own, changing it, putting it away."""

from __future__ import annotations

from decimal import Decimal
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.translation import gettext, gettext_noop

from inventory.models import Kind, Material, Supplier
from inventory.services.checks import check
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

# How far around a nominal value of unknown spread the range is proposed: common practice, no source.
USUAL_SPREAD = Decimal("0.03")

# The same around the fat in a liquid or an additive: common practice, no source.
USUAL_SPREAD_OF_FAT = Decimal("0.2")
WHOLE, THOUSANDTH = Decimal(100), Decimal("0.001")


class MaterialFields(TypedDict, total=False):
    """What a maker says of a material.

    Saponification in mg KOH/g, purity in % m/m, density in g/mL, contents and acid in g per 100 g, `profile`
    in % of all fatty acids by shorthand such as "C18:1". `colour` is #rrggbb. Of an embed, a piece weighs
    `piece_grams` in g and takes `piece_length` in mm of the loaf.
    """

    name: str
    inci_name: str
    supplier: Supplier | None
    reorder_level: Decimal | None
    density: Decimal | None
    note: str
    sap_low: Decimal | None
    sap_nominal: Decimal | None
    sap_high: Decimal | None
    sap_source: str
    alkali: str
    purity_low: Decimal | None
    purity_high: Decimal | None
    dissolved: bool
    fat_kind: str
    origin: str
    profile: dict[str, float]
    water: Decimal | None
    fat: Decimal
    fat_low: Decimal | None
    fat_high: Decimal | None
    fat_reference: str
    sugar: Decimal
    salt: Decimal
    alcohol: Decimal
    composition_source: str
    acid: str
    acid_least: Decimal | None
    antioxidant: bool
    colour: str
    piece_grams: Decimal | None
    piece_length: Decimal | None


def create_material(*, kind: Kind, by: User, **fields: Unpack[MaterialFields]) -> Material:
    """Add a material. Raises ValidationError by field."""
    require_maker(by)
    return _keep(Material(kind=kind), fields, what=gettext_noop("added %(name)s"), by=by)


def update_material(*, material: Material, by: User, **fields: Unpack[MaterialFields]) -> Material:
    """Change a material; its kind stays. Batches that were poured keep the values they were poured with."""
    require_maker(by)
    return _keep(material, fields, what=gettext_noop("changed %(name)s"), by=by)


def archive_material(*, material: Material, by: User) -> None:
    """Offer a material no longer. Raises ValidationError while any is on the shelf."""
    require_maker(by)
    if material.lots.in_stock().exists():
        words = gettext("There is still %(material)s on the shelf. Use it up or discard it first.")
        raise ValidationError(words % {"material": material.name})
    _set_archived(material, archived=True, by=by)


def bring_back_material(*, material: Material, by: User) -> None:
    """Offer a material again that was put away."""
    require_maker(by)
    _set_archived(material, archived=False, by=by)


def proposed_range(nominal: Decimal) -> tuple[Decimal, Decimal]:
    """Lowest and highest saponification value to assume around a nominal one: 3 % each way."""
    spread = nominal * USUAL_SPREAD
    return (nominal - spread).quantize(Decimal("0.01")), (nominal + spread).quantize(Decimal("0.01"))


def _keep(material: Material, fields: MaterialFields, *, what: str, by: User) -> Material:
    before = {name: str(getattr(material, name)) for name in fields} if material.pk else {}
    for name, value in fields.items():
        setattr(material, name, value)
    _propose_range(material)
    _propose_fat_range(material)
    check(material)
    try:
        with transaction.atomic():
            material.save()
            changed = {
                name: [old, str(getattr(material, name))]
                for name, old in before.items()
                if old != str(getattr(material, name))
            }
            record(by=by, subject=material, what=gettext(what) % {"name": material.name}, detail=changed)
    except IntegrityError as clash:
        words = gettext("There is a material called %(name)s already.")
        raise ValidationError({"name": words % {"name": material.name}}) from clash
    return material


def _propose_range(material: Material) -> None:
    """Fill in the range of a fat of which only the nominal value is known."""
    if material.sap_nominal is None or not material.sap_nominal.is_finite():
        return
    low, high = proposed_range(material.sap_nominal)
    if material.sap_low is None:
        material.sap_low = low
    if material.sap_high is None:
        material.sap_high = high


def _propose_fat_range(material: Material) -> None:
    """Fill in how far the fat in it may be from the usual content, where only that is known."""
    fat = material.fat
    if not material.fat_reference or not fat.is_finite() or not 0 < fat <= WHOLE:
        return
    if material.fat_low is None:
        material.fat_low = (fat * (1 - USUAL_SPREAD_OF_FAT)).quantize(THOUSANDTH)
    if material.fat_high is None:
        material.fat_high = min(fat * (1 + USUAL_SPREAD_OF_FAT), WHOLE).quantize(THOUSANDTH)


def _set_archived(material: Material, *, archived: bool, by: User) -> None:
    with transaction.atomic():
        material.archived = archived
        material.save(update_fields=["archived"])
        what = gettext("put away %(name)s") if archived else gettext("brought back %(name)s")
        record(by=by, subject=material, what=what % {"name": material.name})
