"""Materials and who sells them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _

from inventory.models.kinds import COUNTED, GRAMS, MILLIMETRES, PERCENT, SAP_VALUE, Kind
from shared.chemistry import AcidKind, AlkaliKind
from shared.fats import FatReference, Source, reference_fats
from shared.ingredients import FatKind
from shared.liquids import Liquid
from shared.saponification import Sap
from shared.words import Phrase


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


class Origin(models.TextChoices):
    """Where a fat comes from, as far as makers and their customers ask."""

    PLANT = "plant", _("Plant, not palm")
    PALM = "palm", _("Oil palm")
    ANIMAL = "animal", _("Animal")


# Of the reference fats it follows from the genus of the organism: the oil palm, and animals.
OIL_PALM = "Elaeis"
ANIMALS = frozenset({"Anas", "Anser", "Apis", "Bos", "Dromaius", "Ovis", "Sus"})
# Acids split from any fat, palm oil and tallow among them.
NO_ORGANISM = "mixed"


class MaterialQuerySet(models.QuerySet["Material"]):
    def in_use(self) -> MaterialQuerySet:
        return self.filter(archived=False)


class Material(models.Model):
    """Something that goes into or onto a bar. Weighed in grams, but for embeds and packaging, which are
    counted."""

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
    dissolved = models.BooleanField(
        default=False, help_text=_("A ready-made lye solution: the purity is its strength, the rest water.")
    )

    # Fats: what is known beyond the reference, or instead of it. Shares of fatty acids are % of all of them.
    fat_kind = models.CharField(
        max_length=12, blank=True, choices=[(kind.value, _(kind.label)) for kind in FatKind]
    )
    origin = models.CharField(max_length=6, blank=True, choices=Origin)
    profile = models.JSONField(default=dict, blank=True)

    # Liquids and additives: what they are made of, in g per 100 g. Without `water` nothing is known of it;
    # fat without its range and the kind of fat is too little to count.
    water = models.DecimalField(**PERCENT, null=True, blank=True)
    fat = models.DecimalField(**PERCENT, default=Decimal(0))
    fat_low = models.DecimalField(**PERCENT, null=True, blank=True)
    fat_high = models.DecimalField(**PERCENT, null=True, blank=True)
    fat_reference = models.SlugField(max_length=40, blank=True, help_text=_("Which fat is in it."))
    sugar = models.DecimalField(**PERCENT, default=Decimal(0))
    salt = models.DecimalField(**PERCENT, default=Decimal(0))
    alcohol = models.DecimalField(**PERCENT, default=Decimal(0))
    composition_source = models.CharField(max_length=300, blank=True)

    # The acid in it, which uses up alkali, and the least of it in g per 100 g; without that it is all acid.
    acid = models.CharField(max_length=20, blank=True, choices=[(a.value, _(a.label)) for a in AcidKind])
    acid_least = models.DecimalField(**PERCENT, null=True, blank=True)

    antioxidant = models.BooleanField(default=False, help_text=_("It slows down that fats turn rancid."))

    # Colours, embeds and toppings: how it looks in the bar, as #rrggbb.
    colour = models.CharField(max_length=7, blank=True)

    # Embeds: what one weighs, and how much of the loaf it takes lengthwise, so that the cutter misses it.
    piece_grams = models.DecimalField(**GRAMS, null=True, blank=True)
    piece_length = models.DecimalField(**MILLIMETRES, null=True, blank=True)

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
                condition=Q(acid="") | Q(kind=Kind.ADDITIVE) | Q(kind=Kind.LIQUID, acid_least__gt=0),
                name="material_liquid_says_how_sour",
            ),
            models.CheckConstraint(
                condition=Q(acid_least__isnull=True) | Q(acid_least__gt=0, acid_least__lte=100),
                name="material_acid_is_a_share",
            ),
            models.CheckConstraint(
                condition=Q(dissolved=False) | Q(kind=Kind.ALKALI), name="material_dissolved_is_an_alkali"
            ),
            models.CheckConstraint(
                condition=Q(water__isnull=True)
                | Q(kind__in=[Kind.LIQUID, Kind.ADDITIVE], water__gte=0, water__lte=100),
                name="material_water_is_a_share",
            ),
            models.CheckConstraint(
                condition=Q(fat__gte=0, fat_low__isnull=True, fat_high__isnull=True, fat_reference="")
                | Q(fat_low__gte=0, fat__gte=F("fat_low"), fat_high__gte=F("fat"), fat_high__lte=100)
                & ~Q(fat_reference=""),
                name="material_fat_in_it_in_order",
            ),
            models.CheckConstraint(
                condition=Q(sugar__gte=0, salt__gte=0, alcohol__gte=0), name="material_contents_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(density__isnull=True) | Q(density__gt=0), name="material_density_positive"
            ),
            models.CheckConstraint(
                condition=Q(piece_grams__isnull=True) | Q(kind=Kind.EMBED, piece_grams__gt=0),
                name="material_piece_has_weight",
            ),
            models.CheckConstraint(
                condition=Q(piece_length__isnull=True) | Q(kind=Kind.EMBED, piece_length__gt=0),
                name="material_piece_has_length",
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
        return self.kind in COUNTED

    @property
    def sap(self) -> Sap | None:
        """The reference or maker's own saponification value; None where the fat has none yet."""
        if self.sap_low is None or self.sap_nominal is None or self.sap_high is None:
            return None
        return Sap(float(self.sap_low), float(self.sap_nominal), float(self.sap_high), self.sap_source)

    @property
    def contents(self) -> Liquid | None:
        """What a liquid or an additive is made of; None where that is not known."""
        if self.water is None:
            return None
        fat = reference_fats().get(self.fat_reference)
        return Liquid(
            name=self.name,
            water=float(self.water),
            fat=float(self.fat),
            fat_low=float(self.fat_low or 0),
            fat_high=float(self.fat_high or 0),
            sap=fat.sap if fat and self.fat else None,
            fat_reference=self.fat_reference,
            sugar=float(self.sugar),
            salt=float(self.salt),
            alcohol=float(self.alcohol),
            acid=AcidKind(self.acid) if self.acid else None,
            acid_least=self.acid_percent if self.acid else 0.0,
            source=self.composition_source,
        )

    @property
    def acid_percent(self) -> float:
        """How much of it is the acid, in % m/m: all, where nothing else is said."""
        return 100.0 if self.acid_least is None else float(self.acid_least)

    @property
    def published(self) -> FatReference | None:
        """What is known of a fat: the table's facts under its key, with what the maker knows in their place.

        None for what is no fat, and for a fat of which neither the table nor the maker knows anything.
        """
        known = reference_fats().get(self.reference) if self.kind == Kind.FAT else None
        if self.kind != Kind.FAT or not (known or self.profile):
            return None
        facts = known or FatReference.unknown(self.name)
        if self.fat_kind:
            facts = replace(facts, kind=FatKind(self.fat_kind))
        if not self.profile:
            return facts
        own = Source("typical fatty acids", Phrase("Given by the workshop"), "", "verified")
        return replace(facts, typical=self.profile, profile={}, sources=(own, *facts.sources))

    @property
    def known_origin(self) -> Origin | None:
        """Where a fat comes from: as the maker says, else by the table; None where neither tells."""
        if self.origin:
            return Origin(self.origin)
        known = reference_fats().get(self.reference) if self.kind == Kind.FAT else None
        genus = known.organism.split()[0] if known else NO_ORGANISM
        if genus == NO_ORGANISM:
            return None
        if genus == OIL_PALM:
            return Origin.PALM
        return Origin.ANIMAL if genus in ANIMALS else Origin.PLANT

    @property
    def purity_range(self) -> tuple[float, float] | None:
        """Lowest and highest alkali content in per cent; None for what is no alkali."""
        if self.purity_low is None or self.purity_high is None:
            return None
        return float(self.purity_low), float(self.purity_high)
