"""Animals that died, were culled, escaped or stayed lost: when, how many, of what."""

from collections.abc import Iterator, Sequence

from django.db.models import Q

from protocols.clocks import parse_utc
from stock.models import FactSubject, Missing
from stock.queries.origins import lines_of
from stock.queries.reports.folded import CHUNK, Folded, folded, some
from stock.queries.reports.form import Asked, Report, Row, code, moment, number, text

KINDS = ("loss_recorded", "line_counted", "presumed_lost", "found_again", "doa_reversed")


def rows(asked: Asked) -> Iterator[Row]:
    """By when it was performed. Dead on arrival stands beside its line of the packing list."""
    for chunk in some(folded(asked, KINDS, extra=_about(asked)), CHUNK):
        missed = _missed(chunk)
        for one in chunk:
            if one.fact.kind != "line_counted" or one.body["doa"]:
                yield _row(one, missed.get(str(one.body.get("of"))))


def _about(asked: Asked) -> Q | None:
    """What names the batches asked about, the lines they came from, or who was missed there."""
    if not asked.batches:
        return None
    lines = {uid for found in lines_of(asked.batches).values() for uid in found}
    told = FactSubject.objects.filter(
        Q(subject__in=[*asked.batches, *lines])
        | Q(subject__in=Missing.objects.filter(batch__in=asked.batches).values("fact"))
    )
    return Q(uid__in=told.values("fact"))


def _missed(chunk: Sequence[Folded]) -> dict[str, str]:
    """The codes of batches by the fact that missed somebody of them. One query."""
    wanted = {one.body["of"] for one in chunk if one.body.get("of")}
    rows = Missing.objects.filter(fact__in=wanted).values_list("fact", "batch__code")
    return {str(fact): code for fact, code in rows}


def _row(one: Folded, missed: str | None) -> Row:
    body = one.body
    cause: Sequence[str] = body.get("cause") or ()
    found, seen = body.get("found_at"), body.get("last_seen_at")
    return (
        parse_utc(found) if found else one.at,
        parse_utc(seen) if seen else None,
        one.name(body.get("batch")) or missed,
        one.name(body.get("line")) or _lines(one),
        _fate(one),
        body["doa"] if one.fact.kind == "line_counted" else body["count"],
        cause[0] if cause else None,
        " / ".join(cause[1:]) or None,
        body.get("certainty"),
        body.get("method"),
        body.get("authority"),
        one.note or body.get("evidence"),
        one.fact.recorded_at,
        one.doer,
        one.state or None,
        one.fact.seq + 1,
    )


def _fate(one: Folded) -> str:
    if one.fact.kind == "loss_recorded":
        return str(one.body["fate"])
    if one.fact.kind == "found_again":
        return "found_alive" if one.body["alive"] else "found_dead"
    return {"line_counted": "dead_on_arrival"}.get(one.fact.kind, one.fact.kind)


def _lines(one: Folded) -> str | None:
    """From which lines it may have come, where somebody could say so."""
    names = (one.name(uid) for uid in one.body.get("origin") or ())
    return ", ".join(name for name in names if name) or None


DEATHS = Report(
    "deaths",
    (
        *moment("found", "last_seen"),
        *text("batch", "line"),
        *code("fate"),
        *number("count"),
        *code("cause"),
        *text("cause_more"),
        *code("certainty"),
        *text("method", "authority", "note"),
        *moment("recorded"),
        *text("told_by"),
        *code("state"),
        *number("entry"),
    ),
    rows,
)
