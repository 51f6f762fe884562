#!/usr/bin/env python3
"""Start a command; before that make `.venv` from the lock file where it is missing or old."""

import hashlib
import importlib.util
import os
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
PYTHON = VENV / ("Scripts" if os.name == "nt" else "bin") / "python"
STAMP = VENV / "stamp"
LOG = VENV / "pip.log"
# A system may have some Django of its own; these together are only in an environment of ours.
OURS = ("django", "rest_framework", "django_htmx", "csp", "psycopg", "gunicorn")


def main() -> None:
    """Make the environment if asked to, then hand over to Django."""
    if sys.version_info < (3, 11):
        sys.exit(f"Fillmark needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    testing = sys.argv[1:2] == ["test"]
    if os.environ.get("FILLMARK_MAKE_VENV", "true") != "false" and not has_packages(testing):
        make_environment(testing)
        os.execv(PYTHON, [str(PYTHON), *sys.argv])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


def has_packages(testing: bool) -> bool:
    """Whether this very interpreter can already run the command."""
    if Path(sys.prefix).resolve() == VENV:
        return is_fresh(testing)
    wanted = (*OURS, "pytest") if testing else OURS
    return all(importlib.util.find_spec(name) for name in wanted)


def locks(testing: bool) -> list[Path]:
    """The lock files that will do, the one to install first."""
    runtime, test = HERE / "docker/requirements.lock", HERE / "docker/requirements-test.lock"
    return [test] if testing else [runtime, test]


def stamp_of(lock: Path) -> str:
    """What the stamp says once this lock is installed for this Python."""
    digest = hashlib.sha256(lock.read_bytes()).hexdigest()
    return f"{lock.name} {digest} {sys.version_info[0]}.{sys.version_info[1]}\n"


def is_fresh(testing: bool) -> bool:
    """Whether `.venv` holds what one of the lock files asks for."""
    return STAMP.exists() and STAMP.read_text() in map(stamp_of, locks(testing))


def make_environment(testing: bool) -> None:
    """Install the lock file into `.venv`; two commands at once wait for each other."""
    import fcntl

    with (HERE / "pyproject.toml").open() as gate:
        fcntl.flock(gate, fcntl.LOCK_EX)
        if is_fresh(testing):
            return
        # The test set holds the runtime set: once there, it stays.
        had_tests = STAMP.exists() and "-test" in STAMP.read_text()
        STAMP.unlink(missing_ok=True)
        lock = locks(testing or had_tests)[0]
        make_venv()
        install(lock)
        STAMP.write_text(stamp_of(lock))  # last: half an installation is none


def make_venv() -> None:
    """An empty environment for this Python, unless there is one."""
    config = VENV / "pyvenv.cfg"
    version = f"{sys.version_info[0]}.{sys.version_info[1]}."
    if PYTHON.exists() and f"version = {version}" in config.read_text():
        return
    if not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        package = f"python{version[:-1]}-venv"
        sys.exit(
            f"This Python cannot make a virtual environment (ensurepip is missing).\n"
            f"On Debian and Ubuntu: sudo apt install {package}\n"
            f"Or install docker/requirements.lock yourself and set FILLMARK_MAKE_VENV=false."
        )
    import venv

    say(f"Making {VENV.name} for Python {version[:-1]} ...\n")
    venv.create(VENV, clear=True, with_pip=True)


def install(lock: Path) -> None:
    """Run pip and say what it is at; its own words are kept in `.venv/pip.log`."""
    command = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check"]
    command += ["--no-input", "--progress-bar=off", "--only-binary=:all:", "--require-hashes"]
    started = time.monotonic()
    with LOG.open("wb") as log:
        pip = subprocess.Popen(
            [*command, "-r", str(lock)], stdin=subprocess.DEVNULL, stdout=log, stderr=log
        )
        while pip.poll() is None:
            time.sleep(0.2)
            if sys.stderr.isatty():
                say(f"\r\x1b[K{progress(lock)} ... {time.monotonic() - started:.0f} s")
    if pip.returncode:
        tail = "\n".join(LOG.read_text(errors="replace").splitlines()[-15:])
        sys.exit(f"\nThe packages could not be installed. pip's last words ({LOG}):\n{tail}")
    say(f"{progress(lock)}: done in {time.monotonic() - started:.0f} s.\n")


def progress(lock: Path) -> str:
    """How far pip is, by its own log."""
    total = sum("==" in line for line in lock.read_text().splitlines() if line[:1].isalpha())
    words = LOG.read_text(errors="replace")
    if "Installing collected" in words:
        return f"Installing {total} packages"
    return f"Fetching package {words.count('Collecting ')} of {total}"


def say(text: str) -> None:
    """Progress is no output of the command: it goes to the error stream."""
    sys.stderr.write(text)
    sys.stderr.flush()


if __name__ == "__main__":
    main()
