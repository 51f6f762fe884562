"""Which record book something is in, for somebody who may see it."""

from uuid import UUID

from stock import access
from stock.models import DeviationRow, Fact, Person, Task
from stock.refusals import NotFound


def log_of_fact(person: Person, fact: UUID) -> UUID:
    """The record book of a fact; NotFound where the person may not see it."""
    row = Fact.objects.filter(uid=fact).values_list("log", flat=True).first()
    return _visible(person, row)


def log_of_deviation(person: Person, deviation: UUID) -> UUID:
    """The site whose question this is; NotFound where the person may not see it."""
    row = DeviationRow.objects.filter(uid=deviation).values_list("site", flat=True).first()
    return _visible(person, row)


def log_of_task(person: Person, task: UUID) -> UUID:
    """The site whose work this is; NotFound where the person may not see it."""
    row = Task.objects.filter(uid=task).values_list("site", flat=True).first()
    return _visible(person, row)


def _visible(person: Person, log: UUID | None) -> UUID:
    if log is None:
        raise NotFound
    access.log_for(person, log)
    return log
