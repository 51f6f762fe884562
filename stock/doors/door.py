"""The one way in. Every change passes these seven steps, in this order, in one transaction."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.db import IntegrityError, OperationalError, transaction

from protocols.bodies import BodyRefused
from protocols.clocks import corrected, elapsed_text
from protocols.entries import TooLong
from protocols.messengers import may_deliver
from protocols.said import said
from protocols.values import Insist, Reason, Rules, Standing
from stock import access, answers, clock, ledger, lock, names
from stock.answers import Answered
from stock.apply import DOES_NOT_FIT, apply_then_parked, park
from stock.by_rule import follow_rules
from stock.doors.named import refuse_taken
from stock.judging import Consequences, follow
from stock.judging.load import judged
from stock.ledger import DeviceEntry as DeviceEntry
from stock.ledger import Envelope, Told
from stock.models import Batch, Device, Fact, Log, Person
from stock.queries.batches import shown_batch
from stock.queries.devices import doer_at
from stock.queries.sites import rules_history
from stock.refusals import CannotApply, NotFound, Refused, blocking, refuse
from stock.webhooks import tell_events

W = TypeVar("W")
UID_TAKEN = refuse("contradicts_record", "This uid names something else.", pointer="/uid")


@dataclass(frozen=True, slots=True)
class Asking:
    """Who asks, under which key, when it was performed, and in which standing."""

    person: Person
    key: str
    question: str
    now: datetime
    performed_at: datetime
    offset_min: int = 0
    standing: Standing = Standing.ASKED
    doer: UUID | None = None
    insist: tuple[Insist, ...] = ()
    reason: str | None = None
    device: DeviceEntry | None = None
    uid: UUID | None = None
    note: str | None = None
    files: tuple[str, ...] = ()
    asker: UUID | None = None  # whose key it is, where another brings what they entered

    @property
    def owner(self) -> UUID:
        """Whose request key it is: an entry is answered once, whoever brings it."""
        return self.asker or self.person.uid

    @property
    def texts(self) -> dict[str, str]:
        """The note of the request, as an erasable text of its first fact."""
        return {} if self.note is None else {"note": self.note}

    @property
    def people(self) -> frozenset[UUID]:
        """Who did it, and whose sign-in says so."""
        return frozenset({self.person.uid, self.doer or self.person.uid})

    def new_uid(self) -> UUID:
        """The uid that the asker's device chose, else a new one."""
        return self.uid or names.new_uid(self.now)


@dataclass(frozen=True, slots=True)
class Door(Generic[W]):
    """What differs from door to door.

    `load` reads the world under the lock, `ask` puts the pure rules to it, `tell` says which
    facts to enter, `show` reads what the asker gets to see. Each fact is entered before the
    next one is asked for, so a later one may say where the record book stands. `act` changes
    what no fact tells, such as who took a task. `batch` is the batch whose new state belongs
    to the answer. What is parked made nothing that could be shown, except where the door
    `shows_parked`.
    """

    load: Callable[[Log], W]
    ask: Callable[[W], Iterable[Reason]]
    tell: Callable[[W], Iterable[Told]]
    show: Callable[[W], dict[str, Any]]
    act: Callable[[W], None] | None = None
    batch: UUID | None = None
    shows_parked: bool = False


def enter(asking: Asking, log: UUID, door: Door[W]) -> Answered:
    """Take a change through: all of it or nothing."""
    try:
        with transaction.atomic():
            return _pass(asking, log, door)
    except BodyRefused as error:
        raise Refused(*error.reasons) from error
    except TooLong as error:
        raise Refused(refuse("too_large", "That is more than one entry holds.")) from error
    except OperationalError as error:
        raise Refused(refuse("busy", "Somebody else is writing; try again.")) from error


def _pass(asking: Asking, log_uid: UUID, door: Door[W]) -> Answered:
    log = lock.take(log_uid)
    if kept := answers.find(asking.owner, asking.key, asking.question):
        return kept
    clock.advance(log.uid, asking.now)
    _hands_are_ours(asking, log)
    _uid_is_new(asking, log)
    world = door.load(log)
    _refuse_or_go_on(asking, log, (*_about_the_request(asking, log), *door.ask(world)))
    if door.act is not None:
        door.act(world)
    envelope = _envelope(asking)
    facts = [_append(log, envelope, told) for told in door.tell(world)]
    fitting = [_apply_or_park(asking, fact) for fact in facts]
    news = {one.uid: one for more in fitting for one in more}
    parked = [fact.uid not in news for fact in facts]
    tell_events(log, news.values(), asking.now)
    consequences = follow(log, _each_once(facts, news), at=asking.now)
    follow_rules(log, consequences.judgements, asking.now)
    body = {
        "fact": shown_fact(facts[0], parked=parked[0]) if facts else None,
        "deviations": consequences.deviations,
        "tasks_changed": consequences.tasks_changed,
    }
    if door.shows_parked or not any(parked):
        body |= door.show(world) | _batch_shown(door, facts, consequences, asking.now)
    answer = Answered(201, body)
    answers.keep(asking.owner, asking.key, asking.question, answer, asking.now)
    return answer


def _batch_shown(
    door: Door[W], facts: Sequence[Fact], consequences: Consequences, at: datetime
) -> dict[str, Any]:
    """The batch of the answer, as it was judged on the way, or judged for it.

    Put in with others, they are the joined batch.
    """
    if door.batch is None:
        return {}
    joined = (UUID(one.body["batch"]) for one in facts if one.kind == "batches_joined")
    uid = next(joined, door.batch)
    batch = Batch.objects.select_related("site").get(uid=uid)
    judgement = consequences.judgements.get(uid) or judged(uid, at)
    return {"batch": shown_batch(batch, judgement, at)}


