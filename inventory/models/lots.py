"""Deliveries, and the lots on the shelf."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models.kinds import GRAMS, PERCENT, SAP_VALUE
from inventory.models.material import Material, Supplier
from shared.saponification import Sap


class Delivery(models.Model):
    """What a supplier brought on one day."""

    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="deliveries")
    received_on = models.DateField(default=timezone.localdate)
    reference = models.CharField(_("invoice or order number"), max_length=60, blank=True)
    key = models.UUIDField(unique=True, help_text=_("Made by the form, so that one sent twice counts once."))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-received_on", "-id"]
        verbose_name_plural = _("deliveries")

    def __str__(self) -> str:
        return f"{self.supplier}, {self.received_on:%d %b %Y}"


class LotQuerySet(models.QuerySet["Lot"]):
    def to_use_first(self) -> LotQuerySet:
        """In the order in which lots should go: first to expire, then first received."""
        return self.order_by(F("best_before").asc(nulls_last=True), "received_on", "id")

    def in_stock(self) -> LotQuerySet:
        return self.filter(on_hand__gt=0)

    def usable_on(self, day: date) -> LotQuerySet:
        """Holding something, and not past its best-before on that day."""
        return self.in_stock().filter(Q(best_before__isnull=True) | Q(best_before__gte=day))

    def expiring_by(self, day: date) -> LotQuerySet:
        return self.in_stock().filter(best_before__lte=day)


class Lot(models.Model):
    """One container or delivery line of a material. `on_hand` is kept equal to the sum of its movements."""

    material = models.ForeignKey(Material, models.PROTECT, related_name="lots")
    delivery = models.ForeignKey(Delivery, models.PROTECT, null=True, blank=True, related_name="lots")
    code = models.CharField(max_length=40, unique=True)
    supplier_code = models.CharField(_("supplier's lot number"), max_length=60, blank=True)
    received_on = models.DateField(default=timezone.localdate)
    best_before = models.DateField(null=True, blank=True)
    place = models.CharField(max_length=40, blank=True)
    quantity = models.DecimalField(**GRAMS, help_text=_("As received, in grams or pieces."))
    cost = models.DecimalField(
        max_digits=12, decimal_places=2, help_text=_("For the whole lot, in the workshop's currency.")
    )
    on_hand = models.DecimalField(**GRAMS, default=Decimal(0), editable=False)

    # What the supplier's certificate says of this lot; it goes before the reference.
    sap = models.DecimalField(_("saponification value"), **SAP_VALUE, null=True, blank=True)
    sap_uncertainty = models.DecimalField(**SAP_VALUE, null=True, blank=True)
    purity = models.DecimalField(**PERCENT, null=True, blank=True)
    purity_uncertainty = models.DecimalField(**PERCENT, null=True, blank=True)
    note = models.TextField(max_length=2000, blank=True)

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["-received_on", "-id"]
        indexes = [
            models.Index(fields=["material", "best_before", "received_on"], name="lot_use_first"),
            models.Index(fields=["best_before"], condition=Q(on_hand__gt=0), name="lot_in_stock_expiry"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="lot_never_below_zero"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="lot_quantity_positive"),
            models.CheckConstraint(condition=Q(cost__gte=0), name="lot_cost_not_negative"),
            models.CheckConstraint(
                condition=Q(sap__isnull=True) | Q(sap__gt=0, sap_uncertainty__gte=0),
                name="lot_sap_has_uncertainty",
            ),
            models.CheckConstraint(
                condition=Q(purity__isnull=True)
                | Q(purity__gt=0, purity__lte=100, purity_uncertainty__gte=0),
                name="lot_purity_has_uncertainty",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def unit_cost(self) -> Decimal:
        """Cost of a gram (or piece), unrounded."""
        return self.cost / self.quantity

    def expired_on(self, day: date) -> bool:
        return self.best_before is not None and self.best_before < day

    def expires_within(self, days: int) -> bool:
        return self.best_before is not None and self.best_before <= timezone.localdate() + timedelta(
            days=days
        )

    @property
    def saponification_value(self) -> Sap | None:
        """The certificate's value where the lot has one, else the material's; None where neither has."""
        if self.sap is None or self.sap_uncertainty is None:
            return self.material.sap
        return Sap.certificate(
            float(self.sap),
            float(self.sap_uncertainty),
            gettext("certificate of lot %(lot)s") % {"lot": self.code},
        )

    @property
    def purity_range(self) -> tuple[float, float] | None:
        """The certificate's alkali content in per cent where the lot has one, else the material's."""
        if self.purity is not None and self.purity_uncertainty is not None:
            low, high = self.purity - self.purity_uncertainty, self.purity + self.purity_uncertainty
            return float(max(low, Decimal(1))), float(min(high, Decimal(100)))
        return self.material.purity_range
