"""Recipes, their versions, and what goes into each."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from inventory.models import GRAMS, MILLIMETRES, Material
from recipes.models.moulds import Mould
from shared.bar_picture import BarPicture
from shared.cross_section import Layer

# Of an uncoloured bar: the cream of plain soap.
NATURAL = "#efe6cf"


def poured_words(pours: int) -> str:
    """How often something was poured, as one says it."""
    if pours <= 2:
        return (gettext("not poured yet"), gettext("poured once"), gettext("poured twice"))[pours]
    return ngettext("poured %(pours)d time", "poured %(pours)d times", pours) % {"pours": pours}


class Tag(models.Model):
    """A word by which recipes are found again: winter, market, unscented."""

    name = models.CharField(max_length=30)

    class Meta:
        ordering = [Lower("name")]
        constraints = [models.UniqueConstraint(Lower("name"), name="tag_name_once")]

    def __str__(self) -> str:
        return self.name


class Recipe(models.Model):
    """A kind of soap, through all its versions."""

    name = models.CharField(max_length=80)
    tags = models.ManyToManyField(Tag, related_name="recipes", blank=True)
    archived = models.BooleanField(default=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = [Lower("name")]
        constraints = [models.UniqueConstraint(Lower("name"), name="recipe_name_once")]

    def __str__(self) -> str:
        return self.name


class SizeBy(models.TextChoices):
    """How large a batch the recipe makes, and with it whether its fats are shares or weights."""

    FATS = "fats", _("Weight of all fats")
    BATTER = "batter", _("Weight of batter")
    MOULD = "mould", _("Inner size of the mould")
    WEIGHTS = "weights", _("Each fat by its weight")
    PORTIONS = "portions", _("What the portions need")


class LiquidBy(models.TextChoices):
    CONCENTRATION = "concentration", _("Lye concentration")
    RATIO = "ratio", _("Liquid to alkali")
    OF_FATS = "of_fats", _("Share of the fats")


class LiquidScope(models.TextChoices):
    """Which liquid the recipe's figure speaks of, where some of it goes in at trace."""

    BATTER = "batter", _("All liquid of the batter")
    LYE = "lye", _("Only what the lye is mixed with")


class Process(models.TextChoices):
    COLD = "cold", _("Cold process")
    HOT = "hot", _("Hot process")


class Stage(models.TextChoices):
    """When something goes in, if not when such a thing usually does: fats first, liquids into the lye, and
    everything else at trace. What goes into portions or on top follows from what it is."""

    USUAL = "", _("As usual")
    LYE = "lye", _("Into the lye")
    TRACE = "trace", _("At trace")
    COOK = "cook", _("After the cook")
    JUG = "jug", _("Into the jugs")
    TOP = "top", _("On top")


PORTIONS = "portions__additions"
DESIGN = ("ingredients", PORTIONS)
"""What is fetched with a version to read its design."""


class VersionQuerySet(models.QuerySet["Version"]):
    def with_ingredients(self) -> VersionQuerySet:
        """With all that a design is read from."""
        return self.select_related("recipe", "mould").prefetch_related(*DESIGN)

    def with_portions(self) -> VersionQuerySet:
        """With the portions, and what goes into each."""
        return self.prefetch_related(PORTIONS)


