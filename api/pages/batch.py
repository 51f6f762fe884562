"""One batch: where it is, what is left, its chain, its counts, its open questions."""

from collections import Counter
from collections.abc import Iterator
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_safe

from api.pages import chain
from api.pages.batch_water import water_shown
from api.pages.links import link
from api.pages.parts import PageLink, Table
from api.pages.questions import objection_of
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from protocols.clocks import local_text
from stock import access
from stock.queries.batch_seen import BatchSeen, batch_seen, stays_of
from stock.queries.batch_water import batch_water
from stock.queries.seen_alive import Stood, last_seen, unwatched_days


@page
@require_safe
def batch(request: HttpRequest, uid: UUID) -> HttpResponse:
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id)
    found = batch_seen(rows, at.now)
    stay = found.open_stay
    water = batch_water(found, at.now)
    stood = [Stood(one.container, one.began, one.ended) for one in found.stays]
    context = {
        "batch": found.batch,
        "heading": heading(found),
        "state": _state(found),
        "stay": chain.stay_shown(found, at) if stay else None,
        "chain": chain.chain_shown(found, at),
        "sentence": chain.sentence(found, at),
        "seen": _seen(found, stood, at) if stay else "",
        "unwatched": _unwatched(found, stood, at),
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
    return _("{batch} in {container_label}").format(
        batch=found.batch.code, container_label=stay.container_label
    )


HOW_SEEN = {
    "round": gettext_lazy("All were last seen alive %(at)s, on a round."),
    "count": gettext_lazy("All were last seen alive %(at)s, at a count."),
    "placed": gettext_lazy("All were last seen alive %(at)s, as they were placed."),
}


def _seen(found: BatchSeen, stood: list[Stood], at: Here) -> str:
    last = last_seen(found.batch.uid, stood, at.now)
    return HOW_SEEN[last.how] % {"at": local_text(last.at, at.zone)} if last else ""


def _unwatched(found: BatchSeen, stood: list[Stood], at: Here) -> str:
    """Days of the observation that nobody looked: it counts on rounds."""
    watch = found.watch
    if watch is None:
        return ""
    until = min(watch.ends_at, at.now)
    days = unwatched_days(found.batch.uid, stood, watch.started, until)
    if not days:
        return ""
    named = ", ".join(map(str, days))
    text = ngettext(
        "Nobody made a round on day %(days)s of the observation.",
        "Nobody made a round on days %(days)s of the observation.",
        len(days),
    )
    return str(text % {"days": named})


def _state(found: BatchSeen) -> str:
    one = found.batch
    if one.closed_at is not None:
        return _("closed")
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
        _("Where they came from"),
        (_("Line"), _("Supplier"), _("Waybill"), _("Placed")),
        [
            (
                one.line.species.scientific_name if one.line.species else one.line.text,
                one.line.consignment.supplier.name,
                link(
                    one.line.consignment.waybill or _("small delivery"),
                    "consignment",
                    one.line.consignment_id,
                ),
                one.count,
            )
            for one in found.origins
        ],
        frozenset({3}),
        empty=_("Not known."),
    )


def _first(found: BatchSeen, at: Here) -> PageLink | None:
    """The one large action: whatever comes next for the batch as it stands."""
    if found.open_stay is None:
        return None
    if found.batch.state == "done":
        return PageLink(_("May it be certified?"), _to("certificate-check", found))
    limited = found.batch.limit is not None or found.batch.series_state == "waiting"
    return PageLink(_("Move them"), _to("move", found)) if at.works and limited else None


def _actions(found: BatchSeen, at: Here) -> Iterator[PageLink]:
    """What this person may tell of the batch, and ways on."""
    stay, first = found.open_stay, _first(found, at)
    if at.works and stay is not None:
        if first is None or first.href != _to("move", found):
            yield PageLink(_("Move them"), _to("move", found))
        yield PageLink(_("Record a loss"), _to("loss", found))
        yield PageLink(_("Count them"), _to("count-batch", found))
        yield PageLink(_("A sign was seen"), _to("sign", found))
        touched = reverse("tell-contact", args=[found.site.uid])
        yield PageLink(_("Something touched them"), f"{touched}?to={stay.container}")
        yield PageLink(_("An incident"), reverse("incident", args=[stay.container]))
        yield PageLink(_("Split them"), _to("split", found))
        yield PageLink(_("Put others in with them"), _to("join", found))
        yield PageLink(_("Read the water"), reverse("read-water", args=[stay.container]))
        yield PageLink(_("Give something"), reverse("give", args=[stay.container]))
    if at.decides and not found.holds:
        yield PageLink(_("Hold it"), _to("hold", found))
    if found.batch.state != "done":
        yield PageLink(_("May it be certified?"), _to("certificate-check", found))
    yield PageLink(_("What was given"), _to("treatments", found))
    yield PageLink(_("Where they came from"), _to("where-from", found))
    yield PageLink(_("The water they were in"), _to("batch-water", found))
    yield PageLink(_("What could have reached them"), _to("exposures", found))
    if at.may(access.READERS):
        traces = reverse("traces", args=[at.site.uid])
        yield PageLink(_("Trace from them"), f"{traces}?of={found.batch.uid}")
    yield PageLink(_("History"), _to("history", found))


def _to(name: str, found: BatchSeen) -> str:
    return reverse(name, args=[found.batch.uid])
