"""The form that writes a recipe down."""

from recipes.forms.recipe import RecipeForm, blank_rows, fields_of, rows_of, typed_fields, typed_rows

__all__ = ["RecipeForm", "blank_rows", "fields_of", "rows_of", "typed_fields", "typed_rows"]
