"""Reports of the record book as EPCIS 2.0 events, by pure functions."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import chain
from uuid import UUID, uuid5

from protocols.clocks import utc_text
from protocols.epcis import places, water, words
from protocols.epcis.animals import quantity_events, tallied
from protocols.epcis.form import Around, Ended, Event, Going, Names, Told, dated, netted

__all__ = [
    "KINDS",
    "Around",
    "Ended",
    "Event",
    "Going",
    "Names",
    "Put",
    "Told",
    "events_of",
    "netted",
    "tallied",
]

OF_PLACES: Mapping[str, Callable[[Told, Names], Iterator[Event]]] = {
    "batch_placed": places.placed,
    "batch_moved": places.moved,
    "batch_split": places.parted,
    "batches_joined": places.joined,
    "piece_fitted": places.fitted,
    "reading_taken": water.reading,
    "readings_taken": water.probe,
    "filled": water.watered,
    "water_changed": water.watered,
    "topped_up": water.watered,
    "water_made": water.mixed,
    "disinfected": water.disinfected,
    "seen_dry": water.seen,
    "found_wet": water.seen,
    "emptied": water.cared,
    "fed": water.cared,
    "dose_given": water.cared,
    "instrument_checked": water.checked,
    "round_made": water.looked_at,
}
OF_WORDS: Mapping[str, Callable[[Told, Names, Around], Iterator[Event]]] = {
    "consignment_delivered": words.delivered,
    "line_counted": words.differing,
    "counted": words.counted,
    "hold_placed": words.held,
    "hold_lifted": words.released,
    "sign_seen": words.signs,
    "identity_corrected": words.renamed,
    "reserved": words.reserved,
    **dict.fromkeys(words.STATES, words.certified),
}
KINDS = frozenset({*OF_PLACES, *OF_WORDS, "animals_dispatched"})
CORRECTED = UUID("8a3f36f5-5d8e-5f0f-9d53-0f3ac8d6c4a1")


@dataclass(frozen=True, slots=True)
class Put:
    """How a report that was put right stands now; None in `now` where it was withdrawn."""

    at: datetime
    now: Told | None
    goings: tuple[Going, ...] = ()


def events_of(
    told: Told, names: Names, around: Around, put: Put | None = None
) -> Iterator[Event]:
    """The events of a report; of one that was put right, also what it is worth now.

    Each wrong event comes again under its own name with an error declaration, which names the
    events that stand in its place. Those bear names of their own.
    """
    wrong = list(_plain(told, names, around))
    yield from wrong
    if put is None:
        return
    right = list(_right(told, names, around, put))
    declared = {
        "declarationTime": utc_text(put.at),
        "reason": "incorrect_data" if put.now else "did_not_occur",
        "correctiveEventIDs": [event["eventID"] for event in right],
    }
    if not right:
        del declared["correctiveEventIDs"]
    for event in wrong:
        yield {**event, "recordTime": utc_text(put.at), "errorDeclaration": declared}
    yield from right


def _right(told: Told, names: Names, around: Around, put: Put) -> Iterator[Event]:
    again = uuid5(CORRECTED, str(told.event))
    if put.now is not None:
        now = replace(put.now, event=again, recorded_at=put.at, goings=put.goings)
        yield from _plain(now, names, around)
    elif put.goings:
        left = replace(told, event=again, recorded_at=put.at, kind="", goings=put.goings)
        yield from _plain(left, names, around)


def _plain(told: Told, names: Names, around: Around) -> Iterator[Event]:
    """The events of a report as it says: animals first, then where they are put."""
    before = places.picked(told, names) if told.kind == "animals_dispatched" else iter(())
    place, word = OF_PLACES.get(told.kind), OF_WORDS.get(told.kind)
    every = chain(
        before,
        quantity_events(told, names, around),
        place(told, names) if place else (),
        word(told, names, around) if word else (),
    )
    here = {"id": names.of("loc", around.site)}
    told = replace(told, at=max(told.at, water.until(told)))
    for n, event in enumerate(every):
        yield dated(told, {**event, "readPoint": here, "bizLocation": here}, n)
