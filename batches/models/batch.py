"""Batches: planned, weighed, poured."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q, Sum
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import GRAMS, Digits, Kind, Lot, Material, Movement
from recipes.models import Destination, Stage, Version

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

    picture = models.JSONField(
        default=dict,
        blank=True,
        help_text=_("What a cut bar shows: as planned, then as poured, then as the colours turn."),
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
    stage = models.CharField(max_length=5, choices=Stage, default=Stage.USUAL, blank=True)
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
        """Whether it is weighed before the lye is mixed: what reacts, and what goes into the lye."""
        usual = self.kind in (Kind.FAT, Kind.LIQUID, Kind.ALKALI)
        return self.stage == Stage.LYE if self.stage else usual


class Jug(models.Model):
    """A portion of a batch: what was planned of the batter for it, and what the scale showed.

    What goes in with it is weighed with the jug; what it is made of stands in the frozen recipe. `grams` is
    the batter alone.
    """

    batch = models.ForeignKey(Batch, models.CASCADE, related_name="jugs")
    name = models.CharField(max_length=40)
    position = models.PositiveSmallIntegerField()
    planned = models.DecimalField(**GRAMS, null=True, help_text=_("None for one added at the bench."))
    destination = models.CharField(max_length=5, choices=Destination, default=Destination.MOULD)
    colour = models.CharField(max_length=7, blank=True, help_text=_("How it is to look in the bar."))
    grams = models.DecimalField(**GRAMS, null=True, blank=True, help_text=_("Batter that went in."))
    filled_at = models.DateTimeField(null=True, blank=True)
    filled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    key = models.UUIDField(unique=True, null=True, blank=True, help_text=_("Names the filling."))
    dropped = models.BooleanField(default=False, help_text=_("Left out at the bench."))
    lot = models.OneToOneField(
        Lot,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="jug",
        help_text=_("What was kept back of it, once it was poured."),
    )

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint("batch", "name", name="jug_name_once"),
            models.CheckConstraint(
                condition=Q(grams__isnull=True, filled_at__isnull=True)
                | Q(grams__gt=0, filled_at__isnull=False),
                name="jug_filled_has_time",
            ),
            models.CheckConstraint(
                condition=Q(planned__isnull=True) | Q(planned__gt=0), name="jug_planned_positive"
            ),
            models.CheckConstraint(
                condition=Q(dropped=False) | Q(grams__isnull=True), name="jug_dropped_is_empty"
            ),
        ]

    def __str__(self) -> str:
        return gettext("%(jug)s of %(batch)s") % {"jug": self.name, "batch": self.batch_id}

    @property
    def is_open(self) -> bool:
        return self.grams is None and not self.dropped


class WeighingQuerySet(models.QuerySet["Weighing"]):
    def in_vessel(self, batch_id: int, kind: Kind) -> Decimal:
        """Grams that were weighed on top of each other: fats in the pot, liquids in the jug."""
        there = self.filter(line__batch=batch_id, line__material__kind=kind, line__stage="", on_top=True)
        return Decimal(there.aggregate(total=Sum("quantity", default=Decimal(0)))["total"])


class Weighing(models.Model):
    """What the scale showed for a line, out of one lot. A line that empties a lot has several."""

    line = models.ForeignKey(Line, models.CASCADE, related_name="weighings")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="weighings")
    quantity = models.DecimalField(**GRAMS)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    key = models.UUIDField(unique=True)
    jug = models.ForeignKey(
        Jug, models.PROTECT, null=True, blank=True, related_name="weighings", help_text=_("Where it went in.")
    )
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
