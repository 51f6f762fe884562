"""Asking twice is safe: what a request key was answered is kept with the change itself."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from stock.models import Answer
from stock.refusals import Refused, refuse


@dataclass(frozen=True, slots=True)
class Answered:
    """What a door answers. `replayed` says that it was done before and not again."""

    status: int
    body: dict[str, Any]
    replayed: bool = False


def find(person: UUID, key: str, question: str) -> Answered | None:
    """The answer given before under this key; the same key for another question is refused."""
    kept = Answer.objects.filter(person=person, key=key).first()
    if kept is None:
        return None
    if kept.question != question:
        raise Refused(refuse("key_reused", "This request key was used for something else."))
    return Answered(kept.status, kept.body, replayed=True)


def keep(person: UUID, key: str, question: str, answer: Answered, at: datetime) -> None:
    Answer.objects.create(
        person=person,
        key=key,
        question=question,
        status=answer.status,
        body=answer.body,
        made_at=at,
    )
