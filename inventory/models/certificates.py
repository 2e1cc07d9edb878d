"""What the suppliers of fragrances certify: limits, flash points, and what is in them."""

from __future__ import annotations

import re
from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inventory.models.kinds import PERCENT, Digits
from inventory.models.material import Material
from shared import fragrance
from soapshop.core.models import Document

PPM = Digits(max_digits=7, decimal_places=4)
"""Per cent to a millionth."""

BAR_SOAP = "9"
"""The category of bar soap in the IFRA Standards since their 49th Amendment; older ones had other classes."""
_BAR_SOAP_AS_WRITTEN = re.compile(r"(?:category|cat\.?)?\s*9", re.IGNORECASE)


class CertificateQuerySet(models.QuerySet["Certificate"]):
    def dated_by(self, day: date) -> CertificateQuerySet:
        """Those that were there on that day, the newest first."""
        return self.filter(dated__lte=day).order_by("-dated", "-id")


class Certificate(models.Model):
    """One certificate of a fragrance. The one dated last counts; of two of one day, the one added last."""

    material = models.ForeignKey(Material, models.PROTECT, related_name="certificates")
    dated = models.DateField()
    standard = models.CharField(max_length=60, blank=True, help_text=_("Such as: IFRA 51st Amendment."))
    category = models.CharField(max_length=20, default=BAR_SOAP)
    limit = models.DecimalField(
        **PPM, null=True, blank=True, help_text=_("% of the finished product; 0 where it is not permitted.")
    )
    vanillin = models.DecimalField(**PERCENT, null=True, blank=True, help_text=_("% of the fragrance."))
    flash_point = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text=_("In °C.")
    )
    document = models.OneToOneField(
        Document, models.PROTECT, null=True, blank=True, related_name="certificate"
    )
    note = models.TextField(max_length=2000, blank=True)
    key = models.UUIDField(unique=True, help_text=_("Made by the form, so that one sent twice counts once."))
    added_at = models.DateTimeField(default=timezone.now, editable=False)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    objects = CertificateQuerySet.as_manager()

    class Meta:
        ordering = ["-dated", "-id"]
        indexes = [models.Index(fields=["material", "-dated"], name="certificate_of_material")]
        constraints = [
            models.CheckConstraint(
                condition=Q(limit__isnull=True) | Q(limit__gte=0, limit__lte=100),
                name="certificate_limit_is_a_share",
            ),
            models.CheckConstraint(
                condition=Q(vanillin__isnull=True) | Q(vanillin__gte=0, vanillin__lte=100),
                name="certificate_vanillin_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        return gettext("certificate of %(day)s") % {"day": f"{self.dated:%d %b %Y}"}

    @property
    def for_bar_soap(self) -> bool:
        """Whether its limit is one for bar soap: figures of other categories cannot be read across."""
        return _BAR_SOAP_AS_WRITTEN.fullmatch(self.category.strip()) is not None

    @property
    def certified(self) -> fragrance.Certified:
        """In words of the calculations. Fetch with the material and the substances."""
        stated = self.limit if self.for_bar_soap else None
        return fragrance.Certified(
            name=self.material.name,
            limit=None if stated is None else float(stated),
            vanillin=None if self.vanillin is None else float(self.vanillin),
            substances=tuple(each.listed for each in self.substances.all()),
        )


class Substance(models.Model):
    """What a certificate lists by name: an allergen, a restricted substance, or both."""

    certificate = models.ForeignKey(Certificate, models.CASCADE, related_name="substances")
    name = models.CharField(max_length=120)
    cas = models.CharField(_("CAS number"), max_length=12, blank=True)
    share = models.DecimalField(**PPM, help_text=_("% of the fragrance."))
    limit = models.DecimalField(**PPM, null=True, blank=True, help_text=_("% of the finished product."))
    allergen = models.BooleanField(default=False)

    class Meta:
        ordering = ["-share", "name"]
        constraints = [
            models.UniqueConstraint("certificate", Lower("name"), name="substance_once_in_certificate"),
            models.CheckConstraint(
                condition=Q(share__gt=0, share__lte=100), name="substance_share_is_a_share"
            ),
            models.CheckConstraint(
                condition=Q(limit__isnull=True) | Q(limit__gte=0, limit__lte=100),
                name="substance_limit_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def listed(self) -> fragrance.Substance:
        """In words of the calculations."""
        return fragrance.Substance(
            name=self.name,
            share=float(self.share),
            limit=None if self.limit is None else float(self.limit),
            allergen=self.allergen,
            cas=self.cas,
        )
