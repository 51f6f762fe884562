"""Bodies in JSON, with nothing in them that the record book could not keep."""

from collections.abc import Mapping
from typing import IO, Any

import orjson
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser

from stock.refusals import Refused, refuse

# Far more than any body has; what nests deeper was made to exhaust somebody.
DEPTH_MOST = 32


class JsonBody(BaseParser):
    """JSON by RFC 8259, without lone surrogates, null characters and endless nesting."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        # Read through the request, which keeps it: a digest of the question is made of it too.
        request = (parser_context or {})["request"]
        try:
            found = orjson.loads(request.body)
        except orjson.JSONDecodeError as error:
            raise ParseError(f"This is no JSON: {error}.") from error
        _refuse_unkeepable(found)
        return found


def _refuse_unkeepable(found: Any) -> None:
    """Look at every text, level by level, since a recursion could be exhausted too."""
    level = [("", found)]
    for _ in range(DEPTH_MOST):
        for at, one in level:
            if isinstance(one, str) and "\0" in one:
                text = "Null characters are not allowed."
                raise Refused(refuse("unreadable", text, pointer=at or "/"))
        level = [inner for at, one in level for inner in _inside(at, one)]
        if not level:
            return
    raise ParseError(f"The body is nested deeper than {DEPTH_MOST} times.")


def _inside(at: str, one: Any) -> list[tuple[str, Any]]:
    """What a level holds, each with its pointer; names of members stand at their object."""
    if isinstance(one, dict):
        return [(at, name) for name in one] + [(f"{at}/{name}", one[name]) for name in one]
    return [(f"{at}/{n}", each) for n, each in enumerate(one)] if isinstance(one, list) else []
