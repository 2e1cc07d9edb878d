"""Every page of the app by the name of its address: who may see it, with what, and what it answers.

A new page is added to PAGES; the walk in test_pages.py fails as long as it is missing there:

    "recipes:edit": Page(MAKER, lambda cast: {"pk": cast.version.recipe_id}),

`get` is what the least of those who may see it are answered. A page that only takes a POST answers 405.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from batches.models import BarMovement, Batch, CureNote
from batches.services.bars import take_bars
from batches.services.colour import measure
from batches.services.cure import add_note, cut
from batches.services.pour import pour
from inventory.models import Certificate, Delivery, Lot, Material, Movement
from recipes.models import Mould, Version
from recipes.services.moulds import note_fill
from soapshop.core.models import Photo, User
from soapshop.core.queries import workshop
from soapshop.core.services.photos import store_photo
from tests.batches.bench import bench
from tests.batches.kept import kept_lot, split_batch
from tests.batches.photos import BAR, CARD, beside_card
from tests.batches.split import dressed, with_batter
from tests.core.pictures import jpeg, pdf, upload
from tests.factories import (
    CertificateFactory,
    MouldFactory,
    OwnerFactory,
    UserFactory,
    ViewerFactory,
    WorkshopFactory,
)

ANYONE, VIEWER, MAKER, OWNER = range(4)


@dataclass(frozen=True)
class Cast:
    """A small workshop in which every page has something to show."""

    owner: User
    maker: User
    viewer: User
    version: Version
    lot: Lot
    delivery: Delivery
    movement: Movement
    planned: Batch
    poured: Batch
    cut: Batch
    taken: BarMovement
    photo: Photo
    certificate: Certificate
    note: CureNote
    mould: Mould
    split: Batch
    fragrance: Material
    kept: Lot

    def those_below(self, least: int) -> list[User]:
        """Who is signed in and may not see a page for `least`."""
        return [user for part, user in self._by_part() if part < least]

    def least_of(self, least: int) -> User:
        """The least of those who may see a page for `least`."""
        return next(user for part, user in self._by_part() if part >= least)

    def _by_part(self) -> list[tuple[int, User]]:
        return [(VIEWER, self.viewer), (MAKER, self.maker), (OWNER, self.owner)]


def make_cast() -> Cast:
    """Made through the real services."""
    WorkshopFactory(name="Lindenbath Soap")
    shop = bench(quantity=50_000)
    maker = UserFactory()
    poured, whole = (
        pour(batch=shop.plan(), key=uuid4(), by=maker, as_planned=True, words="first", photo=None)
        for _ in range(2)
    )
    today = timezone.localdate()
    cure = cut(cure=whole.cure, on=today, bars=10, trimmings=Decimal(20), key=uuid4(), by=maker)
    taken = take_bars(cure=cure, count=1, kind=BarMovement.Kind.SAMPLE, key=uuid4(), by=maker)
    lot = shop.lots["Olive oil"]
    return Cast(
        owner=OwnerFactory(),
        maker=maker,
        viewer=ViewerFactory(),
        version=shop.version,
        lot=lot,
        delivery=lot.delivery,
        movement=lot.movements.get(kind=Movement.Kind.RECEIVED),
        planned=shop.plan(),
        poured=poured,
        cut=whole,
        taken=taken,
        photo=store_photo(upload=upload(jpeg()), by=maker),
        certificate=CertificateFactory(upload=upload(pdf(), "lavender.pdf"), by=maker),
        note=_measured(whole, maker),
        mould=_filled(shop.version),
        split=with_batter(dressed(shop)),
        fragrance=shop.materials["Scent"],
        kept=kept_lot(split_batch(shop)),
    )


def _measured(batch: Batch, maker: User) -> CureNote:
    photo = upload(beside_card())
    note = add_note(cure=batch.cure, words="", photo=photo, key=uuid4(), by=maker)
    measure(note=note, card=CARD, card_kind="white", places={None: BAR}, by=maker)
    return note


def _filled(version: Version) -> Mould:
    """A mould that a batch was poured into."""
    mould = MouldFactory()
    height = Decimal(50)
    note_fill(
        batch="L001", version=version, mould=mould, grams=Decimal(990), height=height, at=timezone.now()
    )
    return mould


def _nothing(cast: Cast) -> dict[str, Any]:
    return {}


@dataclass(frozen=True)
class Page:
    """Who may see it (the least of them), the arguments of its address, the answer, whether it is HTML.

    What answers in `json` is for scripts: it also says in JSON who may not see it.
    """

    least: int = VIEWER
    arguments: Callable[[Cast], dict[str, Any]] = _nothing
    get: int = 200
    html: bool = True
    json: bool = False

    def address(self, name: str, cast: Cast) -> str:
        return reverse(name, kwargs=self.arguments(cast))

    def addresses_of_nothing(self, name: str, cast: Cast) -> Iterator[str]:
        """The same page for things that do not exist: each id in turn, wrong and far too large."""
        arguments = self.arguments(cast)
        for argument, value in arguments.items():
            for nothing in _nothings(value):
                yield reverse(name, kwargs=arguments | {argument: nothing})


def _nothings(value: object) -> list[object]:
    if isinstance(value, int):
        return [987_654_321, 10**30]
    return [uuid4()] if isinstance(value, UUID) else ["unheard-of"]


def _planned(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.planned.pk}


def _poured(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.poured.pk}


def _cut(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.cut.pk}


def _split(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.split.pk}


def _noted(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.cut.pk, "note_pk": cast.note.pk}


def _recipe(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.version.recipe_id}


def _version(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.version.recipe_id, "number": 1}


def _mould(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.mould.pk}


def _lot(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.lot.pk}


def _material(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.lot.material_id}


def _certificate(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.certificate.pk}


def _supplier(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.delivery.supplier_id}


def _maker(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.maker.pk}


PAGES = {
    "core:sign_in": Page(ANYONE, get=302),
    "core:sign_out": Page(ANYONE, get=302),
    "core:setup": Page(ANYONE, get=404),
    "core:theme": Page(ANYONE, get=405),
    "core:health": Page(ANYONE, html=False),
    "core:connect": Page(ANYONE),
    "core:authority": Page(ANYONE, get=404, html=False),
    "core:manifest": Page(ANYONE, html=False),
    "core:service_worker": Page(ANYONE, html=False),
    "core:offline": Page(ANYONE),
    "core:account": Page(),
    "core:photo": Page(arguments=lambda cast: {"pk": cast.photo.pk, "size": "thumb"}, html=False),
    "core:document": Page(arguments=lambda cast: {"pk": cast.certificate.document.pk}, html=False),
    "core:settings": Page(OWNER),
    "core:calendar_renew": Page(OWNER, get=405),
    "core:people": Page(OWNER),
    "core:person_add": Page(OWNER),
    "core:person_edit": Page(OWNER, _maker),
    "core:person_password": Page(OWNER, _maker),
    "inventory:stockroom": Page(),
    "inventory:material_add": Page(MAKER),
    "inventory:material": Page(VIEWER, _material),
    "inventory:material_edit": Page(MAKER, _material),
    "inventory:material_archive": Page(MAKER, _material, get=405),
    "inventory:certificate_add": Page(MAKER, lambda cast: {"pk": cast.certificate.material_id}),
    "inventory:certificate_edit": Page(MAKER, _certificate),
    "inventory:certificate_remove": Page(MAKER, _certificate, get=405),
    "inventory:lot": Page(VIEWER, _lot),
    "inventory:lot_edit": Page(MAKER, _lot),
    "inventory:correct": Page(MAKER, _lot),
    "inventory:discard": Page(MAKER, _lot),
    "inventory:find": Page(VIEWER, _lot, get=302, html=False),
    "inventory:labels": Page(),
    "inventory:labels_pdf": Page(get=302, html=False),
    "inventory:deliveries": Page(),
    "inventory:receive": Page(MAKER),
    "inventory:delivery": Page(VIEWER, lambda cast: {"pk": cast.delivery.pk}),
    "inventory:suppliers": Page(),
    "inventory:supplier_add": Page(MAKER),
    "inventory:supplier_edit": Page(MAKER, _supplier),
    "inventory:supplier_archive": Page(MAKER, _supplier, get=405),
    "inventory:ledger": Page(),
    "inventory:reverse": Page(MAKER, lambda cast: {"pk": cast.movement.pk}),
    "recipes:list": Page(),
    "recipes:add": Page(MAKER),
    "recipes:preview": Page(MAKER, get=405),
    "recipes:import": Page(MAKER),
    "recipes:all_json": Page(html=False),
    "recipes:all_csv": Page(html=False),
    "recipes:schema": Page(html=False),
    "recipes:recipe": Page(VIEWER, _recipe),
    "recipes:version": Page(VIEWER, _version),
    "recipes:version_json": Page(VIEWER, _version, html=False),
    "recipes:version_csv": Page(VIEWER, _version, html=False),
    "recipes:strip": Page(VIEWER, _version),
    "recipes:strip_pdf": Page(VIEWER, _version, get=302, html=False),
    "recipes:tags": Page(MAKER, _recipe, get=405),
    "recipes:edit": Page(MAKER, _recipe),
    "recipes:look": Page(MAKER, _recipe),
    "recipes:look_preview": Page(MAKER, _recipe, get=405),
    "recipes:blend": Page(),
    "recipes:compare": Page(),
    "recipes:swap": Page(VIEWER, _recipe),
    "recipes:archive": Page(MAKER, _recipe, get=405),
    "recipes:moulds": Page(),
    "recipes:mould_add": Page(MAKER),
    "recipes:mould": Page(VIEWER, _mould),
    "recipes:mould_edit": Page(MAKER, _mould),
    "recipes:mould_archive": Page(MAKER, _mould, get=405),
    "batches:today": Page(),
    "batches:pour": Page(),
    "batches:plan": Page(MAKER, lambda cast: {"version_pk": cast.version.pk}),
    "batches:list": Page(),
    "batches:batch": Page(VIEWER, _cut),
    "batches:card": Page(VIEWER, _planned, html=False),
    "batches:drop": Page(MAKER, _planned),
    "batches:weigh": Page(MAKER, _planned),
    "batches:weigh_undo": Page(MAKER, _planned, get=405),
    "batches:leave": Page(MAKER, _planned, get=405),
    "batches:scale": Page(MAKER, _planned, get=405),
    "batches:bench_state": Page(MAKER, _planned, html=False),
    "batches:events": Page(MAKER, _planned),
    "batches:event_undo": Page(MAKER, _planned, get=405),
    "batches:add_to_pot": Page(MAKER, _planned),
    "batches:lye": Page(MAKER, _planned, get=302),
    "batches:split": Page(MAKER, _split),
    "batches:jug_empty": Page(MAKER, _split, get=405),
    "batches:jug_leave": Page(MAKER, _split, get=405),
    "batches:jug_more": Page(MAKER, _split, get=404),
    "batches:take_out": Page(MAKER, _split),
    "batches:small_batch": Page(MAKER, lambda cast: {"lot_pk": cast.kept.pk}),
    "batches:confirm": Page(MAKER, _planned, get=302),
    "batches:pocket": Page(MAKER, _planned),
    "batches:pack": Page(MAKER, _planned, html=False, json=True),
    "batches:deeds": Page(MAKER, _planned, get=405, html=False, json=True),
    "batches:hello": Page(html=False, json=True),
    "batches:undo": Page(MAKER, _poured),
    "batches:unmould": Page(MAKER, _poured),
    "batches:cut": Page(MAKER, _poured),
    "batches:note": Page(MAKER, _cut),
    "batches:colour": Page(MAKER, _noted),
    "batches:colour_remove": Page(MAKER, _noted, get=405),
    "batches:outcome": Page(MAKER, _cut),
    "batches:fragrance": Page(VIEWER, lambda cast: {"pk": cast.fragrance.pk}),
    "batches:weigh_in": Page(MAKER, _cut),
    "batches:rack": Page(),
    "batches:turn": Page(MAKER),
    "batches:tags": Page(),
    "batches:tags_pdf": Page(get=302, html=False),
    "batches:find": Page(VIEWER, _cut, get=302, html=False),
    "batches:calendar": Page(ANYONE, lambda cast: {"secret": workshop().calendar_secret}, html=False),
    "batches:shelf": Page(),
    "batches:take": Page(MAKER, _cut),
    "batches:make_embeds": Page(MAKER, _cut),
    "batches:recount": Page(MAKER, _cut),
    "batches:bring_back": Page(MAKER, lambda cast: {"pk": cast.taken.pk}),
}


def names_in_use() -> set[str]:
    """The names of all addresses that the app answers to, but those of Django's own admin."""
    return set(_names(get_resolver().url_patterns, ""))


def _names(patterns: list[URLPattern | URLResolver], space: str) -> Iterator[str]:
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            yield f"{space}{pattern.name}"
        elif pattern.namespace != "admin":
            yield from _names(pattern.url_patterns, f"{pattern.namespace}:" if pattern.namespace else space)
