"""What stories about work share: staffed hours, tasks, sweeps, and what was told."""

from typing import Any

from tests.walk import Problem, Walk

EVERY_DAY = range(7)


def set_hours(
    walk: Walk,
    begins: str = "08:00",
    ends: str = "20:00",
    *,
    days: Any = EVERY_DAY,
    exceptions: list[dict[str, Any]] | None = None,
    version: int = 0,
) -> int:
    """Staffed hours of the walk's site from now on; the version to change them by."""
    weekly = [{"day": day, "from": begins, "to": ends} for day in days]
    answer = walk.send(
        "PUT",
        f"sites/{walk.site}/hours",
        {"weekly": weekly, "exceptions": exceptions or []},
        **{"If-Match": f'"{version}"'},
    )
    if answer.status_code >= 400:
        raise Problem(answer.status_code, answer.json())
    return int(answer.headers["ETag"].strip('"'))


def set_shift(walk: Walk, person: str, begins: str, ends: str, *, on_call: bool) -> None:
    body = {"person": person, "from": begins, "to": ends, "on_call": on_call}
    walk.post(f"sites/{walk.site}/shifts", body)


def tasks(walk: Walk, what: str | None = None, **about: str) -> list[dict[str, Any]]:
    """The open tasks of the walk's site, of one kind and about one thing, the first first."""
    found = walk.get(f"tasks?site={walk.site}")["tasks"]
    return [
        one
        for one in found
        if what in (None, one["what"]) and all(one[name] == uid for name, uid in about.items())
    ]


def task(walk: Walk, what: str, **about: str) -> dict[str, Any]:
    """The only task of one kind."""
    (found,) = tasks(walk, what, **about)
    return found


def sweep(walk: Walk, at: str) -> dict[str, Any]:
    """Everything that the timetable would do at a moment."""
    return walk.at(at).post("test-clock/sweeps", {"site": walk.site})


def notices(walk: Walk, **body: Any) -> list[dict[str, Any]]:
    """What was left to be told so far: the bodies, each with its kind."""
    found = walk.get(f"sites/{walk.site}/notices?after=0")["notices"]
    told = [{"kind": one["kind"], **one["body"]} for one in found]
    return [one for one in told if all(one.get(name) == value for name, value in body.items())]
