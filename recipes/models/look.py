"""The look of a version: the portions that its batter is split into, and what goes into each."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models import GRAMS, PERCENT, Material
from recipes.models.moulds import Mould
from recipes.models.version import Version
from shared.cross_section import Technique


class PortionBy(models.TextChoices):
    """How large a portion is, and what its amount means: %, grams, mm in the mould, or nothing."""

    SHARE = "share", _("Share of the batter")
    GRAMS = "grams", _("Weight")
    LAYER = "layer", _("Height of the layer")
    REST = "rest", _("The rest")


class Trace(models.TextChoices):
    """How thick the batter is when a portion is poured."""

    ANY = "", _("Any")
    EMULSION = "emulsion", _("Emulsion")
    LIGHT = "light", _("Light trace")
    MEDIUM = "medium", _("Medium trace")
    THICK = "thick", _("Thick trace")


class Destination(models.TextChoices):
    MOULD = "mould", _("This mould")
    OTHER = "other", _("Another mould")
    KEPT = "kept", _("Kept back")


class PortionManager(models.Manager["Portion"]):
    """A portion is never read without where it goes, so that its mould comes in the same query."""

    def get_queryset(self) -> models.QuerySet[Portion]:
        return super().get_queryset().select_related("other_mould")


class Portion(models.Model):
    """A part of the batter with a colour or scent of its own, in the order of pouring.

    `fragrance` is per cent of its own fats, shared among the fragrances of the recipe; none given is as the
    recipe says, 0 leaves it unscented. `colour` is how it looks in the bar; none given follows from what
    colours it.
    """

    version = models.ForeignKey(Version, models.CASCADE, related_name="portions")
    position = models.PositiveSmallIntegerField(default=0)
    name = models.CharField(max_length=40)
    size_by = models.CharField(max_length=5, choices=PortionBy, default=PortionBy.SHARE)
    size = models.DecimalField(**GRAMS, null=True, blank=True)
    colour = models.CharField(max_length=7, blank=True)
    fragrance = models.DecimalField(**PERCENT, null=True, blank=True)
    trace = models.CharField(max_length=8, choices=Trace, default=Trace.ANY, blank=True)
    technique = models.CharField(
        max_length=6, choices=[(one.value, _(one.label)) for one in Technique], default=Technique.LAYER
    )
    destination = models.CharField(max_length=5, choices=Destination, default=Destination.MOULD)
    other_mould = models.ForeignKey(Mould, models.PROTECT, null=True, blank=True, related_name="+")

    objects = PortionManager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint("version", "name", name="portion_name_once"),
            models.CheckConstraint(
                condition=Q(size_by=PortionBy.REST, size__isnull=True)
                | (Q(size__gt=0) & ~Q(size_by=PortionBy.REST)),
                name="portion_has_its_size",
            ),
            models.CheckConstraint(
                condition=Q(fragrance__isnull=True) | Q(fragrance__gte=Decimal(0), fragrance__lte=100),
                name="portion_fragrance_is_a_share",
            ),
            models.CheckConstraint(
                condition=Q(destination=Destination.OTHER) | Q(other_mould__isnull=True),
                name="portion_other_mould_where_it_goes",
            ),
        ]

    def __str__(self) -> str:
        return gettext("%(portion)s of %(version)s") % {"portion": self.name, "version": self.version_id}


class AmountBy(models.TextChoices):
    """What the amount of something that goes into one portion means.

    A spoon is 5 mL, weighed by the density of what is on it.
    """

    WEIGHT = "weight", _("% of the portion")
    FATS = "fats", _("% of its fats")
    SPOONS = "spoons", _("teaspoons to 1 kg of its fats")


class AdditionManager(models.Manager["Addition"]):
    """The same of what goes in and its material."""

    def get_queryset(self) -> models.QuerySet[Addition]:
        return super().get_queryset().select_related("material")


class Addition(models.Model):
    """A colour, fragrance or additive that goes into one portion."""

    portion = models.ForeignKey(Portion, models.CASCADE, related_name="additions")
    material = models.ForeignKey(Material, models.PROTECT, related_name="+")
    amount = models.DecimalField(max_digits=9, decimal_places=3)
    amount_by = models.CharField(max_length=6, choices=AmountBy, default=AmountBy.FATS)
    position = models.PositiveSmallIntegerField(default=0)

    objects = AdditionManager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint("portion", "material", name="addition_once_in_portion"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="addition_amount_positive"),
        ]

    def __str__(self) -> str:
        return gettext("%(material)s in %(portion)s") % {
            "material": self.material_id,
            "portion": self.portion_id,
        }
