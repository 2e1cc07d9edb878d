"""Recipes in files: our own format, described by `recipe.schema.json`, and a table for spreadsheets.

`materials` and `entries` put what a file says into what the database holds and back, `document` makes and
reads whole files. They write nothing; `recipes.services.exchange` keeps what a file brings.
"""
