"""One batch: where it is, what is left, its chain, its counts, its open questions."""

from collections import Counter
from collections.abc import Iterator
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from api.pages import chain
from api.pages.batch_water import water_shown
from api.pages.links import link
from api.pages.parts import PageLink, Table
from api.pages.questions import objection_of
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from stock.queries.batch_seen import BatchSeen, batch_seen, stays_of
from stock.queries.batch_water import batch_water


@page
@require_safe
def batch(request: HttpRequest, uid: UUID) -> HttpResponse:
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id)
    found = batch_seen(rows, at.now)
    stay = found.open_stay
    water = batch_water(found, at.now)
    context = {
        "batch": found.batch,
        "heading": heading(found),
        "state": _state(found),
        "stay": chain.stay_shown(found, at) if stay else None,
        "chain": chain.chain_shown(found, at),
        "sentence": chain.sentence(found, at),
        "questions": [objection_of(one, at.zone) for one in found.deviations if one.open],
        "counts": found.counts,
        "species": _species(found),
        "holds": found.holds,
        "missing": found.missing,
        "stays": chain.stays_table(found, at),
        "origins": _origins_table(found),
        "water": water_shown(water, at) if water else None,
        "actions": list(_actions(found, at)),
        "first": _first(found, at),
    }
    return show(request, at, "batch", context)


def heading(found: BatchSeen) -> str:
    """The batch by its code, and where it is."""
    stay = found.open_stay
    if stay is None:
        return found.batch.code
    return f"{found.batch.code} in {stay.container_label}"


def _state(found: BatchSeen) -> str:
    one = found.batch
    if one.closed_at is not None:
        return "closed"
    why = f", {plain(one.why)}" if one.why else ""
    return f"{plain(one.state)}{why}"


def _species(found: BatchSeen) -> str:
    """Who came in, however many are left: `Amphiprion ocellaris 18, Assorted damsel 2`."""
    totals: Counter[str] = Counter()
    for one in found.origins:
        species = one.line.species
        totals[species.scientific_name if species else one.line.text] += one.count
    return ", ".join(f"{name} {count}" for name, count in sorted(totals.items()))


def _origins_table(found: BatchSeen) -> Table:
    return Table(
        "Where they came from",
        ("Line", "Supplier", "Waybill", "Placed"),
        [
            (
                one.line.species.scientific_name if one.line.species else one.line.text,
                one.line.consignment.supplier.name,
                link(
                    one.line.consignment.waybill or "small delivery",
                    "consignment",
                    one.line.consignment_id,
                ),
                one.count,
            )
            for one in found.origins
        ],
        frozenset({3}),
        empty="Not known.",
    )


def _first(found: BatchSeen, at: Here) -> PageLink | None:
    """The one large action: whatever comes next for the batch as it stands."""
    if found.open_stay is None:
        return None
    if found.batch.state == "done":
        return PageLink("May it be certified?", _to("certificate-check", found))
    limited = found.batch.limit is not None or found.batch.series_state == "waiting"
    return PageLink("Move them", _to("move", found)) if at.works and limited else None


def _actions(found: BatchSeen, at: Here) -> Iterator[PageLink]:
    """What this person may tell of the batch, and ways on."""
    stay, first = found.open_stay, _first(found, at)
    if at.works and stay is not None:
        if first is None or first.text != "Move them":
            yield PageLink("Move them", _to("move", found))
        yield PageLink("Record a loss", _to("loss", found))
        yield PageLink("Count them", _to("count-batch", found))
        yield PageLink("A sign was seen", _to("sign", found))
        touched = reverse("tell-contact", args=[found.site.uid])
        yield PageLink("Something touched them", f"{touched}?to={stay.container}")
        yield PageLink("An incident", reverse("incident", args=[stay.container]))
        yield PageLink("Split them", _to("split", found))
        yield PageLink("Put others in with them", _to("join", found))
        yield PageLink("Read the water", reverse("read-water", args=[stay.container]))
        yield PageLink("Give something", reverse("give", args=[stay.container]))
    if at.decides and not found.holds:
        yield PageLink("Hold it", _to("hold", found))
    if found.batch.state != "done":
        yield PageLink("May it be certified?", _to("certificate-check", found))
    yield PageLink("What was given", _to("treatments", found))
    yield PageLink("Where they came from", _to("where-from", found))
    yield PageLink("The water they were in", _to("batch-water", found))
    yield PageLink("What could have reached them", _to("exposures", found))
    yield PageLink("History", _to("history", found))


def _to(name: str, found: BatchSeen) -> str:
    return reverse(name, args=[found.batch.uid])
