"""What is too large, or can be in no text, is refused before it is read."""

import io
import os
import subprocess
import sys

import pytest
from django.conf import settings

JSON = "application/json"
FORM = "multipart/form-data; boundary=x"


class Unread(io.RawIOBase):
    """A body that must not be touched."""

    def read(self, size=-1):
        raise AssertionError("the body was read")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("content_type", "most"), [(JSON, 2_500_000), ("text/csv", 2_500_000), (FORM, 22_500_000)]
)
def test_a_request_over_its_limit_is_refused_unread(client, content_type, most):
    answer = client.post(
        "/health",
        content_type=content_type,
        **{"wsgi.input": Unread(), "CONTENT_LENGTH": str(most + 1)},
    )

    assert answer.status_code == 413
    assert answer.json()["code"] == "too_large"
    assert answer.json()["reasons"][0]["numbers"] == {"most_bytes": most}


@pytest.mark.django_db
@pytest.mark.parametrize("length", ["2500000", "", "-1", "many", "\u0663"])
def test_a_request_within_the_limit_or_without_a_length_goes_on(client, length):
    answer = client.generic("POST", "/health", content_type=JSON, CONTENT_LENGTH=length)

    assert answer.status_code != 413


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("query", "pointer"),
    [("site=a%00", "/site"), ("a%00b=1", "/ab"), ("site=1&site=%00", "/site")],
)
def test_a_query_with_a_nul_is_refused_where_it_stands(client, query, pointer):
    answer = client.get(f"/api/v1/batches?{query}")

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")
    assert answer.json()["reasons"][0]["pointer"] == pointer


@pytest.mark.parametrize("name", ["FILLMARK_HTTPS", "FILLMARK_HOSTS"])
def test_the_test_clock_never_starts_where_others_can_reach_it(name):
    done = subprocess.run(
        [sys.executable, "-c", "import api.settings"],
        cwd=settings.ROOT,
        env={**os.environ, "FILLMARK_TEST_CLOCK": "true", name: "1"},
        capture_output=True,
        text=True,
    )

    assert done.returncode != 0
    assert "test clock is for 127.0.0.1 alone" in done.stderr
