"""The moulds that the workshop has."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _

from inventory.models import MILLIMETRES
from shared.moulds import Vessel, box, tube, weighed_with_water


class Shape(models.TextChoices):
    LOAF = "loaf", _("Loaf")
    SLAB = "slab", _("Slab")
    TUBE = "tube", _("Tube")
    CAVITIES = "cavities", _("Cavities")
    OTHER = "other", _("Any shape, filled with water")


class Mould(models.Model):
    """A mould and how what comes out of it is usually cut. Inner sides in mm; `liner` is taken off each side.

    A loaf and a slab have length and width, a tube has a diameter and stands upright, cavities hold so many
    millilitres each and any other shape so many in all, as weighed with water. All have a depth.
    """

    name = models.CharField(max_length=60)
    shape = models.CharField(max_length=8, choices=Shape, default=Shape.LOAF)
    length = models.DecimalField(**MILLIMETRES, null=True, blank=True)
    width = models.DecimalField(**MILLIMETRES, null=True, blank=True)
    depth = models.DecimalField(**MILLIMETRES)
    diameter = models.DecimalField(**MILLIMETRES, null=True, blank=True)
    cavities = models.PositiveSmallIntegerField(null=True, blank=True)
    millilitres = models.DecimalField(max_digits=9, decimal_places=1, null=True, blank=True)
    liner = models.DecimalField(**MILLIMETRES, default=Decimal(0))

    # The cut: bars of a loaf or tube along its length; a slab has rows across its width as well.
    bars = models.PositiveSmallIntegerField(
        default=10, validators=[MinValueValidator(1), MaxValueValidator(2000)]
    )
    rows = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    trim = models.DecimalField(**MILLIMETRES, default=Decimal(0), help_text=_("Cut off each end."))
    kerf = models.DecimalField(**MILLIMETRES, default=Decimal(0), help_text=_("What one cut takes."))
    note = models.TextField(max_length=2000, blank=True)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = [Lower("name")]
        constraints = [
            models.UniqueConstraint(Lower("name"), name="mould_name_once"),
            models.CheckConstraint(condition=Q(depth__gt=0), name="mould_depth_positive"),
            models.CheckConstraint(
                condition=Q(shape__in=[Shape.LOAF, Shape.SLAB], length__gt=0, width__gt=0)
                | Q(shape=Shape.TUBE, diameter__gt=0)
                | Q(shape=Shape.CAVITIES, cavities__gt=0, millilitres__gt=0)
                | Q(shape=Shape.OTHER, millilitres__gt=0),
                name="mould_shape_has_its_sides",
            ),
            models.CheckConstraint(
                condition=Q(liner__gte=0, trim__gte=0, kerf__gte=0, bars__gte=1, rows__gte=1),
                name="mould_cut_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_cut_across(self) -> bool:
        """Whether every bar shows all layers: those of a tube are discs of it, cavities are poured singly."""
        return self.shape in (Shape.LOAF, Shape.SLAB)

    @property
    def vessel(self) -> Vessel:
        """Its inside, within the liner. Raises MouldError where the liner leaves nothing."""
        depth, liner = float(self.depth), float(self.liner)
        if self.shape == Shape.TUBE:
            return tube(float(self.diameter or 0), depth, liner_mm=liner)
        if self.shape in (Shape.LOAF, Shape.SLAB):
            return box(float(self.length or 0), float(self.width or 0), depth, liner_mm=liner)
        return weighed_with_water(float(self.millilitres or 0) * (self.cavities or 1), depth)
