"""Once a year managers hear what need not be kept any more. Nothing goes by itself."""

from datetime import datetime
from uuid import UUID

from protocols.retention import years_after
from stock.models import Fact, Notice, Role
from stock.outbox import Telling, leave
from stock.queries.retention import could_be_erased
from stock.queries.sites import rules_history


def tell_erasable(site: UUID, at: datetime) -> bool:
    """Leave the notice of this year; False where there is nothing, or it was left.

    Two queries while a site is younger than anything is kept.
    """
    rules = rules_history(site).at(at)
    begun = Fact.objects.filter(log=site, seq=0).values_list("recorded_at", flat=True).first()
    years = min(rules.keep_years, rules.keep_medicine_years)
    if begun is None or years_after(begun, years) > at:
        return False
    effect = f"erasable/{site}/{at.year}"
    if Notice.objects.filter(effect=effect).exists():
        return False
    found = could_be_erased(site, at)
    if not found["reports_with_texts"]:
        return False
    managers = Role.objects.filter(site=site, role="manager").values_list("person", flat=True)
    body = {"to": sorted(str(uid) for uid in managers), **found}
    return leave(site, Telling(effect, "erasable", body), at)
