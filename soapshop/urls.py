"""Every address of the app."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("batches.urls")),
    path("recipes/", include("recipes.urls")),
    path("stock/", include("inventory.urls")),
    path("", include("soapshop.core.urls")),
    path("rescue/", admin.site.urls),
]
