"""Whether a certificate names the species that its animals are now said to be."""

from datetime import datetime

from django.db.models import Q

from protocols.species_told import species_by, species_reasons
from protocols.values import Reason
from stock.models import Certificate, Fact, Kin, Origin
from stock.queries.origins import LINEAGE

SAYS = ("list_applied", "line_matched")


def other_species(row: Certificate, at: datetime) -> tuple[Reason, ...]:
    """What was told after the issue and says another species. One query, or three."""
    before = Kin.objects.filter(batch=row.batch_id, how__in=LINEAGE).values("of")
    lines = Origin.objects.filter(Q(batch=row.batch_id) | Q(batch__in=before)).values("line")
    issued = Fact.objects.filter(kind="certificate_issued", subjects__subject=row.uid)
    about = Fact.objects.filter(
        log=row.site_id,
        kind__in=SAYS,
        subjects__subject__in=lines,
        parked=None,
        recorded_at__lte=at,
    )
    later = list(about.filter(seq__gt=issued.values("seq")[:1]).distinct().order_by("seq"))
    if not later:
        return ()
    every = [(fact.kind, fact.body) for fact in about.distinct().order_by("seq")]
    new = len(later)
    mine = set(lines.values_list("line", flat=True))
    said_by = {
        line: fact.uid
        for fact in later
        for line in species_by([(fact.kind, fact.body)])
        if line in mine
    }
    return species_reasons(species_by(every[:-new]), species_by(every), said_by)
