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

from batches.models.batch import Batch, Jug
from inventory.models import GRAMS, MILLIMETRES, Digits
from soapshop.core.models import AppendOnlyQuerySet, Photo

PLACE = Digits(max_digits=5, decimal_places=4)
LAB = Digits(max_digits=6, decimal_places=2)


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
    filled_height = models.DecimalField(
        **MILLIMETRES, null=True, blank=True, help_text=_("How high the batter stood in the mould.")
    )
    started_on = models.DateField(help_text=_("The day of the pour."))
    ready_on = models.DateField()
    unmoulded_on = models.DateField(null=True, blank=True)
    turned_on = models.DateField(null=True, blank=True, help_text=_("When the bars were turned last."))
    cut_on = models.DateField(null=True, blank=True)
    bars_cut = models.PositiveSmallIntegerField(null=True, blank=True)
    trimmings = models.DecimalField(**GRAMS, null=True, blank=True)
    bars_weight = models.DecimalField(
        **GRAMS, null=True, blank=True, help_text=_("Of all bars together, fresh from the cut.")
    )
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


class Scent(models.TextChoices):
    GONE = "gone", _("Gone")
    FAINT = "faint", _("Faint")
    CLEAR = "clear", _("Clear")
    STRONG = "strong", _("Strong")


class CureNote(models.Model):
    """Words, a picture, how strong the scent is, or all of it, on a day of the cure."""

    cure = models.ForeignKey(Cure, models.PROTECT, related_name="notes")
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    words = models.TextField(max_length=2000, blank=True)
    photo = models.OneToOneField(Photo, models.PROTECT, null=True, blank=True, related_name="note")
    scent = models.CharField(max_length=6, choices=Scent, blank=True)
    key = models.UUIDField(unique=True)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(words="") | Q(photo__isnull=False) | ~Q(scent=""),
                name="note_says_or_shows_something",
            )
        ]

    def __str__(self) -> str:
        return gettext("note on %(cure)s") % {"cure": self.cure_id}


class ColourReading(models.Model):
    """The colour of a portion in a photo, measured beside a white or grey card that lies in it.

    Places are shares of the picture's width and height from its top left; the colour is CIELAB (D65).
    """

    class Card(models.TextChoices):
        WHITE = "white", _("White card")
        GREY = "grey", _("Grey card")

    note = models.ForeignKey(CureNote, models.CASCADE, related_name="readings")
    jug = models.ForeignKey(
        Jug, models.CASCADE, null=True, blank=True, related_name="readings", help_text=_("None: the bar.")
    )
    card = models.CharField(max_length=5, choices=Card, default=Card.WHITE)
    card_x = models.DecimalField(**PLACE)
    card_y = models.DecimalField(**PLACE)
    x = models.DecimalField(**PLACE)
    y = models.DecimalField(**PLACE)
    lightness = models.DecimalField(**LAB)
    a = models.DecimalField(**LAB)
    b = models.DecimalField(**LAB)
    at = models.DateTimeField(default=timezone.now, editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["note", "id"]
        constraints = [
            models.UniqueConstraint("note", "jug", name="reading_once_in_photo"),
            models.UniqueConstraint("note", condition=Q(jug__isnull=True), name="reading_of_bar_once"),
            models.CheckConstraint(
                condition=Q(lightness__gte=0, lightness__lte=100), name="reading_lightness_in_range"
            ),
            models.CheckConstraint(
                condition=Q(x__gte=0, x__lte=1, y__gte=0, y__lte=1, card_x__gte=0, card_x__lte=1)
                & Q(card_y__gte=0, card_y__lte=1),
                name="reading_places_in_photo",
            ),
        ]

    def __str__(self) -> str:
        return gettext("colour in %(note)s") % {"note": self.note_id}


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
        EMBEDS = "embeds", _("Made into embeds")
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
