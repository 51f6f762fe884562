"""A batch looked at for a certificate: judged afresh, and all that stands against one."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.certifying import Certifiable, OpenQuestions, certifiable
from protocols.values import Judgement, RulesHistory
from stock.judging.load import judge_world, load


@dataclass(frozen=True, slots=True)
class Examined:
    """A batch judged for a certificate: with its family, the site's rules, and the answer."""

    judgement: Judgement
    family: frozenset[UUID]
    rules: RulesHistory
    found: Certifiable


def examine(batch: UUID, at: datetime, *, known_by: int | None = None) -> Examined:
    """The batch judged afresh, and everything that stands against a certificate for it."""
    world = load([batch], at, known_by=known_by)[batch]
    judgement = judge_world(world, at)
    return Examined(judgement, world.history.family, world.rules, weigh(judgement, at))


def weigh(judgement: Judgement, at: datetime) -> Certifiable:
    """Everything that stands against a certificate for a batch judged like this."""
    return certifiable(judgement, 0, OpenQuestions(), (), (), at=at)
