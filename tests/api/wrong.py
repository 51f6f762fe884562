"""Everything that can be wrong in a request, made out of a good one."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from stock.models import Fact
from tests.api.asking import send
from tests.api.every_route import Route, with_value
from tests.walk import Walk

HUGE = 10**30
Pointer = tuple[Any, ...]
# Times without offset, unreadable, never existing, beyond what a calendar or a clock can hold.
TIMES = (
    "2027-02-06T05:00:00",
    "yesterday",
    "2027-02-30T05:00:00Z",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-14:00",
    "2027-02-06T05:00:00+99:00",
    "2999-01-01T00:00:00Z",
    1770354000,
)
NUMBERS: tuple[Any, ...] = (-1, 0, 1.5, True, "5", 1_000_001, HUGE, -HUGE)
TEXTS = ("", " ", "\u0000", "a" * 100_000, "\u202e", "1e999", "-", ".", "٣", "NaN")
OTHERS: tuple[Any, ...] = (None, [], {}, [[]], [None], {"a": {}}, 7, 0.1, False, ["a"] * 3000)
# The fields that every entry may have, each wrong in its own way.
COMMON: tuple[tuple[str, Any], ...] = (
    *(("performed_at", one) for one in TIMES),
    ("standing", "perhaps"),
    ("standing", 1),
    ("insist", "all"),
    ("insist", [{"rule": "x"}]),
    ("insist", [{"rule": "x" * 41, "reason": "y"}]),
    ("insist", [1]),
    ("reason", ["late"]),
    ("reason", "\u0000"),
    ("reason", "a" * 2001),
    ("note", {"a": 1}),
    ("note", "a" * 4001),
    ("doer", "Mara"),
    ("uid", "1"),
    ("uid", 1),
    ("files", ["a.png"]),
    ("files", "0" * 64),
    ("device", "Tablet"),
    ("device", {}),
)


# What is no JSON object at all, or one that the record book could not keep.
RAW: tuple[bytes, ...] = (
    b"{",
    b"[]",
    b'"text"',
    b"5",
    b"null",
    b"{'a': 1}",
    b'{"note": NaN}',
    b'{"note": "\xff"}',
    b'{"note": "\\ud800"}',
    b'{"note": "\\u0000"}',
    b'{"\\u0000": 1}',
    b"[" * 100_000,
    b'{"a":' * 100_000,
    b'{"note": ' + b"[" * 40 + b"]" * 40 + b"}",
    b"\xef\xbb\xbf{}",
    b"\x00",
)
# Queries that cannot be read, by what they should have been.
JUNK = {
    ("at", "day", "from", "to"): ("soon", "0001-01-01T00:00:00%2B14:00"),
    ("after", "known_by", "limit"): ("-1", "--5", "9" * 40, "%C2%B2"),
    ("site", "state", "open", "protocol", "quantity"): ("", "%00", "%F0%9F%90%A0"),
}
QUERIES = [
    f"{name}={value}" for names, values in JUNK.items() for name in names for value in values
]


def leaves(body: Any, pointer: Pointer = ()) -> Iterator[tuple[Pointer, Any]]:
    """Every place of a body, containers as well as single values, with what stands there."""
    if pointer:
        yield pointer, body
    if isinstance(body, Mapping | list):
        pairs = body.items() if isinstance(body, Mapping) else enumerate(body)
        for name, one in pairs:
            yield from leaves(one, (*pointer, name))


def wrong_values(value: Any) -> tuple[Any, ...]:
    """What nobody should type where this stands."""
    if isinstance(value, bool):
        return (*OTHERS, "yes", 2)
    if isinstance(value, int):
        return (*NUMBERS, *OTHERS)
    if isinstance(value, str) and value[-1:] == "Z":
        return (*TIMES, *OTHERS)
    return (*TEXTS, *OTHERS)


def wrong_bodies(body: Any) -> Iterator[tuple[str, Any]]:
    """Bodies with one thing wrong or missing, each with a word about what."""
    for pointer, value in leaves(body):
        here = "/" + "/".join(map(str, pointer))
        for one in wrong_values(value):
            yield f"{here} = {str(one)[:40]!r}", with_value(body, pointer, one)
        if isinstance(pointer[-1], str):
            yield f"no {here}", without(body, pointer)


def without(body: Any, pointer: Pointer) -> Any:
    changed = with_value(body, pointer, None)
    at = changed
    for name in pointer[:-1]:
        at = at[name]
    del at[pointer[-1]]
    return changed


def faults_of(walk: Walk, route: Route, uid: str, body: Any) -> list[str]:
    """The ways in which a route answers badly to a body with one thing wrong."""
    found = []
    for what, wrong in wrong_bodies(body):
        found += [f"{what}: {fault}" for fault in faults(walk, route, uid, json.dumps(wrong))]
    return found


def common_faults(walk: Walk, route: Route, uid: str, body: Any) -> list[str]:
    """The same of the fields that every entry may have; each of these must be refused."""
    found = []
    for name, value in COMMON:
        answer = send(walk, route, uid, json.dumps({**body, name: value}))
        where = [one.get("pointer", "") for one in answer.json().get("reasons", ())]
        if answer.status_code != 400 or not any(one.startswith(f"/{name}") for one in where):
            found.append(f"{name} = {str(value)[:40]!r}: {answer.status_code} {where}")
    return found


def raw_faults(walk: Walk, route: Route, uid: str) -> list[str]:
    """The ways in which a route answers badly to what is no JSON object."""
    found = []
    for data in RAW:
        answer = send(walk, route, uid, data)
        if answer.status_code != 400 or list(problem_faults(answer)):
            found.append(f"{data[:30]!r}: {answer.status_code} {answer.content[:200]!r}")
    return found


def query_faults(walk: Walk, route: Route, uid: str) -> list[str]:
    """The ways in which a GET answers badly to a query."""
    found = []
    for query in QUERIES:
        address = route.path(uid)
        joined = f"{address}{'&' if '?' in address else '?'}{query}"
        answer: Any = walk.send("GET", joined)
        answer.getvalue()
        faulty = list(problem_faults(answer)) if answer.status_code >= 400 else []
        found += [f"{query}: {fault}" for fault in faulty]
    return found


def faults(walk: Walk, route: Route, uid: str, data: str | bytes) -> list[str]:
    """What is wrong with an answer: a crash, a refusal without a code, something stored."""
    before = Fact.objects.count()
    answer = send(walk, route, uid, data)
    if answer.status_code < 400:
        return []
    found = [] if Fact.objects.count() == before else ["something was stored"]
    return [*found, *problem_faults(answer)]


def problem_faults(answer: Any) -> Iterator[str]:
    """What a problem lacks; also what is no problem but a crash."""
    if answer.status_code >= 500:
        yield f"{answer.status_code}: {answer.exc_info and answer.exc_info[1]!r}"[:200]
        return
    if answer.headers["Content-Type"] != "application/problem+json":
        yield f"{answer.status_code} is no problem"
        return
    said = answer.json()
    if not said["code"] or said["status"] != answer.status_code or not said["reasons"]:
        yield f"{said} says too little"
    if said["status"] == 400 and not any("pointer" in one for one in said["reasons"]):
        yield f"{said} does not say where"
