from django.urls import path

from recipes.views import blend, compare, exchange, look, moulds, recipes, strip, swap

app_name = "recipes"

urlpatterns = [
    path("", recipes.recipe_list, name="list"),
    path("new/", recipes.add, name="add"),
    path("preview/", recipes.preview, name="preview"),
    path("blend/", blend.blend, name="blend"),
    path("compare/", compare.compare, name="compare"),
    path("import/", exchange.bring_in, name="import"),
    path("recipes.json", exchange.all_json, name="all_json"),
    path("recipes.csv", exchange.all_csv, name="all_csv"),
    path("recipe.schema.json", exchange.schema, name="schema"),
    path("moulds/", moulds.mould_list, name="moulds"),
    path("moulds/new/", moulds.mould_add, name="mould_add"),
    path("moulds/<int:pk>/", moulds.mould, name="mould"),
    path("moulds/<int:pk>/edit/", moulds.mould_edit, name="mould_edit"),
    path("moulds/<int:pk>/archive/", moulds.mould_archive, name="mould_archive"),
    path("<int:pk>/", recipes.recipe, name="recipe"),
    path("<int:pk>/v/<int:number>/", recipes.recipe, name="version"),
    path("<int:pk>/v/<int:number>/recipe.json", exchange.version_json, name="version_json"),
    path("<int:pk>/v/<int:number>/recipe.csv", exchange.version_csv, name="version_csv"),
    path("<int:pk>/v/<int:number>/strip/", strip.strip, name="strip"),
    path("<int:pk>/v/<int:number>/strip.pdf", strip.strip_pdf, name="strip_pdf"),
    path("<int:pk>/tags/", recipes.tags, name="tags"),
    path("<int:pk>/edit/", recipes.edit, name="edit"),
    path("<int:pk>/look/", look.look, name="look"),
    path("<int:pk>/look/preview/", look.look_preview, name="look_preview"),
    path("<int:pk>/swap/", swap.swap, name="swap"),
    path("<int:pk>/archive/", recipes.archive, name="archive"),
]
