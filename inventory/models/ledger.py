"""The ledger of what came in and went out."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inventory.models.kinds import GRAMS
from inventory.models.lots import Lot
from soapshop.core.models import AppendOnlyQuerySet


class Movement(models.Model):
    """One line of the ledger: what a lot gained (above zero) or lost (below)."""

    class Kind(models.TextChoices):
        RECEIVED = "received", _("Received")
        MADE = "made", _("Made here")
        POURED = "poured", _("Poured")
        CORRECTED = "corrected", _("Corrected")
        WASTED = "wasted", _("Wasted")
        REVERSED = "reversed", _("Reversed")

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="movements")
    quantity = models.DecimalField(**GRAMS)
    kind = models.CharField(max_length=10, choices=Kind)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    document = models.CharField(
        max_length=80, blank=True, help_text=_("What it belongs to, such as a batch code.")
    )
    reason = models.CharField(max_length=400, blank=True)
    reverses = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="reversed_by", editable=False
    )
    key = models.CharField(
        max_length=80, unique=True, help_text=_("Names the deed, so that one sent twice counts once.")
    )

    objects = AppendOnlyQuerySet["Movement"].as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [
            models.Index(fields=["lot", "-at"], name="movement_of_lot"),
            models.Index(fields=["-at"], name="movement_by_time"),
        ]
        constraints = [
            models.CheckConstraint(condition=~Q(quantity=0), name="movement_moves_something"),
            models.CheckConstraint(
                condition=Q(kind="reversed", reverses__isnull=False)
                | (~Q(kind="reversed") & Q(reverses__isnull=True)),
                name="movement_reversal_names_its_origin",
            ),
            models.CheckConstraint(
                condition=~Q(kind__in=["corrected", "wasted", "reversed"]) | ~Q(reason=""),
                name="movement_change_has_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.quantity} of {self.lot_id}"

    @property
    def can_be_taken_back(self) -> bool:
        """By hand and once. What a batch took comes back through the batch. Fetch with `reversed_by`."""
        by_hand = {Movement.Kind.RECEIVED, Movement.Kind.CORRECTED, Movement.Kind.WASTED}
        return self.kind in by_hand and not hasattr(self, "reversed_by")