def _hands_are_ours(asking: Asking, log: Log) -> None:
    """Whose hands did it and which tablet says so; another organisation's are not there."""
    if asking.doer is not None:
        doers = Person.objects.filter(uid=asking.doer, organisation=log.organisation)
        if not doers.exists():
            raise NotFound
    if asking.device is not None:
        devices = Device.objects.filter(uid=asking.device.uid)
        whose = {"site": log.uid} if log.is_of_site else {"site__organisation": log.uid}
        if not devices.filter(**whose).exists():
            raise NotFound


def _uid_is_new(asking: Asking, log: Log) -> None:
    """A device may choose a uid that names nothing yet, at no site of any organisation."""
    if asking.uid is not None:
        refuse_taken(asking.uid, log, UID_TAKEN)


def _about_the_request(asking: Asking, log: Log) -> Iterable[Reason]:
    """Told before it happened, or so late that a reason is needed."""
    rules = rules_history(log.uid).at(asking.now) if log.is_of_site else Rules()
    ahead_s = int((asking.performed_at - asking.now).total_seconds())
    if ahead_s > rules.clock_ahead_max_s:
        text = "It has not happened yet."
        yield refuse("in_future", text, pointer="/performed_at", ahead_s=ahead_s)
    gap_s = int((told_at(asking) - asking.performed_at).total_seconds())
    if asking.device is not None and asking.device.delivered:
        yield from _delivered(asking, log, rules)
    if gap_s > rules.late_reason_after_s and not asking.reason:
        text = said(
            "This is told {gap_s} late. Say why.", gap_s=elapsed_text(timedelta(seconds=gap_s))
        )
        yield refuse("reason_missing", text, pointer="/reason", gap_s=gap_s)


def _delivered(asking: Asking, log: Log, rules: Rules) -> Iterable[Reason]:
    """Another brings it: its doer is named, and cannot sign in or was waited for."""
    doer = doer_at(log.uid, log.organisation, asking.doer or asking.person.uid)
    if doer is None or doer.uid == asking.person.uid:
        yield refuse("unreadable", "Say who did it.", pointer="/doer")
    elif no := may_deliver(told_at(asking), now=asking.now, ended=doer.ended, rules=rules):
        yield no


def told_at(asking: Asking) -> datetime:
    """When somebody told it: a late sync of a tablet is not a late entry."""
    device = asking.device
    if device is None or device.clock_offset_ms is None:
        return asking.now
    return corrected(device.raw_at, device.clock_offset_ms)


# Rules that stand even against what happened: they are about the request, not the animals.
ALWAYS = frozenset(
    {"in_future", "unreadable", "key_reused", "not_found", "not_signed_in", "reason_missing"}
)


def _refuse_or_go_on(asking: Asking, log: Log, reasons: Iterable[Reason]) -> None:
    """Refuse for every reason that stands and that nobody with the right to insisted on."""
    stands = blocking(reasons)
    if asking.standing is not Standing.ASKED:
        stands = tuple(one for one in stands if one.code in ALWAYS)
    if stands and asking.insist:
        insisted = {one.rule for one in asking.insist}
        roles = access.insists_as(asking.person, log.uid)
        stands = tuple(
            one
            for one in stands
            if one.rule not in insisted or roles.isdisjoint(one.may_insist)
        )
    if stands:
        raise Refused(*stands)


def _envelope(asking: Asking) -> Envelope:
    return Envelope(
        doer=asking.doer or asking.person.uid,
        messenger=asking.person.uid,
        performed_at=asking.performed_at,
        offset_min=asking.offset_min,
        recorded_at=asking.now,
        standing=asking.standing,
        group=names.new_uid(asking.now),
        insist=asking.insist,
        reason=asking.reason,
        device=asking.device,
        files=asking.files,
    )


def _append(log: Log, envelope: Envelope, told: Told) -> Fact:
    if told.uid is not None and Fact.objects.filter(uid=told.uid).exists():
        raise Refused(UID_TAKEN)
    return ledger.append(log, envelope, told)


def _each_once(facts: Sequence[Fact], news: Mapping[UUID, Fact]) -> list[Fact]:
    """What was told now, and what was told before and fits only now."""
    return list({**{fact.uid: fact for fact in facts}, **news}.values())


def _apply_or_park(asking: Asking, fact: Fact) -> list[Fact]:
    """Apply the fact; what happened but does not fit is parked, what was asked is refused.

    Gives what fits now: the fact itself, and what was parked and waited for it.
    """
    try:
        return [fact, *apply_then_parked(fact)]
    except CannotApply as misfit:
        if asking.standing is Standing.ASKED:
            raise Refused(misfit.reason) from misfit
        park(fact, misfit.reason)
    except IntegrityError as error:
        if asking.standing is Standing.ASKED:
            raise Refused(DOES_NOT_FIT) from error
        park(fact, DOES_NOT_FIT)
    return []


def shown_fact(fact: Fact, *, parked: bool = False) -> dict[str, Any]:
    return {
        "uid": str(fact.uid),
        "kind": fact.kind,
        "performed_at": fact.performed_at,
        "recorded_at": fact.recorded_at,
        "standing": fact.standing,
        "parked": parked,
    }
