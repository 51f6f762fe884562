"""A second factor: set up, asked for at sign-in, ended; settings of one person, no facts."""

import secrets
from datetime import datetime

from django.db import transaction

from protocols import one_time
from protocols import tries as limits
from protocols.proofs import is_enough
from stock.doors import tries
from stock.models import Person, RecoveryCode
from stock.queries.people import token_digest
from stock.refusals import Refused, refuse
from stock.sealed import seal, unseal

RECOVERY_CODES = 10
WRONG = "The code is not right, or was used already. Type the one that is shown now."


def new_secret() -> str:
    """A secret for an authenticator; nothing is kept before its first code is right."""
    return one_time.secret_of(secrets.token_bytes(20))


def set_up(person: Person, *, secret: str, code: str, at: datetime) -> list[str]:
    """Ask for a code of this secret from now on; ten codes for when the device is lost.

    Raises Refused (second_factor, also to a sign-in by PIN code; too_many).
    """
    if stands := is_enough(person.proof, needed=False):
        raise Refused(*stands)
    guessed = tries.subject("second factor", person.uid)
    tries.take(guessed, limits.SECOND_FACTOR, at)
    step = one_time.matching_step(secret, code, at, after=0)
    if step is None:
        raise _wrong()
    tries.forget(guessed)
    with transaction.atomic():
        kept = {"second_factor": seal(secret), "second_factor_step": step}
        Person.objects.filter(uid=person.uid).update(**kept)
        return _new_recovery_codes(person)


def check_code(person: Person, *, code: str, at: datetime) -> None:
    """Nothing if it is the code of now, or a recovery code, which is used up by it.

    Raises Refused (second_factor, too_many).
    """
    guessed = tries.subject("second factor", person.uid)
    tries.take(guessed, limits.SECOND_FACTOR, at)
    if not (_uses_code(person, code, at) or _uses_recovery_code(person, code)):
        raise _wrong()
    tries.forget(guessed)


def end(person: Person, *, code: str, at: datetime) -> None:
    """Ask for no code any more. Raises as `check_code` does."""
    check_code(person, code=code, at=at)
    with transaction.atomic():
        Person.objects.filter(uid=person.uid).update(second_factor="")
        RecoveryCode.objects.filter(person=person).delete()


def _uses_code(person: Person, code: str, at: datetime) -> bool:
    """Whether it is right, and whether we were the first to use it."""
    secret = unseal(person.second_factor)
    if secret is None:
        return False
    step = one_time.matching_step(secret, code, at, after=person.second_factor_step)
    if step is None:
        return False
    first = Person.objects.filter(uid=person.uid, second_factor_step__lt=step)
    return bool(first.update(second_factor_step=step))


def _uses_recovery_code(person: Person, code: str) -> bool:
    digest = token_digest(one_time.plain_recovery(code))
    return bool(RecoveryCode.objects.filter(person=person, digest=digest).delete()[0])


def _new_recovery_codes(person: Person) -> list[str]:
    RecoveryCode.objects.filter(person=person).delete()
    codes = [
        one_time.recovery_code(secrets.token_bytes(one_time.RECOVERY_BYTES))
        for _ in range(RECOVERY_CODES)
    ]
    RecoveryCode.objects.bulk_create(
        RecoveryCode(digest=token_digest(one_time.plain_recovery(one)), person=person)
        for one in codes
    )
    return codes


def _wrong() -> Refused:
    return Refused(refuse("second_factor", WRONG, pointer="/code"))
