"""Stock in the rescue tool. The ledger and what it keeps are read-only."""

from django.contrib import admin

from inventory.models import Delivery, Lot, Material, Movement, Supplier
from soapshop.core.admin import ModelAdmin, ReadOnlyAdmin


@admin.register(Material)
class MaterialAdmin(ModelAdmin):
    list_display = ["name", "kind", "reorder_level", "archived"]
    list_filter = ["kind", "archived"]
    search_fields = ["name", "inci_name"]


@admin.register(Supplier)
class SupplierAdmin(ModelAdmin):
    list_display = ["name", "phone", "email", "archived"]
    search_fields = ["name"]


@admin.register(Lot)
class LotAdmin(ReadOnlyAdmin):
    list_display = ["code", "material", "on_hand", "best_before", "received_on"]
    list_select_related = ["material"]
    search_fields = ["code", "material__name"]


@admin.register(Movement)
class MovementAdmin(ReadOnlyAdmin):
    list_display = ["at", "lot", "kind", "quantity", "document", "by"]
    list_select_related = ["lot", "by"]
    list_filter = ["kind"]
    search_fields = ["lot__code", "document"]


@admin.register(Delivery)
class DeliveryAdmin(ReadOnlyAdmin):
    list_display = ["received_on", "supplier", "reference"]
    list_select_related = ["supplier"]
