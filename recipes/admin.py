"""Recipes in the rescue tool. Versions are read-only; a recipe may be renamed or put away."""

from django.contrib import admin

from recipes.models import Ingredient, Mould, Portion, Recipe, Version
from soapshop.core.admin import ModelAdmin, ReadOnlyAdmin


@admin.register(Recipe)
class RecipeAdmin(ModelAdmin):
    list_display = ["name", "archived", "created_at"]
    list_filter = ["archived"]
    search_fields = ["name"]
    fields = ["name", "archived"]


@admin.register(Version)
class VersionAdmin(ReadOnlyAdmin):
    list_display = ["recipe", "number", "pours", "poured_at", "made_at"]
    list_select_related = ["recipe"]
    search_fields = ["recipe__name"]


@admin.register(Ingredient)
class IngredientAdmin(ReadOnlyAdmin):
    list_display = ["version", "material", "amount"]
    list_select_related = ["version__recipe", "material"]


@admin.register(Portion)
class PortionAdmin(ReadOnlyAdmin):
    list_display = ["version", "position", "name", "size_by", "size", "destination"]
    list_select_related = ["version__recipe"]
    search_fields = ["version__recipe__name", "name"]


@admin.register(Mould)
class MouldAdmin(ReadOnlyAdmin):
    list_display = ["name", "shape", "bars", "archived"]
    list_filter = ["shape", "archived"]
    search_fields = ["name"]