class Version(models.Model):
    """One state of a recipe. It may change until it is first poured; after that an edit makes the next."""

    recipe = models.ForeignKey(Recipe, models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    superfat = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal(5),
        validators=[MinValueValidator(Decimal(-5)), MaxValueValidator(Decimal(30))],
    )
    liquid_by = models.CharField(max_length=15, choices=LiquidBy, default=LiquidBy.CONCENTRATION)
    liquid_value = models.DecimalField(max_digits=7, decimal_places=3, default=Decimal(33))
    liquid_scope = models.CharField(max_length=6, choices=LiquidScope, default=LiquidScope.BATTER)
    process = models.CharField(max_length=4, choices=Process, default=Process.COLD)
    size_by = models.CharField(max_length=8, choices=SizeBy, default=SizeBy.FATS)
    size_grams = models.DecimalField(**GRAMS, null=True, blank=True)
    mould = models.ForeignKey(
        Mould,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="versions",
        help_text=_("One of the workshop's moulds; it tells all but how high it is filled."),
    )
    mould_length = models.DecimalField(**MILLIMETRES, null=True, blank=True)
    mould_width = models.DecimalField(**MILLIMETRES, null=True, blank=True)
    mould_height = models.DecimalField(_("fill height"), **MILLIMETRES, null=True, blank=True)
    bars = models.PositiveSmallIntegerField(
        default=10, validators=[MinValueValidator(1), MaxValueValidator(2000)]
    )
    cure_days = models.PositiveSmallIntegerField(
        default=28, validators=[MinValueValidator(1), MaxValueValidator(730)]
    )
    bar_colour = models.CharField(max_length=7, blank=True)
    picture = models.JSONField(
        default=dict,
        blank=True,
        editable=False,
        help_text=_("What a cut bar shows, as its portions make it; empty where they are not told apart."),
    )
    note = models.TextField(max_length=2000, blank=True)
    begun_from = models.ForeignKey(
        "self",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text=_("The version of another recipe that this one was begun from."),
    )
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    pours = models.PositiveIntegerField(default=0, editable=False, help_text=_("How often it was poured."))
    poured_at = models.DateTimeField(null=True, blank=True, editable=False, help_text=_("Last of its pours."))

    objects = VersionQuerySet.as_manager()

    class Meta:
        ordering = ["recipe", "-number"]
        constraints = [
            models.UniqueConstraint("recipe", "number", name="version_number_once"),
            models.CheckConstraint(
                condition=Q(superfat__gte=-5, superfat__lte=30), name="version_superfat_in_range"
            ),
            models.CheckConstraint(condition=Q(liquid_value__gt=0), name="version_liquid_positive"),
            models.CheckConstraint(
                condition=Q(size_by__in=[SizeBy.WEIGHTS, SizeBy.PORTIONS])
                | Q(size_by__in=[SizeBy.FATS, SizeBy.BATTER], size_grams__gt=0)
                | Q(size_by=SizeBy.MOULD, mould_length__gt=0, mould_width__gt=0, mould_height__gt=0)
                | Q(size_by=SizeBy.MOULD, mould__isnull=False, mould_height__gt=0),
                name="version_has_a_size",
            ),
            models.CheckConstraint(condition=Q(bars__gte=1), name="version_makes_bars"),
            models.CheckConstraint(
                condition=Q(pours=0) | Q(poured_at__isnull=False),
                name="version_poured_has_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.recipe} {self.number}"

    @property
    def is_poured(self) -> bool:
        """Whether it was ever poured, undone or not: batches keep pointing to what it said then."""
        return self.poured_at is not None

    @property
    def stamp(self) -> str:
        """Names this very state: an edit in place changes it, so that two people's edits are told apart."""
        return f"{self.number}.{self.made_at.timestamp():.6f}"

    @property
    def poured_words(self) -> str:
        return poured_words(self.pours)

    @property
    def look(self) -> BarPicture:
        """What a cut bar shows."""
        if self.picture:
            return BarPicture.from_json(self.picture)
        sides = (float(side) if side else None for side in (self.mould_width, self.mould_height))
        return BarPicture((Layer(self.bar_colour or NATURAL, 1.0),), (), (), *sides)


class IngredientManager(models.Manager["Ingredient"]):
    """An ingredient is never read without its material, so that it comes in the same query."""

    def get_queryset(self) -> models.QuerySet[Ingredient]:
        return super().get_queryset().select_related("material")


class Ingredient(models.Model):
    """A material of a version. What its amount means follows from the material's kind:

    fats      per cent of all fats, or grams where the version gives each fat by weight
    alkalis   per cent of the alkali, by mol
    liquids   per cent of the liquid, by weight
    packaging pieces for a bar, as are embeds
    toppings  grams for a bar
    others    per cent of the weight of all fats; a fragrance of those of the portions that carry it
    """

    version = models.ForeignKey(Version, models.CASCADE, related_name="ingredients")
    material = models.ForeignKey(Material, models.PROTECT, related_name="uses")
    amount = models.DecimalField(max_digits=12, decimal_places=3)
    stage = models.CharField(max_length=5, choices=Stage, default=Stage.USUAL, blank=True)
    position = models.PositiveSmallIntegerField(default=0)

    objects = IngredientManager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.UniqueConstraint("version", "material", name="ingredient_once_in_version"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="ingredient_amount_positive"),
            models.CheckConstraint(condition=Q(stage__in=Stage.values), name="ingredient_stage_known"),
        ]

    def __str__(self) -> str:
        return f"{self.material} in {self.version}"
