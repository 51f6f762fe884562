"""manage.py rejudge: judge every batch anew, or compare the caches with fresh judgements."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from stock import clock, rejudge
from stock.judging import judge_everything


class Command(BaseCommand):
    help = "Judge every batch anew; --check only compares."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="Compare, change nothing.")

    def handle(self, *, check: bool, **options: Any) -> None:
        at = clock.now()
        if not check:
            with transaction.atomic():
                judge_everything(at)
            self.stdout.write("Every batch was judged anew.")
            return
        found = rejudge.compare(at)
        if found.missed:
            codes = ", ".join(found.missed)
            raise CommandError(f"These batches were judged otherwise: {codes}")
        self.stdout.write(
            f"Every cached judgement is what the facts give: {found.judged} judged anew, "
            f"{len(found.marked)} marked to be, of which {len(found.differing)} change."
        )
