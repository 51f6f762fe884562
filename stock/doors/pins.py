"""PIN codes: chosen, given as a first one, and tried at a tablet."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.hashers import check_password, make_password

from protocols import tries as limits
from protocols.pins import may_be_pin
from protocols.proofs import is_enough
from stock import access
from stock.doors import tries
from stock.models import Person
from stock.refusals import NotFound, Refused, refuse


def choose_pin(person: Person, *, pin: str) -> None:
    """Their own code from now on. Raises Refused (unreadable, second_factor).

    Whoever is here by a code chooses none, but for the first one that somebody gave them.
    """
    if not person.pin_to_change and (stands := is_enough(person.proof, needed=False)):
        raise Refused(*stands)
    _refuse_weak(pin)
    if person.pin_to_change and check_password(pin, person.pin):
        text = "That is the code you were given. Choose one that you alone know."
        raise Refused(refuse("unreadable", text, pointer="/pin"))
    _set(person.uid, pin, to_change=False)


def give_first_pin(manager: Person, *, site: UUID, person: UUID, pin: str) -> None:
    """A first code for somebody who works at the site; at its first use they choose another.

    Raises NotFound, Refused (wrong_role, second_factor, unreadable).
    """
    access.site_for(manager, site, access.MANAGERS)
    if not Person.objects.filter(uid=person, is_active=True, roles__site=site).exists():
        raise NotFound
    _refuse_weak(pin)
    _set(person, pin, to_change=True)


def try_pin(person: Person, *, pin: str, tablet: UUID, at: datetime) -> None:
    """Nothing if it is right; at most 5 wrong ones by person and tablet, then the password.

    Raises Refused (not_signed_in, too_many).
    """
    guessed = tries.subject("pin", person.uid, tablet)
    left = tries.take(guessed, limits.PIN, at)
    if not person.pin or not check_password(pin, person.pin):
        text = f"The PIN code is not right. {left} more tries, then only the password."
        raise Refused(refuse("not_signed_in", text, pointer="/pin", left=left))
    tries.forget(guessed)


def is_pin_open(person: Person, tablet: UUID, at: datetime) -> bool:
    """Whether the person can sign in there by PIN code. One query, none without a code."""
    guessed = tries.subject("pin", person.uid, tablet)
    return bool(person.pin) and tries.is_open(guessed, limits.PIN, at)


def open_pin(person: Person, tablet: UUID) -> None:
    """They signed in there by password: their code may be tried again."""
    tries.forget(tries.subject("pin", person.uid, tablet))


def _refuse_weak(pin: str) -> None:
    if wrong := tuple(may_be_pin(pin)):
        raise Refused(*wrong)


def _set(person: UUID, pin: str, *, to_change: bool) -> None:
    Person.objects.filter(uid=person).update(pin=make_password(pin), pin_to_change=to_change)
