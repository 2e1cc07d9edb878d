"""Kinds of material, and how many digits their quantities keep."""

from __future__ import annotations

from typing import TypedDict

from django.db import models
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _


class Digits(TypedDict):
    """How many digits a column keeps."""

    max_digits: int
    decimal_places: int


GRAMS = Digits(max_digits=12, decimal_places=2)
MILLIMETRES = Digits(max_digits=6, decimal_places=1)
PERCENT = Digits(max_digits=6, decimal_places=3)
SAP_VALUE = Digits(max_digits=6, decimal_places=2)


class Kind(models.TextChoices):
    FAT = "fat", _("Fat or oil")
    ALKALI = "alkali", _("Alkali")
    LIQUID = "liquid", _("Liquid")
    FRAGRANCE = "fragrance", _("Fragrance or essential oil")
    COLOUR = "colour", _("Colour")
    ADDITIVE = "additive", _("Additive")
    EMBED = "embed", _("Embed")
    TOPPING = "topping", _("Topping")
    BATTER = "batter", _("Batter kept back")
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
            Kind.EMBED: gettext("Embeds"),
            Kind.TOPPING: gettext("Toppings"),
            Kind.BATTER: gettext("Batter kept back"),
            Kind.PACKAGING: gettext("Packaging"),
        }[self]


COUNTED = frozenset({Kind.EMBED, Kind.PACKAGING})
"""Kinds that are counted in pieces rather than weighed."""
