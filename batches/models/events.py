"""What was seen at the bench, and what was done there without network."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from batches.models.batch import Batch
from soapshop.core.models import Photo


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
