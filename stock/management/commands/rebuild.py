"""manage.py rebuild: make the projections again from the facts."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from stock import clock, rebuild


class Command(BaseCommand):
    help = "Make every projection again from the facts; --check only compares."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="Compare, change nothing.")

    def handle(self, *, check: bool, **options: Any) -> None:
        if not check:
            rebuild.rebuild(clock.now())
            self.stdout.write("All projections were made again.")
            return
        if different := rebuild.check(clock.now()):
            raise CommandError(f"These tables differ from the facts: {', '.join(different)}")
        self.stdout.write("Every projection is what the facts give.")
