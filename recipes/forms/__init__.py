"""The forms of recipes. That of the blend finder is in a module of its own."""

from recipes.forms.recipe import (
    RecipeForm,
    as_typed,
    blank_rows,
    fields_of,
    given_fields,
    given_rows,
    rows_of,
    typed_fields,
    typed_rows,
)
from recipes.forms.rows import Row

__all__ = [
    "RecipeForm",
    "Row",
    "as_typed",
    "blank_rows",
    "fields_of",
    "given_fields",
    "given_rows",
    "rows_of",
    "typed_fields",
    "typed_rows",
]
