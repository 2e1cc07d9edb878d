"""The cure of a batch, and the bars that come of it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Case, F, Q, Sum, When
from django.db.models.lookups import IsNull
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from batches.models.batch import Batch
from inventory.models import GRAMS
from soapshop.core.models import AppendOnlyQuerySet, Photo


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
