"""Signing in: address and password, then a code from whoever has a second factor."""

from datetime import datetime
from typing import Any

from django.contrib.auth.hashers import check_password, make_password

from protocols import tries as limits
from protocols.proofs import Proof
from stock import clock
from stock.doors import second_factor, tries
from stock.doors.people import TOKEN_LASTS, new_token, shown_person
from stock.models import Person
from stock.refusals import Refused, refuse

NOBODY = make_password(None)


def check_password_of(*, email: str, password: str, place: str, at: datetime) -> Person:
    """The active person with this address and password; the same refusal for either wrong.

    `place` is where it was asked from: the address of the network, "" if nobody can tell.
    Raises Refused (not_signed_in, too_many).
    """
    address = email.strip().lower()
    both = tries.subject("sign-in", address, place)
    anywhere = tries.subject("address", address)
    anyone = tries.subject("place", place)
    tries.take(both, limits.SIGN_IN, at)
    tries.take(anywhere, limits.ADDRESS, at)
    if place:
        tries.take(anyone, limits.PLACE, at)
    person = Person.objects.filter(email=address, is_active=True).first()
    # As slow for an address that nobody has.
    kept = person.password if person else NOBODY
    if not check_password(password, kept) or person is None:
        raise Refused(refuse("not_signed_in", "Mail address or password is not right."))
    tries.forget(both, anywhere)
    if place:
        tries.give_back(anyone)
    return person


def token_for(*, email: str, password: str, code: str = "", place: str = "") -> dict[str, Any]:
    """A token for a program; its person's second factor is asked for with the password.

    Raises Refused (not_signed_in, second_factor, too_many).
    """
    at = clock.now()
    person = check_password_of(email=email, password=password, place=place, at=at)
    proof = Proof.PASSWORD
    if person.second_factor:
        if not code:
            text = "Send the code of your second factor as well."
            raise Refused(refuse("second_factor", text, pointer="/code"))
        second_factor.check_code(person, code=code, at=at)
        proof = Proof.SECOND_FACTOR
    return {
        "token": new_token(person, at, proof),
        "expires_at": at + TOKEN_LASTS,
        **shown_person(person.uid),
    }
