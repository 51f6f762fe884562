"""Whether the kept texts of certificates are those that the record book names by digest."""

import hashlib
from collections.abc import Iterator
from itertools import islice
from typing import Any
from uuid import UUID

from stock.models import CertificateText, Fact

TEXT_KINDS = ("certificate_issued", "certificate_signed_anew")
AT_ONCE = 500


def digest(token: str) -> str:
    """What the record book keeps of a signed text: SHA-256 in hex."""
    return hashlib.sha256(token.encode()).hexdigest()


def first_exchanged(log: UUID) -> int | None:
    """The first entry of a record book whose signed text is missing or another one.

    A text that was signed anew is held against the entry that says so. In constant memory but
    for what was signed anew.
    """
    told = Fact.objects.filter(log=log, kind__in=TEXT_KINDS).order_by("seq")
    anew = told.filter(kind="certificate_signed_anew").values_list("body", flat=True)
    replaced = {body["was_sha256"] for body in anew}
    for some in _some(told.values_list("seq", "body").iterator(chunk_size=AT_ONCE)):
        texts = CertificateText.objects.in_bulk([UUID(body["certificate"]) for _, body in some])
        for seq, body in some:
            text = texts.get(UUID(body["certificate"]))
            fits = text is not None and digest(text.token) == body["token_sha256"]
            if not fits and body["token_sha256"] not in replaced:
                return seq
    return None


def _some(rows: Iterator[tuple[int, Any]]) -> Iterator[list[tuple[int, Any]]]:
    while some := list(islice(rows, AT_ONCE)):
        yield some
