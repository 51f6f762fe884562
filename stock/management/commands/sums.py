"""manage.py sums: is every animal in exactly one place?"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from stock.sums import wrong_sums


class Command(BaseCommand):
    help = "Check that every sum closes: lines, batches, and the rows that say why."

    def handle(self, **options: Any) -> None:
        found = wrong_sums()
        for one in found:
            self.stderr.write(f"{one.holder} {one.what}: {one.said}, counted {one.counted}")
        if found:
            raise CommandError(f"{len(found)} sum(s) do not close.")
        self.stdout.write("Every sum closes.")
