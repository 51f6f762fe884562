"""Every stay with its limit, and what was decided where it was longer, by whom and when."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.values import Deviation, Judgement, Stay
from stock.judging.load import judged_many
from stock.models import Batch, Fact, Person
from stock.queries.as_of import AsOf, placed_by
from stock.queries.batches import labels_of
from stock.queries.reports.folded import some
from stock.queries.reports.form import Asked, Report, Row, code, moment, span, text

AT_ONCE = 50
LIMITS = ("stay_over", "stay_unproven", "within_tolerance", "limit_shortened")


@dataclass(frozen=True, slots=True)
class Answer:
    """A decision: by whom, when, and why."""

    by: str | None
    at: datetime
    reason: str | None


def rows(asked: Asked) -> Iterator[Row]:
    """Batches are judged fifty at a time, as at that moment, by what was known then."""
    for chunk in some(_batches(asked), AT_ONCE):
        codes = dict(chunk)
        found = judged_many(codes, asked.at, known_by=asked.known_by)
        labels = labels_of(one for judgement in found.values() for one in judgement.stays)
        answers = _answers(one for each in found.values() for one in each.deviations)
        for uid, name in codes.items():
            if uid in found:
                yield from _of_batch(name, found[uid], labels, answers, asked)


def _batches(asked: Asked) -> Iterator[tuple[UUID, str]]:
    then = AsOf(at=asked.ends, known_by=asked.known_by)
    found = placed_by(Batch.objects.filter(site=asked.site), then)
    if asked.batches:
        found = found.filter(uid__in=asked.batches)
    found = found.exclude(closed_at__lt=asked.begins)
    return found.order_by("placed_at", "code").values_list("uid", "code").iterator()


def _of_batch(
    name: str,
    judgement: Judgement,
    labels: dict[UUID, str],
    answers: dict[UUID, Answer],
    asked: Asked,
) -> Iterator[Row]:
    """Of a batch asked about by name also the stays of those it came out of."""
    over = {one.cause: one for one in judgement.deviations if one.rule in LIMITS}
    for stay in judgement.stays:
        if stay.batch not in (None, judgement.batch) and not asked.batches:
            continue
        ended = None if stay.ended is None else stay.ended.latest
        if stay.began.earliest >= asked.ends or (ended is not None and ended < asked.begins):
            continue
        yield _row(name, stay, labels, over.get(stay.uid), answers, asked)


def _row(
    name: str,
    stay: Stay,
    labels: dict[UUID, str],
    over: Deviation | None,
    answers: dict[UUID, Answer],
    asked: Asked,
) -> Row:
    decided = over.decided_by if over else None
    answer = answers.get(decided) if decided else None
    until = stay.ended.latest if stay.ended else asked.at
    return (
        name,
        labels.get(stay.container),
        labels.get(stay.kit) if stay.kit else None,
        stay.began.latest,
        stay.ended.latest if stay.ended else None,
        until - stay.began.earliest,
        stay.limit - stay.began.earliest if stay.limit else None,
        stay.over or None,
        stay.verdict or None,
        over.rule if over else None,
        over.decided if over else None,
        answer.by if answer else None,
        answer.at if answer else None,
        answer.reason if answer else None,
    )


def _answers(deviations: Iterable[Deviation]) -> dict[UUID, Answer]:
    """The facts by which limits were decided. Two queries."""
    uids = {one.decided_by for one in deviations if one.decided_by and one.rule in LIMITS}
    facts = list(Fact.objects.filter(uid__in=uids))
    people = Person.objects.filter(uid__in={one.doer for one in facts})
    names = dict(people.values_list("uid", "name"))
    return {one.uid: Answer(names.get(one.doer), one.performed_at, one.reason) for one in facts}


INTERVALS = Report(
    "intervals",
    (
        *text("batch", "container", "kit"),
        *moment("began", "ended"),
        *span("stay", "limit", "over"),
        *code("verdict", "question", "decided"),
        *text("decided_by"),
        *moment("decided_at"),
        *text("reason"),
    ),
    rows,
)
