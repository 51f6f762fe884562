"""Child processes end with their parent, and never alone without a word."""

import os
import signal
import subprocess
import sys
import time

import pytest

from stock.management import children
from stock.management.children import Children

ENDLESS = [sys.executable, "-c", "import time; time.sleep(600)"]
STUBBORN = """
import signal, sys, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
open(sys.argv[1], "w").close()
time.sleep(600)
"""
PARENT = """
import subprocess, sys
from stock.management.children import die_with_parent
child = subprocess.Popen(
    [sys.executable, "-c", "import time; time.sleep(600)"], preexec_fn=die_with_parent()
)
print(child.pid, flush=True)
sys.stdin.read()
"""


@pytest.fixture(autouse=True)
def signals_as_before():
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    yield
    for number, handler in before.items():
        signal.signal(number, handler)


def is_gone(pid):
    """Whether a process has ended, a zombie that nobody has collected yet included."""
    try:
        with open(f"/proc/{pid}/stat") as stat:
            return stat.read().rsplit(")", 1)[1].split()[0] == "Z"
    except FileNotFoundError:
        return True


def wait_until(true):
    deadline = time.monotonic() + 30
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.02)


@pytest.mark.parametrize(("end", "code"), [("3", 3), ("0", 1)])
def test_a_child_that_ends_by_itself_is_named_and_ends_all(end, code):
    said = []

    with Children(said.append) as family:
        family.start("endless", ENDLESS)
        family.start("short", [sys.executable, "-c", f"raise SystemExit({end})"])
        result = family.watch()

    assert result == code
    assert said == [f"short ended by itself (code {end}); stopping the others."]


def test_a_child_killed_from_outside_is_a_failure_with_the_signal_in_words():
    said = []

    with Children(said.append) as family:
        family.start("victim", [sys.executable, "-c", "import os; os.kill(os.getpid(), 9)"])
        result = family.watch()

    assert result == 128 + signal.SIGKILL
    assert said == ["victim ended by itself (signal SIGKILL); stopping the others."]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_stop_signal_ends_every_child_and_is_no_failure(number):
    with Children(print) as family:
        family.start("one", ENDLESS)
        family.start("two", ENDLESS)
        os.kill(os.getpid(), number)
        result = family.watch()
        pids = [child.pid for child in family._running.values()]

    assert result == 0
    assert all(is_gone(pid) for pid in pids)


def test_a_child_that_will_not_end_is_killed(monkeypatch, tmp_path):
    monkeypatch.setattr(children, "GRACE_S", 0.1)
    said = []

    with Children(said.append) as family:
        family.start("stubborn", [sys.executable, "-c", STUBBORN, str(tmp_path / "deaf")])
        family.until((tmp_path / "deaf").exists)

    assert said == ["stubborn did not end in 0 s and was killed."]


@pytest.mark.skipif(
    sys.platform != "linux", reason="only Linux tells a child of its parent's end"
)
def test_a_killed_parent_takes_its_children_along():
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    pid = int(parent.stdout.readline())

    parent.kill()
    parent.communicate()

    wait_until(lambda: is_gone(pid))
