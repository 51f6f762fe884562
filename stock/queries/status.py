"""Which places of an organisation's status lists are set."""

from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from protocols.issuing import STANDING, list_entries
from stock.models import (
    Batch,
    Certificate,
    DeviationRow,
    FactSubject,
    HoldRow,
    Organisation,
    Parked,
)
from stock.queries.certificates import worth_of

# Neither comes back: a program that looks at the lists alone must not take it for valid.
NEVER_AGAIN = ("revoked", "superseded", "ended")


def name_of(organisation: UUID) -> str | None:
    """The name of an organisation; None where there is none. One query."""
    rows = Organisation.objects.filter(uid=organisation)
    return rows.values_list("name", flat=True).first()


def marked(organisation: UUID, purpose: str, at: datetime) -> tuple[int, list[int]]:
    """How long the list for this purpose is, and which places of it are set at `at`."""
    rows = Certificate.objects.filter(organisation=organisation)
    entries = list_entries(rows.count())
    if purpose == "revocation":
        gone = rows.filter(state__in=NEVER_AGAIN)
        return entries, list(gone.values_list("revocation_index", flat=True))
    told = rows.filter(state="suspended").values_list("suspension_index", flat=True)
    return entries, [*told, *_suspended_by_news(rows, at)]


def _suspended_by_news(rows: QuerySet[Certificate], at: datetime) -> list[int]:
    """Certificates that nobody suspended, but whose batch says otherwise today.

    What the database knows narrows down which batches may be in question; those are judged.
    """
    standing = rows.filter(state__in=STANDING).exclude(state="suspended")
    doubtful = standing.filter(batch__in=_doubtful(at)).select_related("site")
    return [
        row.suspension_index for row in doubtful if worth_of(row, at).state.state == "suspended"
    ]


def _doubtful(at: datetime) -> QuerySet[Batch]:
    here = OuterRef("uid")
    asked = DeviationRow.objects.filter(batch=here, open=True).exclude(effect="warns")
    parked = Parked.objects.filter(settled_by=None, fact__subjects__subject=here)
    kin = FactSubject.objects.filter(
        subject=here, fact__kind__in=("batch_split", "batches_joined")
    )
    return Batch.objects.filter(
        Q(stale=True)
        | Q(fresh_until__lte=at)
        | ~Q(series_state="complete")
        | Exists(asked)
        | Exists(HoldRow.objects.filter(batch=here, lifted_at=None))
        | Exists(parked)
        | Exists(kin)
    )
