"""JSON outward: whole seconds in UTC, uids as text, numbers with a fraction as strings."""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

import orjson
from rest_framework.renderers import BaseRenderer
from rest_framework.response import Response

from stock.answers import Answered

_OPTIONS = orjson.OPT_UTC_Z | orjson.OPT_OMIT_MICROSECONDS | orjson.OPT_NON_STR_KEYS


def to_json(value: Any) -> bytes:
    return orjson.dumps(value, default=_plain, option=_OPTIONS)


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, timedelta):
        return int(value.total_seconds())
    if isinstance(value, Mapping):
        return dict(value)
    if isinstance(value, set | frozenset | tuple):
        return list(value)
    raise TypeError(f"{type(value).__name__} has no form in JSON")


class Json(BaseRenderer):
    media_type = "application/json"
    format = "json"
    charset = None

    def render(self, data: Any, media_type: Any = None, context: Any = None) -> bytes:
        return b"" if data is None else to_json(data)


class ProblemJson(Json):
    media_type = "application/problem+json"


def answered(answer: Answered) -> Response:
    """What a door answered; a repeat says so."""
    if answer.replayed:
        return Response(answer.body, status=200, headers={"Idempotent-Replay": "true"})
    return Response(answer.body, status=answer.status)


def tagged(body: dict[str, Any], version: int) -> Response:
    """A thing with the version that If-Match must name to change it."""
    return Response(body, headers={"ETag": f'"{version}"'})
