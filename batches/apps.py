from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class BatchesConfig(AppConfig):
    name = "batches"
    verbose_name = _("Batches")
