"""Which changes are events for other programs, told in the transaction of the change."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from protocols.clocks import utc_text
from protocols.reminders import Notice, Stage
from protocols.webhooks import NEAR, OF_FACTS, PASSED, TOLD, Event
from stock.models import Fact, Log, Task
from stock.outbox import leave_event


def tell_events(log: Log, facts: Iterable[Fact], at: datetime) -> None:
    """Leave an event for each of these facts that is one. Call it where they fit the record."""
    if log.is_of_site:
        for event in _events(facts):
            leave_event(log.uid, event, at)


def _events(facts: Iterable[Fact]) -> Iterator[Event]:
    for fact in facts:
        kind = OF_FACTS.get(fact.kind)
        if kind is not None:
            yield Event(f"{kind}:{fact.uid}", kind, fact.recorded_at, _data(fact))


def _data(fact: Fact) -> dict[str, Any]:
    """What goes out of a fact: where it stands in the record book, and whom it is about."""
    said = {name: fact.body[name] for name in TOLD if fact.body.get(name) is not None}
    if "site" in said:  # another one of ours, to which they went
        said["to_site"] = said["site"]
    if fact.kind == "hold_placed":
        said["hold"] = str(fact.uid)
    if fact.kind == "hold_lifted":
        said["batch"] = str(fact.about)
    return {
        **said,
        "site": str(fact.log_id),
        "fact": str(fact.uid),
        "position": fact.seq,
        "performed_at": utc_text(fact.performed_at),
    }


def limit_event(task: Task, stage: Stage, at: datetime) -> Event | None:
    """That a limit is near, or has passed; None for work that has none."""
    if task.limit is None:
        return None
    kind = PASSED if stage.notice is Notice.OVERDUE else NEAR
    about = {"task": task.uid, "batch": task.batch, "container": task.container}
    data = {name: str(uid) for name, uid in about.items() if uid is not None}
    data |= {"site": str(task.site_id), "what": task.what, "limit": utc_text(task.limit)}
    return Event(f"{kind}:{task.uid}:{stage.name}", kind, at, data)
