"""What the workshop makes itself, and what it has learnt of its fragrances from its batches."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext, ngettext

from inventory.models.kinds import GRAMS
from inventory.models.lots import Lot
from inventory.models.material import Material


class LotPart(models.Model):
    """What a lot that was made here holds of another, in grams or pieces for all of it as it was made."""

    lot = models.ForeignKey(Lot, models.CASCADE, related_name="parts")
    of = models.ForeignKey(Lot, models.PROTECT, related_name="went_into")
    quantity = models.DecimalField(**GRAMS)

    class Meta:
        ordering = ["lot", "id"]
        constraints = [
            models.UniqueConstraint("lot", "of", name="lot_part_once"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="lot_part_positive"),
            models.CheckConstraint(condition=~Q(lot=F("of")), name="lot_part_of_another"),
        ]

    def __str__(self) -> str:
        return gettext("%(part)s in %(lot)s") % {"part": self.of_id, "lot": self.lot_id}


class Behaviour(models.Model):
    """How a fragrance has behaved in the pours so far, as the batches tell it."""

    material = models.OneToOneField(Material, models.CASCADE, related_name="behaviour")
    batches = models.PositiveIntegerField()
    thickened = models.PositiveIntegerField(default=0)
    within_minutes = models.PositiveIntegerField(null=True, blank=True)
    riced = models.PositiveIntegerField(default=0)
    seized = models.PositiveIntegerField(default=0)
    overheated = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return gettext("behaviour of %(material)s") % {"material": self.material_id}

    @property
    def words(self) -> str | None:
        """The most serious of what happened, in one line; None before the first batch."""
        if not self.batches:
            return None
        figures = {"batches": self.batches, "minutes": self.within_minutes}
        for count, words in self._told():
            if count:
                return words % {**figures, "count": count}
        words = ngettext(
            "behaved well in %(batches)s batch", "behaved well in %(batches)s batches", self.batches
        )
        return words % figures

    def _told(self) -> list[tuple[int, str]]:
        """In how many batches each happened, and the words for it; the most serious first."""
        if self.within_minutes is None:
            thickened = ngettext(
                "thickened in %(count)s of %(batches)s batch",
                "thickened in %(count)s of %(batches)s batches",
                self.batches,
            )
        else:
            thickened = ngettext(
                "thickened within %(minutes)s min in %(count)s of %(batches)s batch",
                "thickened within %(minutes)s min in %(count)s of %(batches)s batches",
                self.batches,
            )
        seized = ngettext(
            "seized in %(count)s of %(batches)s batch",
            "seized in %(count)s of %(batches)s batches",
            self.batches,
        )
        overheated = ngettext(
            "overheated in %(count)s of %(batches)s batch",
            "overheated in %(count)s of %(batches)s batches",
            self.batches,
        )
        riced = ngettext(
            "riced in %(count)s of %(batches)s batch",
            "riced in %(count)s of %(batches)s batches",
            self.batches,
        )
        return [
            (self.seized, seized),
            (self.overheated, overheated),
            (self.riced, riced),
            (self.thickened, thickened),
        ]
