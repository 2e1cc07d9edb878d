"""The rescue tool, for owners: it shows what is stored. People and settings have pages of their own."""

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.contrib.auth.models import Group
from django.db.models import Model
from django.http import HttpRequest

from soapshop.core.models import Document, History, Photo, User, Workshop

# Generic to the type checker only: at run time Django's class takes no parameter.
if TYPE_CHECKING:
    ModelAdmin = admin.ModelAdmin[Any]
else:
    ModelAdmin = admin.ModelAdmin

admin.site.site_header = admin.site.site_title = "Rescue tool"
admin.site.unregister(Group)


class ReadOnlyAdmin(ModelAdmin):
    """Shows rows and changes none."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


@admin.register(User)
class UserAdmin(ReadOnlyAdmin):
    list_display = ["username", "name", "role", "is_active", "last_login"]
    fields = ["username", "name", "role", "is_active", "last_login", "date_joined"]
    search_fields = ["username", "name"]


@admin.register(Workshop)
class WorkshopAdmin(ReadOnlyAdmin):
    list_display = ["name", "currency", "units", "time_zone"]


@admin.register(Photo)
class PhotoAdmin(ReadOnlyAdmin):
    list_display = ["id", "taken_at", "added_by"]
    list_select_related = ["added_by"]


@admin.register(Document)
class DocumentAdmin(ReadOnlyAdmin):
    list_display = ["name", "added_at", "added_by"]
    list_select_related = ["added_by"]


@admin.register(History)
class HistoryAdmin(ReadOnlyAdmin):
    list_display = ["at", "by", "subject", "what"]
    list_select_related = ["by"]
    search_fields = ["subject", "what"]
