"""Legal holds, and erasing what names people: the record book and its proofs stay whole.

An entry holds of a note or a name only a salted digest; the text beside it, and what is kept
of a person, can go. That it was erased, by whom and why, is an entry again.
"""

import json
from collections.abc import Iterator, Sequence
from typing import Any
from uuid import UUID

from django.contrib.auth.hashers import make_password
from django.db.models import Q, TextField
from django.db.models.functions import Cast

from protocols.retention import may_erase, under_hold
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import (
    Answer,
    Batch,
    CalendarAddress,
    DeviceToken,
    Fact,
    FactText,
    LegalHoldRow,
    OwnAddress,
    Person,
    RecoveryCode,
    Token,
)
from stock.queries.retention import (
    ERASED,
    concerned,
    hold_row,
    sites_told_by,
    standing_holds,
)
from stock.refusals import NotFound, refuse


def place_legal_hold(asking: Asking, *, site: UUID, batches: Sequence[UUID]) -> Answered:
    """What concerns these batches, or without any the site, is kept until it is lifted."""
    access.site_for(asking.person, site, access.MANAGERS)
    if Batch.objects.filter(site=site, uid__in=batches).count() < len(set(batches)):
        raise NotFound
    uid = asking.new_uid()
    body = {"legal_hold": uid, "batches": list(dict.fromkeys(batches))}
    return enter(
        asking,
        site,
        Door(
            load=lambda log: None,
            ask=lambda _: _with_reason(asking),
            tell=lambda _: (Told("legal_hold_placed", body, texts=asking.texts),),
            show=lambda _: {"legal_hold": {"uid": str(uid)}},
        ),
    )


def lift_legal_hold(asking: Asking, *, hold: UUID) -> Answered:
    """It need not be kept any more. Raises NotFound, Refused (already_applied)."""
    row = hold_row(hold)
    if row is None:
        raise NotFound
    access.site_for(asking.person, row.site_id, access.MANAGERS)

    def ask(found: LegalHoldRow) -> Iterator[Reason]:
        yield from _with_reason(asking)
        if found.lifted_at is not None:
            yield refuse("already_applied", "This hold was lifted already.")

    return enter(
        asking,
        row.site_id,
        Door(
            load=lambda log: LegalHoldRow.objects.get(uid=hold),
            ask=ask,
            tell=lambda _: (Told("legal_hold_lifted", {"legal_hold": hold}),),
            show=lambda _: {"legal_hold": {"uid": str(hold)}},
        ),
    )


def erase_texts(asking: Asking, *, site: UUID, facts: Sequence[UUID]) -> Answered:
    """Erase every text beside these entries of a site. The entries and their proofs stay.

    Raises NotFound, Refused (reason_missing, legal_hold, too_early).
    """
    access.site_for(asking.person, site, access.MANAGERS)
    wanted = list(dict.fromkeys(facts))
    if not wanted or Fact.objects.filter(log=site, uid__in=wanted).count() < len(wanted):
        raise NotFound

    def ask(_: object) -> Iterator[Reason]:
        yield from _with_reason(asking)
        reports = concerned(site, wanted, asking.now)
        yield from may_erase(reports, standing_holds(site), asking.now)

    def erase(_: object) -> None:
        FactText.objects.filter(fact__in=wanted).delete()

    return enter(
        asking,
        site,
        Door(
            load=lambda log: None,
            ask=ask,
            tell=lambda _: (Told("texts_erased", {"of": wanted}),),
            act=erase,
            show=lambda _: {"erased": len(wanted)},
        ),
    )


def erase_name(asking: Asking, *, person: UUID) -> Answered:
    """Erase the name, address and secrets of somebody whose account is ended.

    What they told stays theirs by a uid that names nobody. Raises NotFound, Refused
    (reason_missing, contradicts_record, legal_hold).
    """
    organisation = access.organisation_for(asking.person, access.MANAGERS)
    row = Person.objects.filter(uid=person, organisation=organisation.uid).first()
    if row is None:
        raise NotFound
    for one in row.roles.values_list("site", flat=True).distinct():
        access.site_for(asking.person, one, access.MANAGERS)

    def ask(found: Person) -> Iterator[Reason]:
        yield from _with_reason(asking)
        if found.is_active:
            yield refuse("contradicts_record", "End the account first.")
        if any(standing_holds(site) for site in sites_told_by(person)):
            yield under_hold()

    return enter(
        asking,
        organisation.uid,
        Door(
            load=lambda log: Person.objects.get(uid=person),
            ask=ask,
            tell=lambda _: (Told("name_erased", {"person": person}),),
            act=_forget,
            show=lambda _: {"person": {"uid": str(person)}},
        ),
    )


def _forget(person: Person) -> None:
    """Everything that says who it was; answers kept for repeats may have said it too."""
    for model in (Token, RecoveryCode, OwnAddress, CalendarAddress, DeviceToken):
        model.objects.filter(person=person).delete()
    for text in {person.name, person.email}:
        _forget_answers(text)
    Person.objects.filter(uid=person.uid).update(
        name=f"({str(person.uid)[-6:]})",  # tells them apart, and names nobody
        email=f"{person.uid}@{ERASED}",
        password=make_password(None),
        pin="",
        second_factor="",
        last_login=None,
        units={},
        language="",
    )


def _forget_answers(text: str) -> None:
    """Engines keep what is not ASCII in two ways."""
    said: Any = Answer.objects.annotate(said=Cast("body", TextField()))
    ways = {json.dumps(text), json.dumps(text, ensure_ascii=False)}
    found = Q(pk=None)
    for one in ways:
        found |= Q(said__contains=one)
    said.filter(found).delete()


def _with_reason(asking: Asking) -> Iterator[Reason]:
    if not asking.reason:
        yield refuse("reason_missing", "Say why.", pointer="/reason")
