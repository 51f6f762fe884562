"""Audit bags: asked for by a person, made beside the requests, kept for a week.

What is asked for is no fact; that a bag was made is one, with its digest.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from protocols.clocks import utc_text
from stock import access, names
from stock.doors.door import Asking, Door, enter
from stock.doors.files import keeping
from stock.doors.signing_keys import publish_key
from stock.ledger import Told
from stock.models import Export as Export
from stock.models import Person
from stock.queries.exports import KEPT, path_of
from stock.refusals import Refused, refuse

# One that nobody worked at for so long was left lying: its process has ended.
LEFT_AFTER = timedelta(minutes=10)
AT_ONCE_MOST = 3
A_DAY_MOST = 30
State = Export.State


def ask_for_bag(
    person: Person, *, site: UUID, begins: datetime, ends: datetime, address: str, at: datetime
) -> Export:
    """Ask for the records of a span; one that waits already is not asked for again."""
    access.export_from(person, site)
    with keeping(site, at):
        rows = Export.objects.filter(site=site)
        coming = rows.filter(state__in=(State.WAITING, State.MAKING))
        if same := coming.filter(begins=begins, ends=ends, asked_by=person).first():
            return same
        today = rows.filter(asked_at__gt=at - timedelta(days=1)).count()
        if coming.count() >= AT_ONCE_MOST or today >= A_DAY_MOST:
            text = f"At most {AT_ONCE_MOST} at once and {A_DAY_MOST} a day; wait for those."
            raise Refused(refuse("too_many", text, at_once=AT_ONCE_MOST, a_day=A_DAY_MOST))
        return Export.objects.create(
            uid=names.new_uid(at),
            site_id=site,
            begins=begins,
            ends=ends,
            address=address,
            asked_by=person,
            asked_at=at,
        )


# -- Beside the requests -----------------------------------------------------------------------


def take_next(site: UUID, at: datetime) -> Export | None:
    """The oldest that waits, or was left lying; it is being made from here on."""
    left = Q(state=State.MAKING, touched_at__lte=at - LEFT_AFTER)
    due = Export.objects.filter(Q(state=State.WAITING) | left, site=site).order_by("asked_at")
    if not due.exists():
        return None
    with keeping(site, at):
        row = due.first()
        if row is not None:
            row.state, row.touched_at = State.MAKING, at
            row.entries_done = 0
            row.save(update_fields=["state", "touched_at", "entries_done"])
        return row


def tell_progress(row: Export, done: int, of: int, at: datetime) -> None:
    """How far it is, for whoever waits. One UPDATE, without the lock of the site."""
    Export.objects.filter(pk=row.pk).update(entries_done=done, entries_all=of, touched_at=at)


def publish_key_for(row: Export, at: datetime) -> None:
    """The key that seals stands in the record book before the bag is read."""
    publish_key(_asking(row, at))


def finish(row: Export, *, sha256: str, size: int, tree_size: int, entries: int) -> None:
    """It is there: a fact says so, with its digest."""
    at = row.touched_at or row.asked_at
    span = {"from": utc_text(row.begins), "to": utc_text(row.ends)}

    def act(_: object) -> None:
        Export.objects.filter(pk=row.pk).update(
            state=State.READY,
            ready_at=at,
            sha256=sha256,
            size=size,
            tree_size=tree_size,
            entries_done=entries,
            entries_all=entries,
        )

    enter(
        _asking(row, at),
        row.site_id,
        Door(
            load=lambda log: None,
            ask=lambda _: (),
            tell=lambda _: (Told("export_made", {"range": span, "sha256": sha256}),),
            show=lambda _: {},
            act=act,
        ),
    )


def fail(row: Export, why: str) -> None:
    """It could not be made; it is not tried again by itself."""
    Export.objects.filter(pk=row.pk).update(state=State.FAILED, why=why[:500])


def end_old(site: UUID, at: datetime) -> list[UUID]:
    """Delete the files whose time is over; that they were there stays."""
    return list(_ended(site, at))


def _ended(site: UUID, at: datetime) -> Iterator[UUID]:
    old = Export.objects.filter(site=site, state=State.READY, ready_at__lte=at - KEPT)
    for row in old:
        with transaction.atomic():
            Export.objects.filter(pk=row.pk).update(state=State.ENDED)
        path_of(row.uid).unlink(missing_ok=True)
        yield row.uid


def _asking(row: Export, at: datetime) -> Asking:
    name = f"export {row.uid}"
    return Asking(person=row.asked_by, key=name, question=name, now=at, performed_at=at)
