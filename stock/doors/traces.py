"""Making a trace, and deciding on what it found.

Made, it is no fact: it finds what the record book says, and changes nothing in it.
"""

from collections.abc import Iterator
from datetime import datetime
from uuid import UUID

from django.db import transaction

from protocols.clocks import utc_text
from protocols.tracing_answer import VERSION, Question, as_data, digest
from protocols.tracing_decisions import may_decide, needs_hold
from protocols.uids import uid_or_none
from stock import access, names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import HoldRow, Person, Trace
from stock.queries.ledger import size_of
from stock.queries.traces import batches_of, found_by, shown
from stock.refusals import NotFound, Refused, refuse


def make_trace(
    person: Person, *, site: UUID, asked: Question, known_by: int | None, at: datetime
) -> Trace:
    """The kept answer to this question; asked again of the same entries, the same one.

    `known_by` is the last entry that counts, absent the newest. Raises NotFound where the
    record book of this site says nothing of the thing; Refused where the times cannot be.
    """
    place = access.site_for(person, site, access.READERS)
    uid = uid_or_none(asked.name.partition(" ")[0])
    if uid is None:
        raise NotFound
    if asked.name == str(uid):
        if not access.is_spoken_of(site, uid):
            raise NotFound
    else:
        access.people_are_ours(place, [uid])
    if asked.since is not None and asked.since > asked.until:
        text = "A trace begins before it ends."
        raise Refused(refuse("unreadable", text, pointer="/until"))
    position = size_of(site) - 1 if known_by is None else known_by
    found, contacts = found_by(place, asked, position)
    question = {
        "of": asked.name,
        "direction": asked.direction,
        "since": None if asked.since is None else utc_text(asked.since),
        "until": utc_text(asked.until),
    }
    answer = as_data(found)
    sealed = digest(question, position, VERSION, answer)
    kept = {
        "uid": names.new_uid(at),
        "made_at": at,
        "made_by": person.uid,
        "question": question,
        "known_by": position,
        "version": VERSION,
        "contacts": contacts,
        "found": answer,
    }
    with transaction.atomic():
        row, _ = Trace.objects.get_or_create(site=site, digest=sealed, defaults=kept)
    return row


def trace_for(person: Person, uid: UUID) -> Trace:
    """A kept trace of a site at which this person may read."""
    row = Trace.objects.filter(uid=uid).first()
    if row is None:
        raise NotFound
    access.site_for(person, row.site, access.READERS)
    return row


def decide_trace(asking: Asking, *, trace: UUID, batch: UUID, decision: str) -> Answered:
    """Say of one batch what the trace means for it. An affected one is put on hold."""
    row = trace_for(asking.person, trace)
    access.site_for(asking.person, row.site, access.DECIDERS)
    access.batch_for(asking.person, batch, access.DECIDERS)
    why = asking.reason or ""
    return enter(
        asking,
        row.site,
        Door(
            load=lambda _: HoldRow.objects.filter(batch=batch, lifted_at=None).exists(),
            ask=lambda _: may_decide(str(batch), batches_of(row), why),
            tell=lambda held: _decided(asking, row, batch, decision, held=held),
            show=lambda _: {"trace": shown(row).data()},
            shows_parked=True,
        ),
    )


def _decided(
    asking: Asking, row: Trace, batch: UUID, decision: str, *, held: bool
) -> Iterator[Told]:
    body = {"trace": row.uid, "digest": row.digest, "batch": batch, "decision": decision}
    yield Told("trace_decided", body, uid=asking.uid, texts=asking.texts)
    if needs_hold(decision, held=held):
        yield Told("hold_placed", {"batch": batch, "why": asking.reason})
