"""What belongs to one person alone: where they are called, what they have read. No facts."""

from collections.abc import Collection
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction

from protocols.addresses import faults, scheme_of
from stock import access, names
from stock.models import Call, OwnAddress, Person, Sending
from stock.refusals import NotFound, Refused, label_taken, refuse
from stock.sealing import seal

ADDRESSES_MOST = 5


def add_address(person: Person, *, label: str, address: str, now: datetime) -> OwnAddress:
    """Be called there too, from now on. The address is sealed and never shown again."""
    address = address.strip()
    wrong = list(faults(address, private_allowed=settings.PRIVATE_ADDRESSES, at="/address"))
    held = OwnAddress.objects.filter(person=person)
    if held.filter(label=label).exists():
        wrong.append(label_taken(label))
    if held.count() >= ADDRESSES_MOST:
        text = f"At most {ADDRESSES_MOST} addresses; take one away first."
        wrong.append(refuse("contradicts_record", text, pointer="/address"))
    if wrong:
        raise Refused(*wrong)
    return OwnAddress.objects.create(
        uid=names.new_uid(now),
        person=person,
        label=label,
        service=scheme_of(address),
        sealed=seal(address),
        made_at=now,
    )


_NOT_SAID = object()


def put_address(
    person: Person, *, label: str, now: datetime, test: bool = False, address: Any = _NOT_SAID
) -> None:
    """Under this label be called at another address, or at none any more (`address` None).

    Where no address is said, what is there stays. With `test` one message is sent there.
    """
    with transaction.atomic():
        known = OwnAddress.objects.filter(person=person, label=label)
        if address is not _NOT_SAID:
            known.delete()
        if isinstance(address, str):
            add_address(person, label=label, address=address, now=now)
        if test:
            found = known.first()
            if found is None:
                raise NotFound
            test_address(person, uid=found.uid, now=now)


def remove_address(person: Person, *, uid: UUID) -> None:
    """Not to be called there any more. Whose it is not, to them it is not there."""
    _own(person, uid).delete()


def test_address(person: Person, *, uid: UUID, now: datetime) -> None:
    """Let one message be sent there, to see whether it arrives; one at a time."""
    address = _own(person, uid)
    with transaction.atomic():
        on_its_way = Sending.objects.filter(
            address=address, call=None, state__in=(Sending.WAITING, Sending.UNDER_WAY)
        )
        if not on_its_way.exists():
            Sending.objects.create(address=address, at=now)


def mark_read(
    person: Person, *, site: UUID, now: datetime, calls: Collection[UUID] | None = None
) -> int:
    """These calls of theirs have been read, or all that they know of; how many more now are."""
    access.site_for(person, site)
    unread = Call.objects.filter(person=person, site=site, read_at=None, due_at__lte=now)
    if calls is not None:
        if Call.objects.filter(person=person, site=site, uid__in=calls).count() < len(calls):
            raise NotFound
        unread = unread.filter(uid__in=calls)
    return unread.update(read_at=now)


def _own(person: Person, uid: UUID) -> OwnAddress:
    found = OwnAddress.objects.filter(person=person, uid=uid).first()
    if found is None:
        raise NotFound
    return found
