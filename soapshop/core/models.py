"""Who works here, the workshop's settings, its photos and documents, and who did what when."""

import secrets
import uuid
from decimal import Decimal
from typing import Any, NoReturn, TypeVar
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import AbstractUser
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

Row = TypeVar("Row", bound=models.Model, covariant=True)


class AppendOnlyQuerySet(models.QuerySet[Row]):
    """Of a ledger: a wrong movement is reversed by its opposite, never edited."""

    def update(self, **kwargs: Any) -> NoReturn:
        raise TypeError("A movement is never edited; reverse it.")

    def delete(self) -> NoReturn:
        raise TypeError("A movement is never deleted; reverse it.")


class Role(models.TextChoices):
    OWNER = "owner", _("Owner")
    MAKER = "maker", _("Maker")
    VIEWER = "viewer", _("Viewer")


class User(AbstractUser):
    """A person of the workshop. Owners run it, makers work in it, viewers look."""

    first_name = None  # type: ignore[assignment]
    last_name = None  # type: ignore[assignment]
    name = models.CharField(max_length=80, blank=True)
    role = models.CharField(max_length=10, choices=Role, default=Role.VIEWER)

    class Meta(AbstractUser.Meta):
        ordering = ["username"]
        constraints = [models.CheckConstraint(condition=Q(role__in=Role.values), name="user_role_known")]

    def __str__(self) -> str:
        return self.name or self.username

    def get_full_name(self) -> str:
        return str(self)

    def get_short_name(self) -> str:
        return str(self)

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER

    @property
    def is_maker(self) -> bool:
        """Whether they may change anything at the bench: owners are makers too."""
        return self.role in {Role.OWNER, Role.MAKER}


class Units(models.TextChoices):
    METRIC = "metric", _("Grams and kilograms")
    US = "us", _("Ounces and pounds")


class Region(models.TextChoices):
    """Where the bars are sold: whose rules a label follows."""

    AU = "AU", _("Australia")
    CA = "CA", _("Canada")
    EU = "EU", _("European Union")
    NZ = "NZ", _("New Zealand")
    UK = "UK", _("United Kingdom")
    US = "US", _("United States")


def new_secret() -> str:
    """A secret part of an address that nobody guesses (256 bits)."""
    return secrets.token_urlsafe(32)


class Workshop(models.Model):
    """The one row of workshop settings."""

    SINGLE = 1

    name = models.CharField(max_length=80, default="Our workshop")
    invented = models.BooleanField(default=False, help_text=_("A demo workshop, said so on every page."))
    address = models.TextField(max_length=400, blank=True)
    label_region = models.CharField(max_length=2, choices=Region, default=Region.EU)
    currency = models.CharField(max_length=3, default="EUR")
    units = models.CharField(max_length=6, choices=Units, default=Units.METRIC)
    time_zone = models.CharField(max_length=64, default="UTC")
    cure_days = models.PositiveSmallIntegerField(
        default=28, validators=[MinValueValidator(1), MaxValueValidator(730)]
    )
    cure_days_olive = models.PositiveSmallIntegerField(
        default=180,
        validators=[MinValueValidator(1), MaxValueValidator(730)],
        help_text=_("For soap very high in olive oil."),
    )
    cure_days_potash = models.PositiveSmallIntegerField(
        default=14,
        validators=[MinValueValidator(1), MaxValueValidator(730)],
        help_text=_("For soap made with potassium hydroxide."),
    )
    turn_every = models.PositiveSmallIntegerField(
        default=7, validators=[MaxValueValidator(90)], help_text=_("Days; 0 for never.")
    )
    weigh_in_every = models.PositiveSmallIntegerField(
        default=7, validators=[MaxValueValidator(90)], help_text=_("Days; 0 for never.")
    )
    scale_step = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(100))],
        help_text=_("The smallest step of the scale, in grams."),
    )
    fine_scale_step = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(100))],
        help_text=_("The step of a second, finer scale, in grams."),
    )
    fine_scale_up_to = models.DecimalField(
        max_digits=7,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(20000))],
        help_text=_("The most, in grams, that is weighed on the finer scale."),
    )
    watch_from = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("0.10"),
        help_text=_("Chance of a lye-heavy batch, in per cent, from which the word is 'watch'."),
    )
    stop_from = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("15.00"),
        help_text=_("Chance of a lye-heavy batch, in per cent, above which the word is 'stop'."),
    )
    expiry_warning_days = models.PositiveSmallIntegerField(
        default=60, validators=[MinValueValidator(1), MaxValueValidator(730)]
    )
    calendar_secret = models.CharField(max_length=64, default=new_secret, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="workshop_is_one"),
            models.CheckConstraint(
                condition=Q(watch_from__gt=0)
                & Q(stop_from__gt=models.F("watch_from"))
                & Q(stop_from__lte=50),
                name="workshop_bounds_in_order",
            ),
            models.CheckConstraint(condition=Q(scale_step__gt=0), name="workshop_scale_step_positive"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def step_for(self, grams: Decimal | float) -> Decimal:
        """The step of the scale on which so many grams are weighed."""
        if self.fine_scale_step and self.fine_scale_up_to and grams <= self.fine_scale_up_to:
            return self.fine_scale_step
        return self.scale_step


class Photo(models.Model):
    """A picture, re-encoded, upright, without position data; served only to the signed-in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    full = models.FileField(upload_to="photos/%Y/%m/", max_length=200)
    thumb = models.FileField(upload_to="photos/%Y/%m/", max_length=200)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    taken_at = models.DateTimeField(help_text=_("From the camera where it says so, else when it arrived."))
    added_at = models.DateTimeField(default=timezone.now, editable=False)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"photo of {self.taken_at:%d %b %Y}"


class Document(models.Model):
    """A certificate or the like as its sender made it: a PDF file, or a picture; only for the signed-in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120, help_text=_("Of the file, as it came."))
    file = models.FileField(upload_to="documents/%Y/%m/", max_length=200, blank=True)
    photo = models.OneToOneField(Photo, models.PROTECT, null=True, blank=True, related_name="document")
    added_at = models.DateTimeField(default=timezone.now, editable=False)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(photo__isnull=True) & ~Q(file="") | Q(photo__isnull=False, file=""),
                name="document_is_file_or_photo",
            )
        ]

    def __str__(self) -> str:
        return self.name


class History(models.Model):
    """Who did what to which thing, in words; written by services, never changed."""

    at = models.DateTimeField(default=timezone.now, editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    subject = models.CharField(max_length=80, help_text=_("app.model:id, so that a row outlives its thing."))
    what = models.CharField(max_length=400)
    detail = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        verbose_name_plural = "history"
        indexes = [models.Index(fields=["subject", "-at"], name="history_of_subject")]

    def __str__(self) -> str:
        return self.what
