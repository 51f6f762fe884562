"""Signing keys change: planned, active, retired, compromised. What `manage.py keys` does.

The folder of keys says which key signs; the record books of all organisations are told.
"""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from protocols.kinds.certificates import KEY_PURPOSES
from protocols.signing import kid_of, public_jwk
from stock import keys, ledger, lock
from stock.apply import apply
from stock.certificate_texts import TEXT_KINDS, digest
from stock.doors.signing_keys import news
from stock.ledger import Told
from stock.models import Certificate, CertificateText, Fact, Organisation
from stock.queries.public import payload_of
from stock.queries.signing_keys import is_compromised, known_keys, states_of_keys

# Verifiers keep the published keys for an hour: before that some would not know a new one.
KNOWN_AFTER = timedelta(hours=1)
KEY_SET = "signing_key_set"


class CannotChange(ValueError):
    """The keys are left as they are; the text says why."""


def publish(purpose: str, at: datetime) -> None:
    """Tell every organisation's record book which keys there are, where it does not know."""
    for organisation in Organisation.objects.order_by("uid").values_list("uid", flat=True):
        if news(organisation, purpose):
            with transaction.atomic():
                log = lock.take(organisation)
                for told in news(organisation, purpose):
                    apply(ledger.append(log, ledger.by_the_service(at), told))


def plan(purpose: str, at: datetime) -> str:
    """Make the key that will sign next, and publish it; its kid. Repeating changes nothing."""
    publish(purpose, at)  # what signs until now has to be known, so that it can be retired
    keys.plan_key(purpose)
    publish(purpose, at)
    planned = keys.planned_key(purpose)
    assert planned is not None
    return public_jwk(planned)["kid"]


def activate(purpose: str, at: datetime) -> str:
    """Let the planned key sign from now on; its kid. Raises CannotChange.

    The key before is retired: it signs nothing more, and what it signed stays checkable.
    """
    planned = keys.planned_key(purpose)
    if planned is None:
        raise CannotChange(f"No key for {purpose} is planned: plan one first.")
    publish(purpose, at)
    kid = public_jwk(planned)["kid"]
    known = known_keys(purpose).get(kid)
    if known is not None and at < known.since + KNOWN_AFTER:
        ready = known.since + KNOWN_AFTER
        raise CannotChange(f"Verifiers may not know it yet: wait until {ready.isoformat()}.")
    keys.take_next(purpose)
    publish(purpose, at)
    return kid


def retire(kid: str, at: datetime) -> None:
    """Give up a planned key before it was used. Raises CannotChange for any other."""
    purpose, state = _known(kid)
    if state == "active":
        raise CannotChange("It signs now: plan another one and activate that.")
    if state != "planned":
        raise CannotChange(f"It is {state} already.")
    keys.drop_planned(purpose)
    publish(purpose, at)


def compromise(kid: str, at: datetime) -> None:
    """The key is, or may be, in other hands: it is taken back, and signs nothing more.

    Raises CannotChange for an unknown key. Repeating it changes nothing.
    """
    purpose, _ = _known(kid)
    for organisation in Organisation.objects.order_by("uid").values_list("uid", flat=True):
        with transaction.atomic():
            log = lock.take(organisation)
            if states_of_keys(organisation, purpose).get(kid, "compromised") != "compromised":
                body = {"kid": kid, "purpose": purpose, "state": "compromised"}
                apply(ledger.append(log, ledger.by_the_service(at), Told(KEY_SET, body)))
    planned = keys.planned_key(purpose)
    if planned is not None and public_jwk(planned)["kid"] == kid:
        keys.drop_planned(purpose)
    publish(purpose, at)  # another one takes the place of a compromised key that is in use


def _known(kid: str) -> tuple[str, str]:
    for purpose in KEY_PURPOSES:
        if (known := known_keys(purpose).get(kid)) is not None:
            return purpose, known.state
    raise CannotChange("No record book knows such a key.")


# -- Signing anew ------------------------------------------------------------------------------


def sign_anew(at: datetime) -> list[str]:
    """Sign every certificate of a compromised key again; their numbers.

    Number, content and address stay. Raises CannotChange where a kept text is not the one
    that was entered, since that would make a forgery genuine.
    """
    rows = Certificate.objects.select_related("batch").order_by("organisation", "version")
    return [row.number for row in rows.iterator() if _signed_anew(row.uid, at)]


def _signed_anew(certificate: UUID, at: datetime) -> bool:
    row = Certificate.objects.get(uid=certificate)
    text = CertificateText.objects.get(certificate=certificate)
    if not is_compromised(row.organisation_id, kid_of(text.token)):
        return False
    with transaction.atomic():
        log = lock.take(row.site_id)
        text = CertificateText.objects.get(certificate=certificate)
        was = digest(text.token)
        if was != _entered(certificate):
            raise CannotChange(f"The text of {row.number} is not the one that was entered.")
        text.token = keys.signed(payload_of(text.token))
        kid = kid_of(text.token)
        if is_compromised(row.organisation_id, kid):
            raise CannotChange("The key that would sign is compromised itself.")
        text.save(update_fields=["token"])
        body = {
            "certificate": row.uid,
            "batch": row.batch_id,
            "kid": kid,
            "was_sha256": was,
            "token_sha256": digest(text.token),
        }
        told = Told("certificate_signed_anew", body)
        apply(ledger.append(log, ledger.by_the_service(at), told))
    return True


def _entered(certificate: UUID) -> str | None:
    """The digest of the signed text by the record book, whatever the rows beside it say."""
    told = Fact.objects.filter(kind__in=TEXT_KINDS, subjects__subject=certificate)
    body = told.order_by("-seq").values_list("body", flat=True).first()
    return body["token_sha256"] if body else None
