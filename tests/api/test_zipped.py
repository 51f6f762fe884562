"""What goes over the air compressed, and what does not since it would give something away."""

import pytest
from django.http import HttpResponse
from django.test import RequestFactory

from api.zipped import Zipped

LONG = "<p>many words</p>" * 100


def sent(path="/sites/1/shift", *, by="get", sort="text/html; charset=utf-8", status=200):
    request = getattr(RequestFactory(headers={"Accept-Encoding": "gzip"}), by)(path)
    answer = HttpResponse(LONG, content_type=sort, status=status)
    return Zipped(lambda _: answer)(request).headers.get("Content-Encoding")


def test_a_page_and_a_stylesheet_are_compressed():
    assert sent() == "gzip"
    assert sent("/static/fillmark.css", sort="text/css") == "gzip"


@pytest.mark.parametrize(
    "told",
    [
        pytest.param(
            {"path": "/sites/1/round?room=typed"}, id="a query can be typed by anybody"
        ),
        pytest.param({"by": "post"}, id="an answer to a form repeats what was typed"),
        pytest.param({"status": 404}, id="an error may name what was asked"),
        pytest.param({"sort": "application/json"}, id="answers to programs"),
    ],
)
def test_what_may_repeat_something_of_the_request_is_not(told):
    assert sent(**told) is None
