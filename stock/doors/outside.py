"""A second person from outside: where a site has too few people to confirm each other.

A manager names them and hands them a link. It is good for one late entry, once, for 72 hours;
of its secret only the digest is kept. They get no account: a name beside what they say.
"""

import secrets
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.contrib.auth.hashers import make_password
from django.db import transaction

from protocols.second_person import may_confirm
from protocols.values import Reason
from stock import access, names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.judging.facts import value_of
from stock.ledger import Told
from stock.models import DeviationRow, Fact, OutsideSecond, Person
from stock.queries.outside import OutsideSeen
from stock.queries.people import token_digest
from stock.queries.sites import rules_history
from stock.refusals import NotFound, Refused, refuse

LASTS = timedelta(hours=72)
NOT_HERE = "This site takes no second person from outside. A rule of the site would allow it."


@dataclass(frozen=True, slots=True)
class Link:
    """What the manager hands on; the secret is told this once."""

    secret: str
    name: str


def make_link(asking: Asking, *, question: UUID, name: str) -> Link:
    """A link for `name` to confirm the late entry that this question is about.

    One made before for the same entry and not used ends. Raises NotFound, Refused.
    """
    row = DeviationRow.objects.filter(uid=question, rule="late_unconfirmed").first()
    if row is None:
        raise NotFound
    access.site_for(asking.person, row.site_id, access.MANAGERS)
    if not rules_history(row.site_id).at(asking.now).outside_second:
        raise Refused(Reason("contradicts_record", "outside_second", NOT_HERE))
    if not row.open:
        raise Refused(refuse("contradicts_record", "Somebody has confirmed this already."))
    secret = secrets.token_urlsafe(32)
    with transaction.atomic():
        OutsideSecond.objects.filter(fact=row.cause, used_at=None).delete()
        OutsideSecond.objects.create(
            digest=token_digest(secret),
            site=row.site_id,
            fact=row.cause,
            person=_outsider(asking, name),
            made_by=asking.person,
            made_at=asking.now,
            expires_at=asking.now + LASTS,
        )
    return Link(secret, name)


def confirm_by_link(asking: Asking, seen: OutsideSeen) -> Answered:
    """The outsider says that it was so, and how they know; the link is used up by it.

    `asking` is by that outsider. Raises Refused (reason_missing, own_action, already_applied).
    """

    def load(_: object) -> OutsideSecond | None:
        found = OutsideSecond.objects.filter(digest=seen.digest, used_at=None)
        return found.filter(expires_at__gt=asking.now).first()

    def ask(link: OutsideSecond | None) -> list[Reason]:
        if link is None:
            return [refuse("already_applied", "This link was used, or its time is over.")]
        if not asking.note:
            return [refuse("reason_missing", "Say how you know it.", pointer="/note")]
        late = Fact.objects.get(uid=link.fact)
        return list(may_confirm(asking.person.uid, value_of(late)))

    body = {"of": seen.fact, "outside": True}
    told = Told("confirmed", body, about=seen.fact, texts=asking.texts)

    def use_up(_: object) -> None:
        OutsideSecond.objects.filter(digest=seen.digest).update(used_at=asking.now)

    return enter(
        asking,
        seen.site.uid,
        Door(
            load=load,
            ask=ask,
            tell=lambda _: (told,),
            act=use_up,
            show=lambda _: {"about": str(seen.fact)},
        ),
    )


def _outsider(asking: Asking, name: str) -> Person:
    """A name that nobody signs in with."""
    uid = names.new_uid(asking.now)
    return Person.objects.create(
        uid=uid,
        organisation=asking.person.organisation,
        email=f"{uid}@outside.invalid",
        name=f"{name} (outside second)",
        is_active=False,
        password=make_password(None),
    )
