"""Certificates with what they except, and what became of them: suspended, lifted, revoked."""

import base64
import json
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

from stock.models import Certificate, CertificateText, Dispatch, Fact
from stock.queries.reports.folded import CHUNK, Folded, about, folded, some
from stock.queries.reports.form import Asked, Report, Row, code, moment, number, text

CHANGES = (
    "certificate_suspended",
    "certificate_lifted",
    "certificate_superseded",
    "certificate_revoked",
    "certificate_ended",
)


def rows(asked: Asked) -> Iterator[Row]:
    """By when it happened: each certificate as it was issued, and each change of one."""
    kinds = ("certificate_issued", *CHANGES)
    for chunk in some(folded(asked, kinds, extra=about(asked)), CHUNK):
        uids = {UUID(str(one.body["certificate"])) for one in chunk}
        known = {row.uid: row for row in Certificate.objects.filter(uid__in=uids)}
        said = _said(uids)
        buyers = _buyers(asked, uids)
        for one in chunk:
            uid = UUID(str(one.body["certificate"]))
            yield _row(one, known.get(uid), said.get(uid, {}), buyers[uid])


def _row(one: Folded, row: Certificate | None, said: dict[str, Any], buyers: int) -> Row:
    body, issued = one.body, one.fact.kind == "certificate_issued"
    protocol = said.get("protocol", {})
    return (
        one.at,
        row.number if row else body.get("number"),
        one.fact.kind,
        one.name(body["batch"]),
        body.get("count"),
        f"{protocol['name']}@{protocol['version']}" if issued and protocol else None,
        "; ".join(said.get("remarks", ())) or None if issued else None,
        None if issued else body.get("cause"),
        "by_rule" if body.get("by_rule") else None,
        one.doer,
        buyers,
        body.get("token_sha256"),
        one.state or None,
        one.fact.seq + 1,
    )


def _said(uids: Iterable[UUID]) -> dict[UUID, dict[str, Any]]:
    """What each certificate says, out of the text that was signed. One query."""
    rows = CertificateText.objects.filter(certificate__in=uids)
    return {uid: _subject(token) for uid, token in rows.values_list("certificate", "token")}


def _subject(token: str) -> dict[str, Any]:
    part = token.split(".")[1]
    read = json.loads(base64.urlsafe_b64decode(part + "=" * (-len(part) % 4)))
    return dict(read["credentialSubject"]["quarantine"])


def _buyers(asked: Asked, uids: Iterable[UUID]) -> Counter[UUID]:
    """With how many deliveries each certificate went, as far as it was known. One query."""
    known = Fact.objects.filter(log=asked.site, seq__lte=asked.known_by).values("uid")
    rows = Dispatch.objects.filter(certificate__in=uids, fact__in=known)
    return Counter(uid for uid in rows.values_list("certificate", flat=True) if uid)


CERTIFICATES = Report(
    "certificates",
    (
        *moment("at"),
        *text("number"),
        *code("what"),
        *text("batch"),
        *number("count"),
        *text("protocol", "exceptions", "why"),
        *code("by_rule"),
        *text("by"),
        *number("deliveries"),
        *text("token_sha256"),
        *code("state"),
        *number("entry"),
    ),
    rows,
)
