"""One task, to know whose it is."""

from uuid import UUID

from stock.models import Task
from stock.refusals import NotFound


def task_seen(uid: UUID) -> Task:
    """The row of a task. One query. Raises NotFound."""
    found = Task.objects.filter(uid=uid).first()
    if found is None:
        raise NotFound
    return found
