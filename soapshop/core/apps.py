from django.apps import AppConfig


class CoreConfig(AppConfig):
    name = "soapshop.core"
    label = "core"
    verbose_name = "Workshop"

    def ready(self) -> None:
        from soapshop.core import checks  # noqa: F401  registers them
