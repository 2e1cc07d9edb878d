"""Addresses of the stockroom."""

from django.urls import path

from inventory.views import certificates, deliveries, labels, ledger, lots, materials, stockroom, suppliers

app_name = "inventory"

urlpatterns = [
    path("", stockroom.stockroom, name="stockroom"),
    path("materials/new/", materials.material_add, name="material_add"),
    path("materials/<int:pk>/", materials.material, name="material"),
    path("materials/<int:pk>/edit/", materials.material_edit, name="material_edit"),
    path("materials/<int:pk>/archive/", materials.material_archive, name="material_archive"),
    path("materials/<int:pk>/certificates/new/", certificates.certificate_add, name="certificate_add"),
    path("certificates/<int:pk>/", certificates.certificate_edit, name="certificate_edit"),
    path("certificates/<int:pk>/remove/", certificates.certificate_remove, name="certificate_remove"),
    path("lots/<int:pk>/", lots.lot, name="lot"),
    path("lots/<int:pk>/edit/", lots.lot_edit, name="lot_edit"),
    path("lots/<int:pk>/correct/", lots.correct, name="correct"),
    path("lots/<int:pk>/discard/", lots.discard, name="discard"),
    path("l<int:pk>", labels.find, name="find"),
    path("labels/", labels.labels, name="labels"),
    path("labels.pdf", labels.labels_pdf, name="labels_pdf"),
    path("deliveries/", deliveries.deliveries, name="deliveries"),
    path("deliveries/new/", deliveries.receive, name="receive"),
    path("deliveries/<int:pk>/", deliveries.delivery, name="delivery"),
    path("suppliers/", suppliers.suppliers, name="suppliers"),
    path("suppliers/new/", suppliers.supplier_add, name="supplier_add"),
    path("suppliers/<int:pk>/", suppliers.supplier_edit, name="supplier_edit"),
    path("suppliers/<int:pk>/archive/", suppliers.supplier_archive, name="supplier_archive"),
    path("ledger/", ledger.ledger, name="ledger"),
    path("movements/<int:pk>/reverse/", ledger.reverse, name="reverse"),
]
