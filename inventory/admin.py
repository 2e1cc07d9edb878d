"""Stock in the rescue tool. The ledger and what it keeps are read-only."""

from django.contrib import admin

from inventory.models import Behaviour, Certificate, Delivery, Lot, LotPart, Material, Movement, Supplier
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


@admin.register(Certificate)
class CertificateAdmin(ReadOnlyAdmin):
    list_display = ["material", "dated", "category", "limit"]
    list_select_related = ["material"]
    search_fields = ["material__name"]


@admin.register(LotPart)
class LotPartAdmin(ReadOnlyAdmin):
    list_display = ["lot", "of", "quantity"]
    list_select_related = ["lot", "of"]
    search_fields = ["lot__code", "of__code"]


@admin.register(Behaviour)
class BehaviourAdmin(ReadOnlyAdmin):
    list_display = ["material", "batches", "thickened", "within_minutes", "riced", "seized", "overheated"]
    list_select_related = ["material"]
    search_fields = ["material__name"]
