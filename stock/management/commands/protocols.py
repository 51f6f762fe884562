"""manage.py protocols lint: what is unsafe or contradictory in protocol versions."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from protocols.library.findings import Finding, Level
from protocols.library.lint import lint
from protocols.versions import DEFINITIONS, BadDefinition, read_any


class Command(BaseCommand):
    help = "Check protocol versions: the files named, else all that come with the service."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", choices=["lint"])
        parser.add_argument("files", nargs="*", type=Path)

    def handle(self, **options: Any) -> None:
        files = options["files"] or sorted(DEFINITIONS.glob("*@*.toml"))
        wrong = sum(self._lint(file) for file in files)
        if wrong:
            raise CommandError(f"{wrong} of {len(files)} may not be worked by.")
        self.stdout.write(f"{len(files)} may be worked by.")

    def _lint(self, file: Path) -> bool:
        """Say what was found in a file; whether it is refused for it."""
        try:
            findings = lint(read_any(file.read_bytes()))
        except (OSError, BadDefinition) as error:
            self.stderr.write(f"{file.name}: unreadable: {error}")
            return True
        for one in findings:
            say = self.stderr if one.level is Level.ERROR else self.stdout
            say.write(f"{file.name}: {_line(one)}")
        return any(one.level is Level.ERROR for one in findings)


def _line(one: Finding) -> str:
    numbers = ", ".join(f"{name} {value}" for name, value in one.numbers.items())
    return f"{one.level} {one.rule}: {one.text} ({numbers}) [{one.source}]"
