"""One consignment, from its packing list to a certificate that others verify."""

import os
import re
import socket
import subprocess
import sys
import tempfile
from argparse import ArgumentParser
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

HOST = "127.0.0.1"
LIST = "fixtures/isla-de-muestra.csv"
CODE = re.compile(r"^Set-up code: (\S+)$")
STOPS_S = 30


class Command(BaseCommand):
    """`manage.py story`: a fresh service under the test clock, and a program that uses it."""

    help = "Play one consignment over REST, from a packing list to a verified certificate."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--list", type=Path, default=settings.ROOT / LIST, help=f"Default: {LIST}"
        )

    def handle(self, *, list: Path, **options: Any) -> None:
        with tempfile.TemporaryDirectory(prefix="fillmark-story-") as folder:
            around = surroundings(Path(folder))
            with service(around) as (address, setup_code):
                told = run(around, "-m", "api.story", address, str(list), say=setup_code)
            if told:
                raise CommandError("The story did not come to its end.", returncode=told)
            for check in ("verify", "sums"):
                if run(around, sys.argv[0], check):
                    raise CommandError(f"The record did not pass: {check}")
        self.stdout.write("The certificate verifies and every sum closes.")


def surroundings(folder: Path) -> dict[str, str]:
    """An environment in which nothing of this machine's service is touched."""
    names = ("DATABASE_URL", "REDIS_URL")
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in names and not name.startswith("FILLMARK_")
    }
    return {**kept, "FILLMARK_DATA": str(folder), "FILLMARK_TEST_CLOCK": "true"}


@contextmanager
def service(around: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """The service on a free port with nothing in it: its address and its set-up code."""
    number = free_port()
    command = [sys.executable, sys.argv[0], "up", "--empty", "--test-clock", f"--port={number}"]
    child = subprocess.Popen(
        command, cwd=settings.ROOT, env=dict(around), stdout=subprocess.PIPE, text=True
    )
    try:
        assert child.stdout is not None
        yield f"http://{HOST}:{number}", setup_code_in(child.stdout)
    finally:
        child.terminate()
        child.communicate(timeout=STOPS_S)


def setup_code_in(lines: IO[str]) -> str:
    """Read what `up` prints until it is ready; the code that opens it once."""
    code = ""
    for line in lines:
        if found := CODE.match(line.strip()):
            code = found[1]
        if line.startswith("Fillmark is at"):
            return code
    raise CommandError("The service did not start.")


def run(around: Mapping[str, str], *words: str, say: str = "") -> int:
    """Another program of ours, with its output on ours; its exit code."""
    sys.stdout.flush()
    done = subprocess.run(
        [sys.executable, *words], cwd=settings.ROOT, env=dict(around), input=say, text=True
    )
    return done.returncode


def free_port() -> int:
    """A port that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])
