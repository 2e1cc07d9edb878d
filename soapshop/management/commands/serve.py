"""`manage.py serve`: the real workshop."""

from typing import Any

from django.conf import settings

from soapshop.core.services.setup import ensure_setup_code
from soapshop.serving.command import ServingCommand


class Command(ServingCommand):
    """Bring the workshop up to date and serve it."""

    help = "Bring the workshop up to date and serve it to the phones and computers of its network."

    def make_ready(self, **options: Any) -> None:
        super().make_ready(**options)
        self.stdout.write(f"The workshop in {settings.DATA_DIR} is up to date.")

    def way_in(self) -> str:
        code = ensure_setup_code()
        return f"\n  First visit: make the owner's account with the one-time code  {code}" if code else ""
