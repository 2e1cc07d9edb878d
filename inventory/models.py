"""Materials, who sells them, the lots on the shelf, and the ledger of what came in and went out."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import TypedDict

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shared.chemistry import AcidKind, AlkaliKind
from shared.saponification import Sap
from soapshop.core.models import AppendOnlyQuerySet


class Digits(TypedDict):
    """How many digits a column keeps."""

    max_digits: int
    decimal_places: int


GRAMS = Digits(max_digits=12, decimal_places=2)
PERCENT = Digits(max_digits=6, decimal_places=3)
SAP_VALUE = Digits(max_digits=6, decimal_places=2)


class Kind(models.TextChoices):
    FAT = "fat", _("Fat or oil")
    ALKALI = "alkali", _("Alkali")
    LIQUID = "liquid", _("Liquid")
    FRAGRANCE = "fragrance", _("Fragrance or essential oil")
    COLOUR = "colour", _("Colour")
    ADDITIVE = "additive", _("Additive")
    PACKAGING = "packaging", _("Packaging")

    @property
    def plural(self) -> str:
        """What a shelf of them is called."""
        return {
            Kind.FAT: gettext("Fats and oils"),
            Kind.ALKALI: gettext("Alkalis"),
            Kind.LIQUID: gettext("Liquids"),
            Kind.FRAGRANCE: gettext("Fragrances"),
            Kind.COLOUR: gettext("Colours"),
            Kind.ADDITIVE: gettext("Additives"),
            Kind.PACKAGING: gettext("Packaging"),
        }[self]


class Supplier(models.Model):
    name = models.CharField(max_length=80)
    contact = models.CharField(max_length=120, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    website = models.URLField(blank=True)
    note = models.TextField(max_length=2000, blank=True)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = [Lower("name")]
        constraints = [models.UniqueConstraint(Lower("name"), name="supplier_name_once")]

    def __str__(self) -> str:
        return self.name


class MaterialQuerySet(models.QuerySet["Material"]):
    def in_use(self) -> MaterialQuerySet:
        return self.filter(archived=False)


class Material(models.Model):
    """Something that goes into or onto a bar. Weighed in grams, but for packaging, which is counted."""

    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField(max_length=80)
    inci_name = models.CharField(_("INCI name"), max_length=200, blank=True)
    supplier = models.ForeignKey(
        Supplier,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="materials",
        help_text=_("Where it is usually bought."),
    )
    reorder_level = models.DecimalField(**GRAMS, null=True, blank=True)
    density = models.DecimalField(
        max_digits=6,
        decimal_places=4,
        null=True,
        blank=True,
        help_text=_("Grams per millilitre, for amounts given by volume."),
    )
    note = models.TextField(max_length=2000, blank=True)
    archived = models.BooleanField(default=False)

    # Fats: mg of potassium hydroxide that a gram takes. `reference` is the key in shared.fats, if it has one.
    reference = models.SlugField(max_length=40, blank=True, editable=False)
    sap_low = models.DecimalField(**SAP_VALUE, null=True, blank=True)
    sap_nominal = models.DecimalField(**SAP_VALUE, null=True, blank=True)
    sap_high = models.DecimalField(**SAP_VALUE, null=True, blank=True)
    sap_source = models.CharField(max_length=300, blank=True)

    # Alkalis.
    alkali = models.CharField(max_length=4, blank=True, choices=[(a.value, _(a.label)) for a in AlkaliKind])
    purity_low = models.DecimalField(**PERCENT, null=True, blank=True)
    purity_high = models.DecimalField(**PERCENT, null=True, blank=True)

    # Additives that use up alkali.
    acid = models.CharField(max_length=20, blank=True, choices=[(a.value, _(a.label)) for a in AcidKind])

    # Colours: how it looks in the bar, as #rrggbb.
    colour = models.CharField(max_length=7, blank=True)

    objects = MaterialQuerySet.as_manager()

    class Meta:
        ordering = ["kind", Lower("name")]
        constraints = [
            models.UniqueConstraint(Lower("name"), name="material_name_once"),
            models.UniqueConstraint("reference", condition=~Q(reference=""), name="material_reference_once"),
            models.CheckConstraint(condition=Q(kind__in=Kind.values), name="material_kind_known"),
            models.CheckConstraint(
                condition=Q(sap_low__isnull=True, sap_nominal__isnull=True, sap_high__isnull=True)
                | Q(sap_low__gt=0, sap_nominal__gte=F("sap_low"), sap_high__gte=F("sap_nominal")),
                name="material_sap_in_order",
            ),
            models.CheckConstraint(
                condition=~Q(kind=Kind.ALKALI)
                | (
                    ~Q(alkali="")
                    & Q(purity_low__gt=0, purity_high__gte=F("purity_low"), purity_high__lte=100)
                ),
                name="material_alkali_has_purity",
            ),
            # A few per cent of vinegar are acid: counted whole, it would call for far too much lye.
            models.CheckConstraint(
                condition=Q(acid="") | Q(kind=Kind.ADDITIVE), name="material_acid_is_an_additive"
            ),
            models.CheckConstraint(
                condition=Q(density__isnull=True) | Q(density__gt=0), name="material_density_positive"
            ),
            models.CheckConstraint(
                condition=Q(reorder_level__isnull=True) | Q(reorder_level__gte=0),
                name="material_reorder_level_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def counted(self) -> bool:
        """Whether it is counted in pieces rather than weighed."""
        return self.kind == Kind.PACKAGING

    @property
    def sap(self) -> Sap | None:
        """The reference or maker's own saponification value; None where the fat has none yet."""
        if self.sap_low is None or self.sap_nominal is None or self.sap_high is None:
            return None
        return Sap(float(self.sap_low), float(self.sap_nominal), float(self.sap_high), self.sap_source)

    @property
    def purity_range(self) -> tuple[float, float] | None:
        """Lowest and highest alkali content in per cent; None for what is no alkali."""
        if self.purity_low is None or self.purity_high is None:
            return None
        return float(self.purity_low), float(self.purity_high)


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


class Movement(models.Model):
    """One line of the ledger: what a lot gained (above zero) or lost (below)."""

    class Kind(models.TextChoices):
        RECEIVED = "received", _("Received")
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
