"""Handing out notices as calls: who hears what when, one call for one cause."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from protocols import calls
from protocols.clocks import parse_utc
from protocols.quiet import Listener, RoleCalls, when_to_call
from stock import lock, names
from stock.judging.settled import effect
from stock.models import Call, CallItem, Notice, OwnAddress, Role, Sending, Shift, Site
from stock.queries.sites import rules_history

AT_ONCE = 500


@dataclass
class _Site:
    """What has to be known of a site to hand out: its people, settings and recent calls."""

    uid: UUID
    zone: ZoneInfo
    settings: Sequence[RoleCalls]
    listeners: Mapping[str, Listener]
    addresses: Mapping[UUID, list[OwnAddress]]
    recent: dict[tuple[str, str], Call]
    made: list[Call] = field(default_factory=list)
    items: list[CallItem] = field(default_factory=list)
    sendings: list[Sending] = field(default_factory=list)


def hand_out(site: UUID, at: datetime) -> int:
    """Make calls of what waits in the outbox of a site; how many were made.

    However often and in however many processes it runs, each notice reaches each person once.
    """
    waiting = Notice.objects.filter(site=site, sent_at=None, made_at__lte=at)
    if not waiting.exists():
        return 0
    with transaction.atomic():
        lock.take(site)
        notices = list(waiting.order_by("pk")[:AT_ONCE])
        here = _known(site, at)
        for notice in notices:
            _hand_out(here, notice, at)
        Call.objects.bulk_create(here.made)
        CallItem.objects.bulk_create(here.items)
        Sending.objects.bulk_create(here.sendings)
        Notice.objects.filter(pk__in=[one.pk for one in notices]).update(sent_at=at)
    return len(here.made)


def _hand_out(here: _Site, notice: Notice, at: datetime) -> None:
    to = [one for one in notice.body.get("to", ()) if one in here.listeners]
    limit = notice.body.get("limit")
    due = when_to_call(
        to,
        here.listeners,
        sort=calls.sort_of(notice.kind),
        limit=parse_utc(limit) if limit else None,
        settings=here.settings,
        at=at,
        zone=here.zone,
    )
    for person, moment in sorted(due.items()):
        call = _call(here, notice, person, moment, at)
        here.items.append(CallItem(call=call, notice=notice, person_id=UUID(person)))


def _call(here: _Site, notice: Notice, person: str, due: datetime, at: datetime) -> Call:
    """The call that the notice joins, else one of its own, on its way to every address."""
    cause = calls.cause_of(notice.kind, notice.body)
    known = here.recent.get((person, cause))
    if known is not None and _takes_in(known, due, at):
        return known
    call = Call(
        uid=names.new_uid(at),
        site=here.uid,
        person_id=UUID(person),
        kind=notice.kind,
        cause=cause,
        made_at=at,
        due_at=due,
    )
    here.recent[person, cause] = call
    here.made.append(call)
    if at - notice.made_at <= calls.STALE and _is_wanted(notice, person):
        addresses = here.addresses.get(call.person_id, ())
        here.sendings += [Sending(call=call, address=one, at=due) for one in addresses]
    return call


def _takes_in(known: Call, due: datetime, at: datetime) -> bool:
    """Made in this round, not told yet, or an alarm that was told a moment ago."""
    if known.made_at == at or known.due_at > at:
        return known.due_at <= due
    return calls.joins(known.kind, known.made_at, at)


def _is_wanted(notice: Notice, person: str) -> bool:
    """That it is resolved is sent to whom it was sent that it was late; others read it."""
    if notice.kind != "resolved":
        return True
    told = CallItem.objects.filter(
        person=UUID(person), notice__effect__startswith=effect(UUID(notice.body["task"]), "")
    )
    left = (Sending.SENT, Sending.UNDER_WAY, Sending.UNKNOWN)
    return told.filter(call__sendings__state__in=left).exists()


def _known(site: UUID, at: datetime) -> _Site:
    roles = defaultdict(set)
    for person, role in Role.objects.filter(site=site).values_list("person", "role"):
        roles[str(person)].add(role)
    shifts = Shift.objects.filter(site=site, begins__lte=at, ends__gte=at)
    duty = {str(one) for one in shifts.values_list("person", flat=True)}
    addresses = defaultdict(list)
    for one in OwnAddress.objects.filter(person__roles__site=site).distinct():
        addresses[one.person_id].append(one)
    return _Site(
        uid=site,
        zone=ZoneInfo(Site.objects.values_list("zone", flat=True).get(uid=site)),
        settings=rules_history(site).at(at).calls,
        listeners={one: Listener(frozenset(held), one in duty) for one, held in roles.items()},
        addresses=addresses,
        recent=dict(_recent(site, at)),
    )


def _recent(site: UUID, at: datetime) -> Iterator[tuple[tuple[str, str], Call]]:
    """Calls that later notices may join, the newest of each person and cause last."""
    since = at - calls.GATHERED
    rows = Call.objects.filter(site=site)
    for one in (rows.filter(made_at__gt=since) | rows.filter(due_at__gt=at)).order_by(
        "made_at"
    ):
        yield (str(one.person_id), one.cause), one
