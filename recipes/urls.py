from django.urls import path

from recipes.views import blend, compare, recipes, swap

app_name = "recipes"

urlpatterns = [
    path("", recipes.recipe_list, name="list"),
    path("new/", recipes.add, name="add"),
    path("preview/", recipes.preview, name="preview"),
    path("blend/", blend.blend, name="blend"),
    path("compare/", compare.compare, name="compare"),
    path("<int:pk>/", recipes.recipe, name="recipe"),
    path("<int:pk>/v/<int:number>/", recipes.recipe, name="version"),
    path("<int:pk>/edit/", recipes.edit, name="edit"),
    path("<int:pk>/swap/", swap.swap, name="swap"),
    path("<int:pk>/archive/", recipes.archive, name="archive"),
]
