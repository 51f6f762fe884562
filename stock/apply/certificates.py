"""Certificates as rows: what was issued, and what was told of it since."""

from django.db import IntegrityError, transaction

from protocols import issuing
from stock.apply.batches_here import batch_of
from stock.apply.registry import applies
from stock.certificates import told_of
from stock.models import Certificate, CertificateEvent, Fact
from stock.refusals import CannotApply, not_here, refuse


@applies("signing_key_set")
def set_signing_key(fact: Fact) -> None:
    """Whoever needs a public key reads it from the record book: there are few."""


@applies("batch_sealed")
def seal_batch(fact: Fact) -> None:
    batch_of(fact)


@applies("certificate_issued")
def issue_certificate(fact: Fact) -> None:
    """One standing certificate for a batch; its number and places in lists are its own."""
    body = fact.body
    batch = batch_of(fact)
    if Certificate.objects.filter(batch=batch, state__in=issuing.STANDING).exists():
        text = "The batch has a certificate that stands."
        raise CannotApply(refuse("already_certified", text))
    year, counter = issuing.read_number(body["number"])
    row = Certificate(
        uid=body["certificate"],
        version=fact.seq,
        site_id=fact.log_id,
        organisation_id=fact.log.organisation,
        batch=batch,
        number=body["number"],
        year=year,
        counter=counter,
        count=body["count"],
        issued_at=fact.performed_at,
        token_sha256=body["token_sha256"],
        revocation_index=body["status_indexes"]["revocation"],
        suspension_index=body["status_indexes"]["suspension"],
    )
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as error:
        text = "Another site of the organisation certified at the same moment; try again."
        raise CannotApply(refuse("busy", text)) from error


@applies("certificate_signed_anew")
def sign_anew(fact: Fact) -> None:
    """The same content under another key: only the digest of the signed text is another."""
    body = fact.body
    row = Certificate.read(uid=body["certificate"], site=fact.log_id)
    if row is None or row.token_sha256 != body["was_sha256"]:
        raise not_here("certificate")
    row.token_sha256, row.version = body["token_sha256"], fact.seq
    row.save()


@applies(*issuing.STEPS)
def change_certificate(fact: Fact) -> None:
    """Suspended, lifted, superseded, revoked, or ended for some: only after what allows it."""
    body = fact.body
    row = Certificate.read(uid=body["certificate"], site=fact.log_id)
    if row is None or str(row.batch_id) != body["batch"]:
        raise not_here("certificate")
    told = told_of(row)
    by_rule = bool(body.get("by_rule"))
    for reason in issuing.may_follow(
        fact.kind, told.state, held_by_rule=told.by_rule, by_rule=by_rule
    ):
        raise CannotApply(reason)
    CertificateEvent.objects.create(
        fact=fact.uid,
        certificate=row,
        kind=fact.kind,
        at=fact.performed_at,
        count=body.get("count"),
        why=body["cause"],
    )
    row.state, row.version = told_of(row).state, fact.seq
    row.save()
