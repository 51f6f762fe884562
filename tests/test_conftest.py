"""The tests' own ground: a skip is seen, calls are really together, tables can be emptied."""

import os
import subprocess
import sys
import threading

import pytest
from django.conf import settings
from django.db import connection

from stock import triggers

A_SKIP = """
import pytest

@pytest.mark.skip(reason="no reason")
def test_nothing():
    pass

@pytest.mark.xfail(strict=True, reason="known")
def test_known_to_fail():
    assert 1 == 2
"""


@pytest.mark.parametrize(("watched", "code"), [("true", 1), ("", 0)])
def test_a_skip_fails_the_run_where_nobody_watches(tmp_path, watched, code):
    (tmp_path / "test_it.py").write_text(A_SKIP)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "tests.conftest"]
    command += [f"--rootdir={tmp_path}", "-p", "no:cacheprovider", str(tmp_path)]

    done = subprocess.run(
        command,
        cwd=settings.ROOT,
        env={**os.environ, "CI": watched, "DJANGO_SETTINGS_MODULE": "api.settings"},
        capture_output=True,
        text=True,
    )

    assert done.returncode == code, done.stdout
    assert ("skipped tests fail the run" in done.stdout) is bool(code)


def test_together_runs_calls_at_the_same_moment(together):
    meeting = threading.Barrier(2, timeout=30)

    outcomes = together(meeting.wait, meeting.wait)

    assert sorted(outcomes) == [0, 1]


def test_together_gives_an_error_as_an_outcome(together):
    outcomes = together(lambda: "done", lambda: 1 / 0)

    assert outcomes[0] == "done"
    assert isinstance(outcomes[1], ZeroDivisionError)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("round_no", [1, 2])
def test_after_a_test_with_real_transactions_every_trigger_is_back(round_no):
    assert triggers.missing(connection) == []
