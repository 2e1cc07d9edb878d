"""Materials: adding one of the maker's own, changing it, putting it away."""

from __future__ import annotations

from decimal import Decimal
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils.translation import gettext, gettext_noop

from inventory.models import Kind, Material, Supplier
from inventory.services.lots import SAP_MOST
from soapshop.core.access import require_maker
from soapshop.core.models import User
from soapshop.core.services.history import record

# How far around a nominal value of unknown spread the range is proposed: common practice, no source.
USUAL_SPREAD = Decimal("0.03")

OF_KIND: dict[str, tuple[str, ...]] = {
    Kind.FAT: ("sap_low", "sap_nominal", "sap_high", "sap_source"),
    Kind.ALKALI: ("alkali", "purity_low", "purity_high"),
    Kind.ADDITIVE: ("acid",),
    Kind.COLOUR: ("colour",),
    Kind.LIQUID: (),
    Kind.FRAGRANCE: (),
    Kind.PACKAGING: (),
}
OPTIONAL = frozenset({"acid", "colour", "sap_source"})


class MaterialFields(TypedDict, total=False):
    """What a maker says of a material: saponification in mg KOH/g, purity in % m/m, density in g/mL."""

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
    acid: str
    colour: str


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
    _check(material)
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


def _check(material: Material) -> None:
    """Raise ValidationError by field for what such a material cannot be."""
    material.clean_fields(exclude=["supplier"])
    problems = _foreign_fields(material) | _sap_problems(material) | _purity_problems(material)
    if material.density is not None and material.density <= 0:
        problems["density"] = gettext("A density is more than nothing.")
    if material.reorder_level is not None and material.reorder_level < 0:
        problems["reorder_level"] = gettext("A reorder level cannot be below zero.")
    if problems:
        raise ValidationError(problems)


def _foreign_fields(material: Material) -> dict[str, str]:
    """Values that another kind of material would have."""
    others = {name for names in OF_KIND.values() for name in names} - set(OF_KIND[material.kind])
    kind = material.get_kind_display().lower()
    words = gettext("This does not belong to the kind “%(kind)s”.") % {"kind": kind}
    return {name: words for name in others if getattr(material, name)}


def _sap_problems(material: Material) -> dict[str, str]:
    low, nominal, high = material.sap_low, material.sap_nominal, material.sap_high
    if low is None and nominal is None and high is None:
        return {}
    if nominal is None or low is None or high is None:
        return {"sap_nominal": gettext("Give the usual value as well: the lye is worked out from it.")}
    if not 0 < nominal <= SAP_MOST:
        return {"sap_nominal": gettext("A saponification value lies between 0 and 700 mg KOH/g.")}
    if not 0 < low <= nominal:
        return {"sap_low": gettext("The lowest value must be above 0 and not above the usual one.")}
    if not nominal <= high <= SAP_MOST:
        words = gettext("The highest value must not be below the usual one, nor above 700 mg KOH/g.")
        return {"sap_high": words}
    return {}


def _purity_problems(material: Material) -> dict[str, str]:
    if material.kind != Kind.ALKALI:
        return {}
    problems = {} if material.alkali else {"alkali": gettext("Say which alkali it is.")}
    low, high = material.purity_low, material.purity_high
    if low is None or not 0 < low <= 100:
        problems["purity_low"] = gettext("A purity lies between 0 and 100 %.")
    elif high is None or not low <= high <= 100:
        problems["purity_high"] = gettext("The highest purity lies between the lowest and 100 %.")
    return problems


def _set_archived(material: Material, *, archived: bool, by: User) -> None:
    with transaction.atomic():
        material.archived = archived
        material.save(update_fields=["archived"])
        what = gettext("put away %(name)s") if archived else gettext("brought back %(name)s")
        record(by=by, subject=material, what=what % {"name": material.name})
