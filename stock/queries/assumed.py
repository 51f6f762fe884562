"""What each answer to an open question would do: the batch judged as if it had been given."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import codes
from protocols.values import Deviation, Fact, Judgement
from stock.judging.load import judged_assuming
from stock.models import DeviationRow

# Who would decide: nobody who told anything.
SOMEBODY = UUID(int=0)


@dataclass(frozen=True, slots=True)
class Assumed:
    """The batch as it is judged now, and by name as it would be."""

    now: Judgement
    then: dict[str, Judgement]

    def question(self, row: DeviationRow) -> Deviation | None:
        """The question as it stands now."""
        found = (one for one in self.now.deviations if _is(one, row))
        return next(found, None)


def if_decided(
    row: DeviationRow, at: datetime, *, decisions: Sequence[str], accounts: Sequence[UUID] = ()
) -> Assumed:
    """The batch of a question after each of these decisions, or with each account standing.

    As many queries as for judging it once.
    """
    names = [*decisions, *(str(uid) for uid in accounts)]

    def answers(now: Judgement) -> Iterable[Fact]:
        known = next((dict(one.numbers) for one in now.deviations if _is(one, row)), {})
        body = {
            "batch": str(row.batch_id),
            "rule": row.rule,
            "cause": str(row.cause),
            "known": known,
        }
        for decision in decisions:
            yield _told("deviation_decided", {**body, "decision": decision}, row, at)
        for uid in accounts:
            choice = {"happening": str(row.cause), "accepted": str(uid)}
            yield _told("account_decided", choice, row, at)

    now, then = judged_assuming(row.batch_id, at, answers)
    return Assumed(now, dict(zip(names, then, strict=True)))


def _told(kind: str, body: dict[str, Any], row: DeviationRow, at: datetime) -> Fact:
    return Fact(
        uid=codes.fact_uid(row.uid, kind, str(body)),
        seq=0,
        kind=kind,
        performed_at=at,
        recorded_at=at,
        doer=SOMEBODY,
        messenger=SOMEBODY,
        body=body,
    )


def _is(one: Deviation, row: DeviationRow) -> bool:
    return (one.rule, one.cause) == (row.rule, row.cause)
