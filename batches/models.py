"""Batches: planned, weighed, poured, cut, cured; and the bars that come of them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Case, F, Q, Sum, When
from django.db.models.lookups import IsNull
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import GRAMS, Digits, Kind, Lot, Material, Movement
from recipes.models import Version
from soapshop.core.models import AppendOnlyQuerySet, Photo

SUPERFAT = Digits(max_digits=7, decimal_places=3)


class NumberSeries(models.Model):
    """The last batch number given out in a year. Locked while a number is drawn."""

    year = models.PositiveSmallIntegerField(primary_key=True)
    last = models.PositiveIntegerField(default=0)

    class Meta:
        verbose_name_plural = _("number series")

    def __str__(self) -> str:
        return f"{self.year}: {self.last}"


class State(models.TextChoices):
    PLANNED = "planned", _("Planned")
    POURED = "poured", _("Poured")
    CUT = "cut", _("Curing")
    DROPPED = "dropped", _("Dropped")
    UNDONE = "undone", _("Undone")


class BatchQuerySet(models.QuerySet["Batch"]):
    def open(self) -> BatchQuerySet:
        """Planned and not yet poured."""
        return self.filter(state=State.PLANNED)

    def on_the_rack(self) -> BatchQuerySet:
        return self.filter(state__in=[State.POURED, State.CUT])


class Batch(models.Model):
    """The batch record. What was shown when it was planned is frozen in it; no later edit changes it."""

    code = models.CharField(max_length=20, unique=True)
    version = models.ForeignKey(Version, models.PROTECT, related_name="batches")
    state = models.CharField(max_length=8, choices=State, default=State.PLANNED)
    key = models.UUIDField(unique=True, help_text=_("Made by the form that planned it."))
    planned_for = models.DateField(default=timezone.localdate)
    planned_at = models.DateTimeField(default=timezone.now, editable=False)
    planned_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    bars_planned = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(2000)]
    )
    frozen = models.JSONField(
        help_text=_("The recipe as it was planned: amounts, values with their source, limits, prices.")
    )

    lye_mixed_at = models.DateTimeField(null=True, blank=True)
    poured_at = models.DateTimeField(null=True, blank=True)
    poured_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    pour_key = models.UUIDField(unique=True, null=True, blank=True)
    superfat = models.DecimalField(**SUPERFAT, null=True, blank=True)
    superfat_likely_low = models.DecimalField(**SUPERFAT, null=True, blank=True)
    superfat_likely_high = models.DecimalField(**SUPERFAT, null=True, blank=True)
    superfat_worst = models.DecimalField(**SUPERFAT, null=True, blank=True)
    verdict = models.CharField(max_length=5, blank=True)
    stop_reason = models.CharField(
        max_length=400, blank=True, help_text=_("Why an owner let a 'stop' be poured.")
    )
    cost = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    note = models.TextField(max_length=2000, blank=True)
    closed_reason = models.CharField(max_length=400, blank=True, help_text=_("Why it was dropped or undone."))

    objects = BatchQuerySet.as_manager()

    class Meta:
        ordering = ["-planned_for", "-id"]
        verbose_name_plural = _("batches")
        indexes = [models.Index(fields=["state", "planned_for"], name="batch_by_state")]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=[State.PLANNED, State.DROPPED], poured_at__isnull=True)
                | Q(
                    state__in=[State.POURED, State.CUT, State.UNDONE],
                    poured_at__isnull=False,
                    poured_by__isnull=False,
                ),
                name="batch_poured_has_time_and_person",
            ),
            models.CheckConstraint(
                condition=~Q(verdict="stop") | ~Q(stop_reason=""), name="batch_stop_has_reason"
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def is_open(self) -> bool:
        return self.state == State.PLANNED


class Line(models.Model):
    """A material on the batch card with the weight that was planned."""

    batch = models.ForeignKey(Batch, models.CASCADE, related_name="lines")
    material = models.ForeignKey(Material, models.PROTECT, related_name="+")
    position = models.PositiveSmallIntegerField()
    planned = models.DecimalField(**GRAMS)
    done = models.BooleanField(default=False, help_text=_("Nothing more is to be weighed for it."))
    extra = models.BooleanField(default=False, help_text=_("Added at the bench beyond the plan."))

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint("batch", "material", name="line_once_in_batch"),
            models.CheckConstraint(condition=Q(planned__gt=0), name="line_planned_positive"),
        ]

    def __str__(self) -> str:
        return gettext("%(material)s for %(batch)s") % {"material": self.material, "batch": self.batch}

    @property
    def kind(self) -> Kind:
        return Kind(self.material.kind)

    @property
    def before_the_lye(self) -> bool:
        """Whether it is weighed before the lye is mixed: what reacts, and the liquid for the lye."""
        return self.kind in (Kind.FAT, Kind.LIQUID, Kind.ALKALI)


class WeighingQuerySet(models.QuerySet["Weighing"]):
    def in_vessel(self, batch_id: int, kind: Kind) -> Decimal:
        """Grams that were weighed on top of each other: fats in the pot, liquids in the jug."""
        there = self.filter(line__batch=batch_id, line__material__kind=kind, on_top=True)
        return Decimal(there.aggregate(total=Sum("quantity", default=Decimal(0)))["total"])


class Weighing(models.Model):
    """What the scale showed for a line, out of one lot. A line that empties a lot has several."""

    line = models.ForeignKey(Line, models.CASCADE, related_name="weighings")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="weighings")
    quantity = models.DecimalField(**GRAMS)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    key = models.UUIDField(unique=True)
    on_top = models.BooleanField(
        default=False, help_text=_("Weighed on top of what was in the vessel, without zeroing the scale.")
    )
    movement = models.OneToOneField(
        Movement,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="weighing",
        help_text=_("Booked when it was poured."),
    )

    objects = WeighingQuerySet.as_manager()

    class Meta:
        ordering = ["at", "id"]
        constraints = [models.CheckConstraint(condition=Q(quantity__gt=0), name="weighing_positive")]

    def __str__(self) -> str:
        return gettext("%(quantity)s of %(lot)s") % {"quantity": self.quantity, "lot": self.lot}


class Event(models.Model):
    """What was seen, measured or said at the bench, with its time."""

    class Kind(models.TextChoices):
        EMULSION = "emulsion", _("Emulsion")
        LIGHT_TRACE = "light_trace", _("Light trace")
        MEDIUM_TRACE = "medium_trace", _("Medium trace")
        THICK_TRACE = "thick_trace", _("Thick trace")
        FALSE_TRACE = "false_trace", _("False trace")
        ACCELERATION = "acceleration", _("Acceleration")
        RICING = "ricing", _("Ricing")
        SEIZING = "seizing", _("Seizing")
        OVERHEATING = "overheating", _("Overheating")
        GEL = "gel", _("Gel phase")
        LYE_TEMPERATURE = "lye_temperature", _("Lye")
        FATS_TEMPERATURE = "fats_temperature", _("Fats")
        ROOM_TEMPERATURE = "room_temperature", _("Room")
        NOTE = "note", _("Note")

    TEMPERATURES = (Kind.LYE_TEMPERATURE, Kind.FATS_TEMPERATURE, Kind.ROOM_TEMPERATURE)

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="events")
    kind = models.CharField(max_length=20, choices=Kind)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    celsius = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    words = models.TextField(max_length=2000, blank=True)
    photo = models.OneToOneField(Photo, models.PROTECT, null=True, blank=True, related_name="event")
    key = models.UUIDField(unique=True)

    class Meta:
        ordering = ["at", "id"]
        indexes = [models.Index(fields=["batch", "at"], name="event_of_batch")]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    kind__in=["lye_temperature", "fats_temperature", "room_temperature"],
                    celsius__isnull=False,
                )
                | (
                    ~Q(kind__in=["lye_temperature", "fats_temperature", "room_temperature"])
                    & Q(celsius__isnull=True)
                ),
                name="event_temperature_has_celsius",
            ),
            models.CheckConstraint(
                condition=~Q(kind="note") | ~Q(words="") | Q(photo__isnull=False),
                name="event_note_says_or_shows_something",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.batch_id}"

    @property
    def is_temperature(self) -> bool:
        return self.celsius is not None


class Deed(models.Model):
    """Something that was done at the bench on a phone without network, and has arrived since.

    Its key, made on the phone, makes it count once however often it is sent.
    """

    key = models.UUIDField(unique=True)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="deeds")
    kind = models.CharField(max_length=12)
    content = models.JSONField(default=dict, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    done_at = models.DateTimeField(help_text=_("By the clock of the phone."))
    received_at = models.DateTimeField(default=timezone.now)
    set_aside = models.BooleanField(
        default=False, help_text=_("Kept in the record only, by the maker's choice: the book had moved on.")
    )
    words = models.TextField(
        blank=True, help_text=_("What was set aside, in words, as materials and lots were called then.")
    )
    photo = models.OneToOneField(Photo, models.PROTECT, null=True, blank=True, related_name="deed")

    class Meta:
        ordering = ["received_at", "id"]

    def __str__(self) -> str:
        return f"{self.kind}, {self.batch_id}"


class CureQuerySet(models.QuerySet["Cure"]):
    def on_the_rack(self, today: date) -> CureQuerySet:
        """Still to be cut, or cut and not ready with bars left; in that order, then by the day due."""
        curing = Q(cut_on__isnull=True) | Q(ready_on__gt=today, bars_left__gt=0)
        due = Case(When(cut_on__isnull=True, then="started_on"), default="ready_on")
        return self.filter(curing, ended_at__isnull=True).order_by(
            IsNull(F("cut_on"), True).desc(), due, "id"
        )

    def ready(self, today: date) -> CureQuerySet:
        """Ready to sell, with bars left."""
        return self.filter(ended_at__isnull=True, ready_on__lte=today, bars_left__gt=0)


class Cure(models.Model):
    """The cure record of a batch, opened by the pour."""

    batch = models.OneToOneField(Batch, models.PROTECT, related_name="cure")
    cure_days = models.PositiveSmallIntegerField()
    started_on = models.DateField(help_text=_("The day of the pour."))
    ready_on = models.DateField()
    unmoulded_on = models.DateField(null=True, blank=True)
    turned_on = models.DateField(null=True, blank=True, help_text=_("When the bars were turned last."))
    cut_on = models.DateField(null=True, blank=True)
    bars_cut = models.PositiveSmallIntegerField(null=True, blank=True)
    trimmings = models.DecimalField(**GRAMS, null=True, blank=True)
    bars_left = models.PositiveSmallIntegerField(default=0, editable=False)
    place = models.CharField(max_length=40, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True, help_text=_("When the pour was undone."))

    objects = CureQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["ended_at", "ready_on"], name="cure_by_ready_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(cut_on__isnull=True, bars_cut__isnull=True)
                | Q(cut_on__isnull=False, bars_cut__isnull=False, trimmings__gte=0),
                name="cure_cut_has_bars",
            ),
        ]

    def __str__(self) -> str:
        return gettext("cure of %(batch)s") % {"batch": self.batch}

    @property
    def is_cut(self) -> bool:
        return self.cut_on is not None


class CureNote(models.Model):
    """Words, a picture or both, on a day of the cure."""

    cure = models.ForeignKey(Cure, models.PROTECT, related_name="notes")
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    words = models.TextField(max_length=2000, blank=True)
    photo = models.OneToOneField(Photo, models.PROTECT, null=True, blank=True, related_name="note")
    key = models.UUIDField(unique=True)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(words="") | Q(photo__isnull=False), name="note_says_or_shows_something"
            )
        ]

    def __str__(self) -> str:
        return gettext("note on %(cure)s") % {"cure": self.cure_id}


class WeighIn(models.Model):
    """The weight of some bars on a day of the cure."""

    cure = models.ForeignKey(Cure, models.PROTECT, related_name="weigh_ins")
    on = models.DateField(default=timezone.localdate)
    grams = models.DecimalField(**GRAMS)
    bars = models.PositiveSmallIntegerField(default=1, help_text=_("How many bars lay on the scale."))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    key = models.UUIDField(unique=True)

    class Meta:
        ordering = ["on", "id"]
        constraints = [models.CheckConstraint(condition=Q(grams__gt=0, bars__gt=0), name="weigh_in_positive")]

    def __str__(self) -> str:
        return gettext("%(grams)s g on %(day)s") % {"grams": self.grams, "day": self.on}

    @property
    def bar_weight(self) -> Decimal:
        return self.grams / self.bars


class BarMovementQuerySet(AppendOnlyQuerySet["BarMovement"]):
    def total(self) -> int:
        return int(self.aggregate(total=Sum("count", default=0))["total"])


class BarMovement(models.Model):
    """One line of the ledger of bars: what a batch gave to the shelf (above zero) or lost from it (below)."""

    class Kind(models.TextChoices):
        CUT = "cut", _("Cut")
        SOLD = "sold", _("Sold")
        GIVEN = "given", _("Given away")
        SAMPLE = "sample", _("Kept as sample")
        WASTED = "wasted", _("Thrown away")
        CORRECTED = "corrected", _("Counted again")
        REVERSED = "reversed", _("Reversed")

    cure = models.ForeignKey(Cure, models.PROTECT, related_name="bar_movements")
    count = models.IntegerField()
    kind = models.CharField(max_length=10, choices=Kind)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    reason = models.CharField(max_length=400, blank=True)
    reverses = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="reversed_by")
    key = models.UUIDField(unique=True)

    objects = BarMovementQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [models.CheckConstraint(condition=~Q(count=0), name="bar_movement_moves_something")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.count}"
