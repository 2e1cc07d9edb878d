"""A workshop that has poured a thousand batches, written straight into the database."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.db.models import F, Sum
from django.utils import timezone

from batches.models import BarMovement, Batch, Cure, CureNote, Line, State, WeighIn, Weighing
from inventory.models import Lot, Movement
from inventory.services.receiving import ReceivedLine, receive
from recipes.design import design_of
from recipes.models import Version
from soapshop.core.models import History, Photo, User
from soapshop.core.services.history import subject_of
from tests.factories import SupplierFactory, VersionFactory

RECIPES, DELIVERIES, OPEN = 30, 20, 40
CURE_DAYS, BARS = 28, 10
SOLD_OUT_AFTER = 200  # days


class Busy:
    """Copies one poured batch a thousand times, two for each day back from today, from lots of their own."""

    def __init__(self, model: Batch, by: User, count: int = 1000) -> None:
        self.by, self.model, self.today = by, model, timezone.localdate()
        self.lines = list(model.lines.select_related("material"))
        self.lots = self._receive()
        self.versions = self._write_recipes()
        self.batches = self._pour(count)
        self.cures = self._cure()
        self._count_pours()
        self._plan()
        self._weigh()
        self._note()
        self._sell()

    def _receive(self) -> list[dict[int, Lot]]:
        """For each delivery its lots by material; half of those of fats and scents expire soon."""
        supplier = SupplierFactory()
        deliveries = []
        for number in range(DELIVERIES):
            soon = self.today + timedelta(days=10 + number) if number % 2 else None
            lines = [
                ReceivedLine(line.material, Decimal(100_000), Decimal(400), best_before=soon)
                for line in self.lines
            ]
            day = self.today - timedelta(days=30 * number)
            delivery = receive(supplier=supplier, received_on=day, lines=lines, key=uuid4(), by=self.by)
            deliveries.append({lot.material_id: lot for lot in delivery.lots.all()})
        return deliveries

    def _write_recipes(self) -> list[Version]:
        design = design_of(Version.objects.with_ingredients().get(pk=self.model.version_id))
        return [VersionFactory(design=design, by=self.by) for _ in range(RECIPES)]

    def _pour(self, count: int) -> list[Batch]:
        return Batch.objects.bulk_create(
            self._batch(number, self.today - timedelta(days=number // 2)) for number in range(count)
        )

    def _batch(self, number: int, day: date) -> Batch:
        same = {name: getattr(self.model, name) for name in ("frozen", "superfat", "verdict", "cost")}
        return Batch(
            code=f"long-ago-{number:04d}",
            version=self.versions[number % RECIPES],
            state=State.CUT if day < self.today else State.POURED,
            key=uuid4(),
            pour_key=uuid4(),
            planned_for=day,
            planned_by=self.by,
            poured_at=at_ten(day),
            poured_by=self.by,
            bars_planned=BARS,
            **same,
        )

    def _count_pours(self) -> None:
        for version in self.versions:
            poured = [batch.poured_at for batch in self.batches if batch.version == version]
            Version.objects.filter(pk=version.pk).update(pours=len(poured), poured_at=max(poured))

    def _plan(self) -> None:
        """Batches that wait on the bench, with their cards."""
        planned = Batch.objects.bulk_create(
            Batch(
                code=f"to-come-{number:02d}",
                version=self.versions[number % RECIPES],
                key=uuid4(),
                planned_by=self.by,
                bars_planned=BARS,
                frozen=self.model.frozen,
            )
            for number in range(OPEN)
        )
        Line.objects.bulk_create(line for batch in planned for line in self._card(batch, done=False))

    def _cure(self) -> list[Cure]:
        return Cure.objects.bulk_create(self._cure_of(batch) for batch in self.batches)

    def _cure_of(self, batch: Batch) -> Cure:
        age = (self.today - batch.planned_for).days
        started = batch.planned_for
        cured: dict[str, Any] = {}
        if batch.state == State.CUT:
            left = 0 if age > SOLD_OUT_AFTER else BARS - age % 4
            cured = {
                "cut_on": started + timedelta(days=1),
                "bars_cut": BARS,
                "bars_left": left,
                "trimmings": 40,
            }
        ready_on = started + timedelta(days=CURE_DAYS + 1)
        return Cure(batch=batch, cure_days=CURE_DAYS, started_on=started, ready_on=ready_on, **cured)

    def _card(self, batch: Batch, *, done: bool) -> list[Line]:
        return [
            Line(batch=batch, material=line.material, position=line.position, planned=line.planned, done=done)
            for line in self.lines
        ]

    def _weigh(self) -> None:
        """A weighing and a movement for each line, and the balances that follow."""
        lines = Line.objects.bulk_create(
            line for batch in self.batches for line in self._card(batch, done=True)
        )
        movements = Movement.objects.bulk_create(
            Movement(
                lot=self.lots[line.batch_id % DELIVERIES][line.material_id],
                quantity=-line.planned,
                kind=Movement.Kind.POURED,
                at=line.batch.poured_at,
                by=self.by,
                document=line.batch.code,
                key=str(uuid4()),
            )
            for line in lines
        )
        Weighing.objects.bulk_create(
            Weighing(
                line=line,
                lot=movement.lot,
                quantity=line.planned,
                at=movement.at,
                by=self.by,
                key=uuid4(),
                movement=movement,
            )
            for line, movement in zip(lines, movements, strict=True)
        )
        for lot in (lot for delivery in self.lots for lot in delivery.values()):
            taken = lot.movements.filter(quantity__lt=0).aggregate(total=Sum("quantity"))["total"]
            Lot.objects.filter(pk=lot.pk).update(on_hand=F("on_hand") + taken)

    def _note(self) -> None:
        """A photo note, two weigh-ins and a line of history for each batch."""
        photos = Photo.objects.bulk_create(
            Photo(
                full=f"photos/{cure.pk}.jpg",
                thumb=f"photos/{cure.pk}-thumb.jpg",
                width=1200,
                height=900,
                taken_at=at_ten(cure.started_on),
                added_by=self.by,
            )
            for cure in self.cures
        )
        CureNote.objects.bulk_create(
            CureNote(cure=cure, at=photo.taken_at, by=self.by, words="Light trace.", photo=photo, key=uuid4())
            for cure, photo in zip(self.cures, photos, strict=True)
        )
        WeighIn.objects.bulk_create(
            WeighIn(
                cure=cure, on=cure.cut_on + timedelta(days=days), grams=grams, bars=3, by=self.by, key=uuid4()
            )
            for cure in self.cures
            if cure.cut_on and (self.today - cure.cut_on).days > 7
            for days, grams in ((0, 420), (7, 401))
        )
        History.objects.bulk_create(
            History(by=self.by, subject=subject_of(batch), what=f"Poured {batch.code}", at=batch.poured_at)
            for batch in self.batches
        )

    def _sell(self) -> None:
        cut = [cure for cure in self.cures if cure.is_cut]
        given = [(cure, BARS, BarMovement.Kind.CUT) for cure in cut]
        sold = [(cure, cure.bars_left - BARS, BarMovement.Kind.SOLD) for cure in cut if cure.bars_left < BARS]
        BarMovement.objects.bulk_create(
            BarMovement(cure=cure, count=count, kind=kind, by=self.by, key=uuid4())
            for cure, count, kind in [*given, *sold]
        )


def at_ten(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time(10)))
