"""Start everything: database, web server, timetable."""

import os
import secrets
import socket
import sys
import urllib.error
import urllib.request
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from stock import clock, keys, triggers
from stock.doors.people import make_setup_code
from stock.management.children import Children
from stock.models import Organisation

HOST = "127.0.0.1"
# The web server runs in one process: writers to SQLite wait in line anyway.
WEB = (
    "-m",
    "gunicorn",
    "api.wsgi:application",
    "--worker-class=gthread",
    "--workers=1",
    "--threads=8",
    "--graceful-timeout=5",
    "--log-level=warning",
    "--no-control-socket",  # it would lie in the home folder, the same for every instance
)


class Command(BaseCommand):
    """`manage.py up`: what a newcomer runs first, and everybody afterwards."""

    help = "Start Fillmark here: database, web server and timetable. Ctrl-C stops all of it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=port, default=8000, help="Default: 8000.")
        parser.add_argument("--data", type=Path, help="Folder of the data. Default: .data/")
        parser.add_argument(
            "--empty", action="store_true", help="Begin with nothing instead of the demo."
        )
        parser.add_argument(
            "--test-clock",
            action="store_true",
            help="Let requests name their moment. For trying out, never for real animals.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        settle_environment(options["data"], test_clock=options["test_clock"])
        refuse_taken(options["port"])
        make_data_folder(settings.DATA)
        keys.make_missing()
        call_command("migrate", verbosity=0, interactive=False)
        refuse_without_triggers()
        lines = first_things(empty=options["empty"], address=f"http://{HOST}:{options['port']}")
        code = self.run_children(options["port"], lines)
        if code:
            sys.exit(code)

    def run_children(self, number: int, lines: list[str]) -> int:
        """Keep the children running until somebody or something ends them."""
        address = f"http://{HOST}:{number}"
        with Children(self.stderr.write) as children:
            children.start("web", [sys.executable, *WEB, f"--bind={HOST}:{number}"])
            if "timetable" in get_commands() and not settings.TEST_CLOCK:
                children.start("timetable", [sys.executable, sys.argv[0], "timetable"])
            if children.until(lambda: answers(f"{address}/health")):
                if settings.TEST_CLOCK:
                    lines.append("The test clock is on: requests may name their moment.")
                lines.append(f"Fillmark is at {address}/ (Ctrl-C stops it)")
                self.stdout.write("\n".join(lines))
                self.stdout.flush()
            return children.watch()


def first_things(*, empty: bool, address: str) -> list[str]:
    """What a database without any organisation gets, and the lines to print about it."""
    if Organisation.objects.exists():
        return []
    if empty:
        return [f"Set-up code: {make_setup_code(clock.now())}"]
    call_command("demo", address=address)
    return []


def refuse_without_triggers() -> None:
    """What must never happen has to be impossible before anybody writes."""
    if gone := triggers.missing(connection):
        raise CommandError(f"The database lacks these triggers: {', '.join(gone)}.")


def settle_environment(data: Path | None, *, test_clock: bool) -> None:
    """Begin anew when settings, which are read before options, would differ."""
    folder = data.expanduser().absolute() if data else settings.DATA
    if (folder, test_clock) == (settings.DATA, settings.TEST_CLOCK):
        return
    os.environ["FILLMARK_DATA"] = str(folder)
    os.environ["FILLMARK_TEST_CLOCK"] = str(test_clock).lower()
    os.execv(sys.executable, [sys.executable, *sys.argv])


def make_data_folder(folder: Path) -> None:
    """A folder for this user alone, with the key that signs sessions."""
    os.umask(0o077)  # also for what the children write
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        file = os.open(folder / "secret_key", os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(file, "w") as key:
        key.write(secrets.token_urlsafe(48))


def refuse_taken(number: int) -> None:
    """Say at once what the web server would only say after five tries."""
    with socket.socket() as probe:
        # A server that has just stopped leaves the port in a state that hinders nobody.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, number))
        except OSError as error:
            raise CommandError(
                f"Port {number} cannot be used ({error.strerror}). "
                f"Stop what runs there, or choose another: --port {number % 65535 + 1}",
                returncode=2,
            ) from error


def answers(address: str) -> bool:
    """Whether the web server is ready."""
    try:
        with urllib.request.urlopen(address, timeout=5):  # noqa: S310  # our own address
            return True
    except urllib.error.HTTPError:
        return True  # it is up, and has said itself what is wrong
    except (urllib.error.URLError, ConnectionError, TimeoutError):
        return False


def port(text: str) -> int:
    """A port number, 1 to 65535; ValueError otherwise."""
    number = int(text)
    if not 1 <= number <= 65535:
        raise ValueError(text)
    return number
