from django.urls import path

from recipes import views

app_name = "recipes"

urlpatterns = [
    path("", views.recipe_list, name="list"),
    path("new/", views.add, name="add"),
    path("preview/", views.preview, name="preview"),
    path("<int:pk>/", views.recipe, name="recipe"),
    path("<int:pk>/v/<int:number>/", views.recipe, name="version"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("<int:pk>/archive/", views.archive, name="archive"),
]
