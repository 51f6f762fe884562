"""The whole suite on both engines."""

import argparse
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.core.management.base import BaseCommand

ENGINES = ("sqlite", "postgresql")
# Rules know no database, and a browser sees none: these are the same on every engine.
ON_ANY_ENGINE = ("tests/protocols", "tests/browser")
NO_POSTGRES = """\
NO POSTGRESQL WAS FOUND: HALF OF THE SUITE DID NOT RUN.
Set DATABASE_URL=postgres://..., or install PostgreSQL (Debian: apt install postgresql)."""


class Command(BaseCommand):
    """`manage.py test`: pytest on SQLite, then pytest on PostgreSQL."""

    help = "Run the tests on SQLite and PostgreSQL; other arguments go to pytest."
    requires_system_checks = ()

    def run_from_argv(self, argv: list[str]) -> None:
        # Not Django's parser: it has options of its own where pytest means another thing (-v).
        options, given = parser().parse_known_args(argv[2:])
        codes: list[int] = []
        for engine in ("sqlite",) if options.fast else (options.on or ENGINES):
            self.stdout.write(self.style.MIGRATE_HEADING(f"Tests on {engine}"))
            self.stdout.flush()
            again = [f"--ignore={folder}" for folder in ON_ANY_ENGINE] if codes else []
            codes.append(self.run_tests(engine, [*given, *again]))
        sys.exit(max(codes))

    def run_tests(self, engine: str, given: list[str]) -> int:
        """pytest's exit code on one engine."""
        with database(engine) as url:
            if url is None:
                self.stderr.write(self.style.ERROR(NO_POSTGRES))
                return int(os.environ.get("CI") == "true")
            command = [sys.executable, "-m", "pytest", *spread(given), *given]
            surroundings = {**os.environ, "DATABASE_URL": url}
            return subprocess.run(command, cwd=settings.ROOT, env=surroundings).returncode


def parser() -> argparse.ArgumentParser:
    """Our own options; what it does not know belongs to pytest."""
    found = argparse.ArgumentParser(
        prog="manage.py test", description=Command.help, allow_abbrev=False
    )
    found.add_argument("--fast", action="store_true", help="SQLite only.")
    found.add_argument("--on", choices=ENGINES, action="append", help="This engine only.")
    return found


def spread(given: list[str]) -> list[str]:
    """Two processes, unless the arguments say how many or want to look inside."""
    own = ("-n", "--numprocesses", "--dist", "--pdb", "--trace", "--collect-only", "--co")
    if any(word.startswith(own) for word in given):
        return []
    # By files: what a file sets up once for all its tests is not set up in both processes.
    return ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"]


@contextmanager
def database(engine: str) -> Iterator[str | None]:
    """The address for settings; none where there is no PostgreSQL to be had."""
    given = os.environ.get("DATABASE_URL", "")
    if engine == "sqlite":
        yield ""
    elif given.startswith("postgres"):
        yield given
    else:
        # Only here: an installation without the tests still has its other commands.
        from tests.postgres import private_server, programs

        if (folder := programs()) is None:
            yield None
        else:
            with private_server(folder) as url:
                yield url
