"""Every REST route there is, found in the resolver, with its row of the table.

In the table `{batch}` is the uid of what bears that name in `shops.py`; in a path stands
what `FIRST` says, unless the row says which. A route without a row fails the tests by name.
"""

import copy
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from tests.api.asked import FIRST, ROWS, Row

API = "api/v1/"
# What can be asked without signing in, and why.
OPEN = {
    "GET schema": "it says nothing that the program's text does not",
    "POST organisations": "nobody can sign in before the first one is made",
    "POST tokens": "it is how one signs in",
}


@dataclass(frozen=True)
class Route:
    """One method of one address, such as `POST batches/<uid>/moves`."""

    method: str
    address: str

    @property
    def name(self) -> str:
        return f"{self.method} {self.address}"

    @property
    def enters(self) -> bool:
        """Whether it goes through a door, with all the fields that every entry may have."""
        return self.method != "GET" and self.row.status not in (200, 202) and not self.row.form

    @property
    def row(self) -> Row:
        return ROWS[self.name]

    @property
    def subject(self) -> str | None:
        """Whose uid stands in the path, by its name in `shops.py`."""
        if "<" not in self.address:
            return None
        return self.row.of or FIRST[self.address.partition("/")[0]]

    def path(self, uid: str) -> str:
        query = f"?{self.row.query}" if self.row.query else ""
        return f"/{API}{re.sub('<[a-z:]+>', uid, self.address)}{query}"

    def body(self, uids: Mapping[str, str]) -> Any:
        return filled(self.row.body, uids)


def every_route() -> list[Route]:
    """Those below `api/v1/`, methods apart."""
    found = []
    for address, view in walk(get_resolver().url_patterns):
        if not address.startswith(API):
            continue
        name = re.sub(r"<uuid:(\w+)>", r"<\1>", address.removeprefix(API))
        cls: Any = getattr(view.callback, "view_class", None) or view.callback.cls  # type: ignore[attr-defined]
        methods = [
            one for one in ("get", "post", "put", "patch", "delete") if hasattr(cls, one)
        ]
        found += [Route(one.upper(), name) for one in methods]
    return found


def walk(patterns: Any, prefix: str = "") -> Iterator[tuple[str, URLPattern]]:
    for one in patterns:
        address = prefix + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from walk(one.url_patterns, address)
        else:
            yield address, one


def filled(value: Any, uids: Mapping[str, str]) -> Any:
    """The value with uids in place of their names."""
    if isinstance(value, Mapping):
        return {name: filled(one, uids) for name, one in value.items()}
    if isinstance(value, list):
        return [filled(one, uids) for one in value]
    if isinstance(value, str):
        return re.sub(r"\{(\w+)\}", lambda found: uids[found[1]], value)
    return copy.copy(value)


def names_in(
    value: Any, pointer: tuple[Any, ...] = ()
) -> Iterator[tuple[tuple[Any, ...], str]]:
    """Where in a body of the table uids stand, and what each is called."""
    if isinstance(value, Mapping | list):
        pairs = value.items() if isinstance(value, Mapping) else enumerate(value)
        for name, one in pairs:
            yield from names_in(one, (*pointer, name))
    elif isinstance(value, str) and (found := re.fullmatch(r"\{(\w+)\}", value)):
        yield pointer, found[1]


def with_value(body: Any, pointer: tuple[Any, ...], value: Any) -> Any:
    """A copy of the body with something else at one place."""
    changed = copy.deepcopy(body)
    at = changed
    for name in pointer[:-1]:
        at = at[name]
    at[pointer[-1]] = value
    return changed
