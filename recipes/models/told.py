"""What the batches tell of the versions they were poured from. Recipes know nothing else of batches."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext

from inventory.models import GRAMS, MILLIMETRES
from recipes.models.moulds import Mould
from recipes.models.version import Recipe, Version
from shared.bar_picture import BarPicture
from soapshop.core.models import Photo

CODE_LENGTH = 20


class Fill(models.Model):
    """How high a batch of a recipe stood in a mould: it teaches how dense the batter is."""

    batch = models.CharField(max_length=CODE_LENGTH, unique=True)
    recipe = models.ForeignKey(Recipe, models.CASCADE, related_name="fills")
    mould = models.ForeignKey(Mould, models.CASCADE, related_name="fills")
    grams = models.DecimalField(**GRAMS)
    height = models.DecimalField(**MILLIMETRES)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(grams__gt=0, height__gt=0), name="fill_positive"),
        ]

    def __str__(self) -> str:
        return gettext("fill of %(batch)s") % {"batch": self.batch}


class Browned(models.Model):
    """How far the settled colour of a portion has darkened, in L*, with so many % of vanillin in the bar."""

    batch = models.CharField(max_length=CODE_LENGTH)
    portion = models.CharField(max_length=40, blank=True)
    vanillin = models.DecimalField(max_digits=7, decimal_places=4)
    darkening = models.DecimalField(max_digits=5, decimal_places=2)

    class Meta:
        verbose_name_plural = "browned portions"
        constraints = [models.UniqueConstraint("batch", "portion", name="browned_once")]

    def __str__(self) -> str:
        return gettext("colour of %(batch)s") % {"batch": self.batch}


class Outcome(models.Model):
    """What came of a version: the cut face of one of its batches, and what to do otherwise."""

    batch = models.CharField(max_length=CODE_LENGTH, unique=True)
    version = models.ForeignKey(Version, models.PROTECT, related_name="outcomes")
    picture = models.JSONField(help_text="The cross-section as it was meant.")
    photo = models.ForeignKey(Photo, models.PROTECT, null=True, blank=True, related_name="+")
    as_meant = models.TextField(max_length=2000, blank=True)
    otherwise = models.TextField(max_length=2000, blank=True)
    on = models.DateField(default=timezone.localdate)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(as_meant="") | ~Q(otherwise="") | Q(photo__isnull=False),
                name="outcome_says_something",
            ),
        ]

    def __str__(self) -> str:
        return gettext("what came of %(batch)s") % {"batch": self.batch}

    @property
    def meant(self) -> BarPicture | None:
        """The cross-section as it was meant; None of versions that tell of none."""
        return BarPicture.from_json(self.picture) if self.picture else None
