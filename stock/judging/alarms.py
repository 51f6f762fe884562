"""Alarms told at once, with what raised them, to everybody who could do something."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.judging.settled import about
from stock.models import Role, Task
from stock.outbox import Telling, leave

HANDS = ("keeper", "manager", "veterinarian")
SAID = ("nh3_n_mg_l", "nh3_n_most_mg_l", "alarm_mg_l", "marks", "read_at")


def tell_alarms(site: UUID, made: Sequence[Task], *, at: datetime) -> None:
    """Say of an ammonia alarm that it stands: once for each. No query where there is none."""
    alarms = [row for row in made if row.first and "alarm_mg_l" in row.numbers]
    if not alarms:
        return
    roles = Role.objects.filter(site=site, role__in=HANDS)
    to = sorted({str(uid) for uid in roles.values_list("person", flat=True)})
    for row in alarms:
        said: dict[str, Any] = {name: row.numbers[name] for name in SAID}
        telling = Telling(
            f"ammonia:{row.key}", "ammonia_alarm", {**about(row), **said, "to": to}
        )
        leave(site, telling, at)
