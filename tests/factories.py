"""The cast and the things of the tests. One section for each app, from the lowest up."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

import factory
from django.contrib.auth.hashers import make_password
from django.utils import timezone
from factory.django import DjangoModelFactory

from inventory.models import Kind, Lot, Material, Supplier
from inventory.services.receiving import ReceivedLine, receive
from recipes.design import Design, Part
from recipes.models import LiquidBy, SizeBy, Version
from recipes.services import create_recipe
from soapshop.core.models import Role, User, Workshop

# --- core ---------------------------------------------------------------------------------------------------

PASSWORD = "four blue kettles sing"
HASHED_PASSWORD = factory.LazyFunction(lambda: make_password(PASSWORD))


class UserFactory(DjangoModelFactory[User]):
    """A maker who signs in with PASSWORD."""

    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"maker{n}")
    name = factory.Sequence(lambda n: f"Maker {n}")
    role = Role.MAKER
    password = HASHED_PASSWORD


class OwnerFactory(UserFactory):
    username = factory.Sequence(lambda n: f"owner{n}")
    name = factory.Sequence(lambda n: f"Owner {n}")
    role = Role.OWNER
    is_staff = True
    is_superuser = True


class ViewerFactory(UserFactory):
    username = factory.Sequence(lambda n: f"viewer{n}")
    name = factory.Sequence(lambda n: f"Viewer {n}")
    role = Role.VIEWER


class WorkshopFactory(DjangoModelFactory[Workshop]):
    """The one row of settings: made, or changed to what is asked for."""

    class Meta:
        model = Workshop

    @classmethod
    def _create(cls, model_class: type[Workshop], *args: Any, **kwargs: Any) -> Workshop:
        return Workshop.objects.update_or_create(pk=Workshop.SINGLE, defaults=kwargs)[0]


# --- inventory ----------------------------------------------------------------------------------------------

NO_SAP = {"sap_low": None, "sap_nominal": None, "sap_high": None, "sap_source": ""}


class SupplierFactory(DjangoModelFactory[Supplier]):
    class Meta:
        model = Supplier

    name = factory.Sequence(lambda n: f"Lantern Oils {n}")


class MaterialFactory(DjangoModelFactory[Material]):
    """A fat with an olive oil's values; other kinds by their trait."""

    class Meta:
        model = Material

    class Params:
        naoh = factory.Trait(
            kind=Kind.ALKALI, alkali="naoh", purity_low=Decimal(97), purity_high=Decimal(100), **NO_SAP
        )
        koh = factory.Trait(
            kind=Kind.ALKALI, alkali="koh", purity_low=Decimal(85), purity_high=Decimal(92), **NO_SAP
        )
        lye_solution = factory.Trait(
            kind=Kind.ALKALI,
            alkali="naoh",
            dissolved=True,
            purity_low=Decimal(49),
            purity_high=Decimal(51),
            **NO_SAP,
        )
        milk = factory.Trait(
            kind=Kind.LIQUID,
            water=Decimal(87),
            fat=Decimal(4),
            fat_low=Decimal(3),
            fat_high=Decimal(5),
            fat_reference="milk_fat",
            sugar=Decimal("4.5"),
            **NO_SAP,
        )
        vinegar = factory.Trait(
            kind=Kind.LIQUID, water=Decimal(94), acid="acetic", acid_least=Decimal(4), **NO_SAP
        )
        liquid = factory.Trait(kind=Kind.LIQUID, density=Decimal("0.9982"), **NO_SAP)
        fragrance = factory.Trait(kind=Kind.FRAGRANCE, **NO_SAP)
        colour_ = factory.Trait(kind=Kind.COLOUR, colour="#6d7987", **NO_SAP)
        additive = factory.Trait(kind=Kind.ADDITIVE, **NO_SAP)
        packaging = factory.Trait(kind=Kind.PACKAGING, **NO_SAP)

    kind = Kind.FAT
    name = factory.Sequence(lambda n: f"Meadow oil {n}")
    sap_low = Decimal(184)
    sap_nominal = Decimal(190)
    sap_high = Decimal(196)
    sap_source = "invented for the tests"


class LotFactory(DjangoModelFactory[Lot]):
    """A lot received through the real service, by a new maker: 5 kg for 40.00 unless said otherwise."""

    class Meta:
        model = Lot

    @classmethod
    def _create(cls, model_class: type[Lot], *args: Any, **kwargs: Any) -> Lot:
        received_on: date = kwargs.pop("received_on", None) or timezone.localdate()
        supplier = kwargs.pop("supplier", None) or SupplierFactory()
        by = kwargs.pop("by", None) or UserFactory()
        material = kwargs.pop("material", None) or MaterialFactory()
        line = ReceivedLine(
            material=material,
            quantity=Decimal(kwargs.pop("quantity", 5000)),
            cost=Decimal(kwargs.pop("cost", 40)),
            **kwargs,
        )
        delivery = receive(supplier=supplier, received_on=received_on, lines=[line], key=uuid4(), by=by)
        return delivery.lots.select_related("material").get()


# --- recipes ------------------------------------------------------------------------------------------------


def part(amount: str | int, material: Material | None = None, **traits: Any) -> Part:
    """A material in a recipe: a new one with those traits unless one is given."""
    return Part(material or MaterialFactory(**traits), Decimal(amount))


def design(*parts: Part, **changed: Any) -> Design:
    """A kilogram of fats at 5 % superfat, 33 % lye, ten bars; one fat, lye and water by default."""
    said: dict[str, Any] = {
        "superfat": Decimal(5),
        "liquid_by": LiquidBy.CONCENTRATION,
        "liquid_value": Decimal(33),
        "size_by": SizeBy.FATS,
        "size_grams": Decimal(1000),
        "mould": None,
        "bars": 10,
        "parts": parts or (part(100), part(100, naoh=True), part(100, liquid=True)),
    }
    return Design(**{**said, **changed})


class VersionFactory(DjangoModelFactory[Version]):
    """Version 1 of a new recipe, written down through the real service. `by` defaults to a new maker."""

    class Meta:
        model = Version

    name = factory.Sequence(lambda n: f"Gravel Lane {n}")

    @classmethod
    def _create(cls, model_class: type[Version], *args: Any, **kwargs: Any) -> Version:
        said = {"design": kwargs.pop("design", None) or design(), "cure_days": kwargs.pop("cure_days", 28)}
        return create_recipe(by=kwargs.pop("by", None) or UserFactory(), **said, **kwargs)
