"""manage.py verify: read every record book again and name the first wrong entry."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from stock.models import Log
from stock.verify import verify


class Command(BaseCommand):
    help = "Check that no entry of any record book was changed, removed or swapped."

    def handle(self, **options: Any) -> None:
        found = [wrong for log in Log.objects.order_by("uid") if (wrong := verify(log))]
        for wrong in found:
            self.stderr.write(f"{wrong.log} entry {wrong.seq}: {wrong.why}")
        if found:
            raise CommandError(f"{len(found)} record book(s) are not what they were.")
        count = sum(Log.objects.values_list("size", flat=True))
        self.stdout.write(f"{count} entries verified.")
