"""Every page of the app in every state that looks different, with who sees it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from uuid import uuid4

from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, Jug
from batches.services.jugs import fill_jug
from batches.services.plan import plan_batch
from batches.services.weighing import mix_lye, weigh
from inventory.models import Kind
from recipes.formulation import Size
from soapshop.core.models import User
from tests.architecture.pages import PAGES, Cast


@dataclass(frozen=True)
class Scene:
    """An address as someone sees it; nobody is signed in where `user` is None."""

    name: str
    address: str
    user: User | None


def every_scene(cast: Cast) -> list[Scene]:
    """All that the workshop of the cast has to show, to its owner unless it is another's to see."""
    return [*_pages(cast), *_bench(cast), *_elsewhere(cast)]


def names_shown(scenes: list[Scene]) -> set[str]:
    """The pages that are among the scenes."""
    return {scene.name.split(" ")[0] for scene in scenes}


def _pages(cast: Cast) -> Iterator[Scene]:
    for name, page in PAGES.items():
        if page.html and page.get == 200:
            yield Scene(name, page.address(name, cast), cast.owner)


def _bench(cast: Cast) -> Iterator[Scene]:
    """A pour from the first weight to the last look, one that went wrong, and one taken as planned."""
    midway, at_lye, done, too_much = (planned(cast) for _ in range(4))
    weigh_lines(midway, 3, cast.maker)
    weigh_lines(at_lye, 6, cast.maker)
    weigh_lines(done, 6, cast.maker)
    mix_lye(batch=done, by=cast.maker)
    weigh_lines(done, 1, cast.maker)
    weigh_lines(too_much, 6, cast.maker, lye=Decimal(175))
    filled = fill_a_jug(cast.split, cast.maker)
    first, fourth = midway.lines.all()[0], midway.lines.all()[3]
    addresses = {
        "batches:weigh midway": on(midway, "weigh"),
        "batches:weigh another weight": on(midway, "weigh", f"?line={fourth.pk}&show=other"),
        "batches:weigh which lot": on(midway, "weigh", f"?line={fourth.pk}&show=lots"),
        "batches:weigh weighed": on(midway, "weigh", f"?line={first.pk}"),
        "batches:lye": on(at_lye, "lye"),
        "batches:lye not safe": on(too_much, "lye"),
        "batches:add_to_pot not safe": on(too_much, "add_to_pot"),
        "batches:split filled": on(cast.split, "split", f"?jug={filled.pk}"),
        "batches:jug_more": on(cast.split, "jug_more", f"?jug={filled.pk}"),
        "batches:confirm": on(done, "confirm"),
        "batches:confirm as planned": on(cast.planned, "confirm", "?as_planned=on"),
        "batches:batch open": on(midway, "batch"),
        "batches:batch poured": on(cast.poured, "batch"),
    }
    return (Scene(name, address, cast.owner) for name, address in addresses.items())


def _elsewhere(cast: Cast) -> Iterator[Scene]:
    kind = f"{reverse('inventory:material_add')}?kind="
    for each in (Kind.FAT, Kind.ALKALI, Kind.COLOUR):
        yield Scene(f"inventory:material_add {each}", f"{kind}{each}", cast.owner)
    for name in ("batches:pour", "batches:shelf", "recipes:list", "inventory:stockroom"):
        yield Scene(f"{name} nothing found", f"{reverse(name)}?q=unheard-of", cast.owner)
    yield Scene("core:sign_in", reverse("core:sign_in"), None)
    yield Scene("batches:batch to-look-at", on(cast.cut, "batch"), cast.viewer)


def of_an_empty_workshop(owner: User) -> list[Scene]:
    """What the first day shows."""
    names = ["batches:today", "batches:pour", "batches:list", "batches:rack", "batches:shelf"]
    names += ["recipes:list", "recipes:add"]
    names += [f"inventory:{name}" for name in ("stockroom", "receive", "deliveries", "suppliers", "ledger")]
    return [Scene(f"{name} empty", reverse(name), owner) for name in names]


def planned(cast: Cast) -> Batch:
    today = timezone.localdate()
    return plan_batch(version=cast.version, size=Size(), planned_for=today, key=uuid4(), by=cast.maker)


def weigh_lines(batch: Batch, count: int, by: User, *, lye: Decimal | None = None) -> None:
    """Weighs the next lines of the card as planned, but for the lye where another weight of it is given."""
    for line in batch.lines.filter(done=False).select_related("material")[:count]:
        quantity = lye if lye and line.kind == Kind.ALKALI else line.planned
        lot = line.material.lots.order_by("pk")[0]
        weigh(line=line, lot=lot, quantity=quantity, key=uuid4(), by=by, more_to_come=False)


def fill_a_jug(batch: Batch, by: User) -> Jug:
    """The first one, as planned."""
    jug = batch.jugs.all()[0]
    grams = jug.planned or Decimal(0)
    return jug if jug.grams else fill_jug(jug=jug, grams=grams, key=uuid4(), by=by)


def on(batch: Batch, name: str, question: str = "") -> str:
    return reverse(f"batches:{name}", args=[batch.pk]) + question
