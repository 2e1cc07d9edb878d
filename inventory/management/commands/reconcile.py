"""manage.py reconcile: check the stock against its ledger."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.services.reconcile import reconcile


class Command(BaseCommand):
    help = "Checks that what each lot holds equals the sum of its movements. Changes nothing."

    def handle(self, **options: Any) -> None:
        wrong = reconcile()
        for lot in wrong:
            self.stderr.write(
                f"{lot.code}: the shelf says {lot.on_hand}, the movements add up to {lot.moved}"
            )
        if wrong:
            raise CommandError(f"{len(wrong)} lots disagree with their ledger.")
        self.stdout.write("Every lot agrees with its ledger.")
