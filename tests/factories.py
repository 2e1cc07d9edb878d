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

from batches.models import ColourReading, Jug
from inventory.models import Certificate, Kind, Lot, Material, Supplier
from inventory.services.certificates import add_certificate
from inventory.services.made import make_lot
from inventory.services.receiving import ReceivedLine, receive
from recipes.design import Design, Part
from recipes.models import AmountBy, LiquidBy, Mould, PortionBy, Shape, SizeBy, Version
from recipes.portions import Into, PortionDesign
from recipes.services import create_recipe
from recipes.services.moulds import create_mould
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
        embed = factory.Trait(
            kind=Kind.EMBED, colour="#c9a227", piece_grams=Decimal(12), piece_length=Decimal(30), **NO_SAP
        )
        topping = factory.Trait(kind=Kind.TOPPING, colour="#8a5a83", **NO_SAP)
        batter = factory.Trait(kind=Kind.BATTER, **NO_SAP)
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


class MadeLotFactory(DjangoModelFactory[Lot]):
    """A lot made here through the real service, by a new maker: 500 g of batter for 4.00, of a new lot."""

    class Meta:
        model = Lot

    @classmethod
    def _create(cls, model_class: type[Lot], *args: Any, **kwargs: Any) -> Lot:
        return make_lot(
            material=kwargs.pop("material", None) or MaterialFactory(batter=True),
            quantity=Decimal(kwargs.pop("quantity", 500)),
            parts=[(lot, Decimal(held)) for lot, held in kwargs.pop("parts", None) or [(LotFactory(), 300)]],
            cost=Decimal(kwargs.pop("cost", 4)),
            key=kwargs.pop("key", None) or str(uuid4()),
            by=kwargs.pop("by", None) or UserFactory(),
            at=kwargs.pop("at", None) or timezone.now(),
            **kwargs,
        )


class CertificateFactory(DjangoModelFactory[Certificate]):
    """A fragrance's certificate of today, written down through the real service: 5 % for bar soap."""

    class Meta:
        model = Certificate

    @classmethod
    def _create(cls, model_class: type[Certificate], *args: Any, **kwargs: Any) -> Certificate:
        said: dict[str, Any] = {"dated": timezone.localdate(), "limit": Decimal(5), "substances": ()}
        who = {"by": kwargs.pop("by", None) or UserFactory(), "key": kwargs.pop("key", None) or uuid4()}
        material = kwargs.pop("material", None) or MaterialFactory(fragrance=True)
        return add_certificate(material=material, **who, **{**said, **kwargs})


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


def into(
    amount: str | int, material: Material | None = None, by: AmountBy = AmountBy.FATS, **traits: Any
) -> Into:
    """Something for one portion, in % of its fats unless said otherwise: a new colour unless one is given."""
    return Into(material or MaterialFactory(**(traits or {"colour_": True})), Decimal(amount), by)


def portion(name: str, *additions: Into, **said: Any) -> PortionDesign:
    """A portion that takes the rest, unless `share`, `grams` or `layer` says how much of the batter it is."""
    for by in (PortionBy.SHARE, PortionBy.GRAMS, PortionBy.LAYER):
        if by in said:
            said |= {"size_by": by, "size": Decimal(said.pop(by))}
    return PortionDesign(name, additions=additions, **said)


class VersionFactory(DjangoModelFactory[Version]):
    """Version 1 of a new recipe, written down through the real service. `by` defaults to a new maker."""

    class Meta:
        model = Version

    name = factory.Sequence(lambda n: f"Gravel Lane {n}")

    @classmethod
    def _create(cls, model_class: type[Version], *args: Any, **kwargs: Any) -> Version:
        said = {"design": kwargs.pop("design", None) or design(), "cure_days": kwargs.pop("cure_days", 28)}
        return create_recipe(by=kwargs.pop("by", None) or UserFactory(), **said, **kwargs)


class MouldFactory(DjangoModelFactory[Mould]):
    """A loaf mould of 250 × 80 × 65 mm cut into ten bars, through the real service, by a new maker.

    Another shape takes its own measures: `MouldFactory(shape="tube", diameter=75)`.
    """

    class Meta:
        model = Mould

    name = factory.Sequence(lambda n: f"Bench mould {n}")
    shape = Shape.LOAF
    length, width, depth = Decimal(250), Decimal(80), Decimal(65)

    @classmethod
    def _create(cls, model_class: type[Mould], *args: Any, **kwargs: Any) -> Mould:
        return create_mould(by=kwargs.pop("by", None) or UserFactory(), **kwargs)


# --- batches ------------------------------------------------------------------------------------------------


class JugFactory(DjangoModelFactory[Jug]):
    """A portion of a `batch`, planned with 300 g of batter."""

    class Meta:
        model = Jug

    name = factory.Sequence(lambda n: f"Portion {n}")
    position = factory.Sequence(lambda n: n)
    planned = Decimal(300)


class ColourReadingFactory(DjangoModelFactory[ColourReading]):
    """A light, warm colour of the bar, in the photo of a `note`, as if measured beside a white card."""

    class Meta:
        model = ColourReading

    card_x = card_y = x = y = Decimal("0.5")
    lightness, a, b = Decimal("80.00"), Decimal("3.00"), Decimal("14.00")
    by = factory.SubFactory(UserFactory)
