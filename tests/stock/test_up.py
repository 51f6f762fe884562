"""`manage.py up`, as a newcomer starts it."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest
from django.conf import settings


@pytest.fixture
def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def up(tmp_path):
    """Start `up` on data of its own, on SQLite whatever this run stands on."""
    started = []

    def start(*options):
        command = [
            sys.executable,
            "manage.py",
            "up",
            "--data",
            str(tmp_path / "data"),
            *options,
        ]
        process = subprocess.Popen(
            command,
            cwd=settings.ROOT,
            env={**os.environ, "DATABASE_URL": ""},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        started.append(process)
        return process

    yield start
    for process in started:
        process.kill()
        process.communicate()


def lines_until(process, text):
    """What it prints up to the line with this text; everything, where that never comes."""
    lines = []
    for line in process.stdout:
        lines.append(line)
        if text in line:
            break
    return "".join(lines)


def test_up_serves_until_it_is_told_to_stop(up, tmp_path, free_port):
    process = up("--port", str(free_port), "--empty", "--test-clock")
    said = lines_until(process, "Ctrl-C stops it")
    with urllib.request.urlopen(f"http://127.0.0.1:{free_port}/health") as answer:
        health = json.load(answer)

    process.send_signal(signal.SIGINT)
    process.communicate(timeout=30)

    assert f"http://127.0.0.1:{free_port}/" in said
    assert "The test clock is on" in said
    assert re.search(r"^Set-up code: \S{16}$", said, re.MULTILINE)
    assert health["test_clock"] is True
    assert health["database"] == "sqlite"
    assert process.returncode == 0
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", free_port)).close()


def test_up_keeps_its_data_for_this_user_alone(up, tmp_path, free_port):
    process = up("--port", str(free_port), "--empty", "--test-clock")
    lines_until(process, "Ctrl-C stops it")

    modes = {one.name: oct(one.stat().st_mode & 0o077) for one in (tmp_path / "data").iterdir()}

    assert oct((tmp_path / "data").stat().st_mode & 0o777) == "0o700"
    assert {"secret_key", "fillmark.sqlite3"} <= set(modes)
    assert set(modes.values()) == {"0o0"}


def test_up_says_when_its_port_is_taken(up, free_port):
    with socket.socket() as other:
        other.bind(("127.0.0.1", free_port))
        other.listen()
        process = up("--port", str(free_port), "--empty")
        said, _ = process.communicate(timeout=60)

    assert process.returncode == 2
    assert f"Port {free_port} cannot be used" in said
    assert f"--port {free_port + 1}" in said
