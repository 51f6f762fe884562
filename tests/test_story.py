"""The story is a program outside: it starts the service and ends with a good certificate."""

import os
import subprocess
import sys

import pytest
from django.conf import settings

LIST = "fixtures/isla-de-muestra.csv"


def play(*words, **surroundings):
    return subprocess.run(
        [sys.executable, "manage.py", "story", *words],
        cwd=settings.ROOT,
        env={**os.environ, "FILLMARK_MAKE_VENV": "false", **surroundings},
        capture_output=True,
        text=True,
        timeout=300,
    )


@pytest.fixture(scope="module")
def played():
    return play()


def test_the_story_ends_with_a_certificate_that_verifies(played):
    assert played.returncode == 0, played.stderr
    assert "The signature fits the published key" in played.stdout
    assert played.stdout.endswith("The certificate verifies and every sum closes.\n")


def test_it_says_a_line_for_every_step(played):
    steps = [line.split("UTC")[-1].strip() for line in played.stdout.splitlines()]

    assert steps[3].startswith("Delivered")
    assert [step[:6] for step in steps if step.startswith("Move")] == [
        f"Move {number}" for number in range(1, 6)
    ]
    assert "Move 1 after 60 h with 23; 4 more needed" in steps


def test_a_list_that_cannot_be_read_stops_it(tmp_path):
    empty = tmp_path / "list.csv"
    empty.write_text("Box,Bag\n1,1\n")

    stopped = play("--list", str(empty))

    assert stopped.returncode == 1
    assert "The list is not clear" in stopped.stderr
