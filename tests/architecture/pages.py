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

from batches.models import BarMovement, Batch
from batches.services.bars import take_bars
from batches.services.cure import cut
from batches.services.pour import pour
from inventory.models import Delivery, Lot, Movement
from recipes.models import Version
from soapshop.core.models import Photo, User
from soapshop.core.queries import workshop
from soapshop.core.services.photos import store_photo
from tests.batches.bench import bench
from tests.core.pictures import jpeg, upload
from tests.factories import OwnerFactory, UserFactory, ViewerFactory, WorkshopFactory

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
    )


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


def _recipe(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.version.recipe_id}


def _version(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.version.recipe_id, "number": 1}


def _lot(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.lot.pk}


def _material(cast: Cast) -> dict[str, Any]:
    return {"pk": cast.lot.material_id}


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
    "recipes:tags": Page(MAKER, _recipe, get=405),
    "recipes:edit": Page(MAKER, _recipe),
    "recipes:blend": Page(),
    "recipes:compare": Page(),
    "recipes:swap": Page(VIEWER, _recipe),
    "recipes:archive": Page(MAKER, _recipe, get=405),
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
    "batches:confirm": Page(MAKER, _planned, get=302),
    "batches:pocket": Page(MAKER, _planned),
    "batches:pack": Page(MAKER, _planned, html=False, json=True),
    "batches:deeds": Page(MAKER, _planned, get=405, html=False, json=True),
    "batches:hello": Page(html=False, json=True),
    "batches:undo": Page(MAKER, _poured),
    "batches:unmould": Page(MAKER, _poured),
    "batches:cut": Page(MAKER, _poured),
    "batches:note": Page(MAKER, _cut),
    "batches:weigh_in": Page(MAKER, _cut),
    "batches:rack": Page(),
    "batches:turn": Page(MAKER),
    "batches:tags": Page(),
    "batches:tags_pdf": Page(get=302, html=False),
    "batches:find": Page(VIEWER, _cut, get=302, html=False),
    "batches:calendar": Page(ANYONE, lambda cast: {"secret": workshop().calendar_secret}, html=False),
    "batches:shelf": Page(),
    "batches:take": Page(MAKER, _cut),
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
