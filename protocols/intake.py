"""From a packing list to counted bags: what may be applied and counted, and the sums."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from protocols.list_changes import Difference
from protocols.list_values import Understood
from protocols.said import said
from protocols.stocking_values import LENGTH_LEAST_CM, LENGTH_MOST_CM
from protocols.values import Reason

AHEAD_MOST = timedelta(seconds=120)


@dataclass(frozen=True, slots=True)
class BoxListed:
    """What the papers say of one box of a line; None: no box named, no number for the box."""

    box: str | None
    listed: int | None


@dataclass(frozen=True, slots=True)
class BoxCounted:
    """What was counted out of one box of a line; no box: the whole line at once."""

    box: str | None
    received: int
    doa: int
    wrong_species: int = 0


@dataclass(frozen=True, slots=True)
class BoxSum:
    """One box of a line: its papers beside its count; nothing is short where one is unknown."""

    box: str | None
    listed: int | None
    received: int
    doa: int
    short: int
    over: int


@dataclass(frozen=True, slots=True)
class LineSum:
    """Short and over of a line, as far as it is counted, and the boxes they are pinned to."""

    short: int
    over: int
    counted: bool
    boxes: tuple[BoxSum, ...]


def line_sum(
    listed: int, printed: Sequence[BoxListed], counts: Sequence[BoxCounted]
) -> LineSum:
    """A line's papers against what was counted so far.

    `printed` are the boxes of the line; empty where the papers name none. A box that nobody
    counted yet is not short; a box that the line is not printed for is over by all it held.
    """
    received = sum(one.received for one in counts)
    counted, expected = _expected(listed, printed, counts)
    boxes = tuple(_box_sums(listed, printed, counts))
    short = max(expected - received, 0) if counted or boxes_are_known(printed) else 0
    return LineSum(short, max(received - expected, 0), counted, boxes)


def boxes_are_known(printed: Sequence[BoxListed]) -> bool:
    """Whether the papers say of every box how many are in it."""
    return bool(printed) and all(one.listed is not None for one in printed)


def may_be_long(length_cm: str | None) -> Iterator[Reason]:
    """A length that no animal of a shop has."""
    least, most = LENGTH_LEAST_CM, LENGTH_MOST_CM
    if length_cm is None or least <= float(length_cm) <= most:
        return
    yield Reason(
        "unreadable",
        "unreadable",
        said("A length in cm lies between {least:g} and {most:g}.", least=least, most=most),
        numbers={"length_cm": length_cm, "least": f"{least:g}", "most": f"{most:g}"},
        pointer="/length_cm",
    )


def may_count(
    count: BoxCounted, earlier: Collection[str | None], *, named: bool
) -> Iterator[Reason]:
    """A count that cannot be right, or of a box that was counted before.

    `earlier` are the boxes of the line counted so far, None for the whole line; `named` says
    whether the asker named a box.
    """
    for name, number in (("doa", count.doa), ("wrong_species", count.wrong_species)):
        if number > count.received:
            text = said(
                "{number} of {received} cannot be: count again.",
                number=number,
                received=count.received,
            )
            numbers = {"received": count.received, name: number}
            yield Reason(
                "more_than_received", "count_closes", text, numbers=numbers, pointer=f"/{name}"
            )
    if count.box in earlier or None in earlier or (earlier and count.box is None):
        text = "This was counted before; correct that count instead of adding another."
        pointer = "/box" if named else None
        yield Reason("contradicts_record", "counted_once", text, pointer=pointer)


def may_deliver(
    delivered_at: datetime, *, already: datetime | None, now: datetime | None = None
) -> Iterator[Reason]:
    """A consignment comes once, and not in the future."""
    if now is not None and delivered_at - now > AHEAD_MOST:
        ahead = int((delivered_at - now).total_seconds())
        text = "It has not been delivered yet."
        numbers = {"ahead_s": ahead}
        yield Reason("in_future", "in_future", text, numbers=numbers, pointer="/delivered_at")
    if already is not None and already != delivered_at:
        text = "Another moment of delivery is on record; correct it instead."
        yield Reason(
            "contradicts_record",
            "delivered_once",
            text,
            numbers={"delivered_at": already},
            pointer="/delivered_at",
        )


def may_apply(
    read: Understood, differences: Sequence[Difference], accepted: Collection[str]
) -> tuple[Reason, ...]:
    """Everything that must be answered, put right or accepted before a list is applied."""
    reasons = [
        Reason(
            "question_open",
            "list_is_clear",
            one.text,
            numbers={"question": one.key},
            pointer=f"/answers/{one.key}",
        )
        for one in read.questions
    ]
    reasons += [
        Reason(
            "problem_open",
            "list_is_clear",
            one.detail,
            numbers={"row": one.row, "column": one.column, "problem": one.code},
        )
        for one in read.problems
        if one.blocks
    ]
    if not read.lines and not reasons:
        reasons.append(Reason("problem_open", "list_is_clear", "The list has no lines."))
    reasons += [
        Reason(
            "difference_open",
            "changes_are_seen",
            said("The list differs from the one before: {key}.", key=one.key),
            numbers={"difference": one.key},
            pointer="/differences_accepted",
        )
        for one in differences
        if one.key not in accepted
    ]
    return tuple(reasons)


def boxes_close(listed: int, boxes: Sequence[BoxListed]) -> Iterator[Reason]:
    """Boxes are named once, and their numbers add up to the line's."""
    if len({one.box for one in boxes}) != len(boxes):
        yield Reason("unreadable", "boxes_close", "A box is named twice.", pointer="/boxes")
    told = sum(one.listed or 0 for one in boxes)
    if boxes_are_known(boxes) and told != listed:
        text = said("The boxes hold {told}, the line says {listed}.", told=told, listed=listed)
        numbers = {"listed": listed, "in_boxes": told}
        yield Reason("split_sum", "boxes_close", text, numbers=numbers, pointer="/boxes")


def _expected(
    listed: int, printed: Sequence[BoxListed], counts: Sequence[BoxCounted]
) -> tuple[bool, int]:
    """Whether the line is counted, and how many should have been in what was counted."""
    boxes = {one.box for one in counts}
    if not printed or None in boxes:
        return bool(counts), listed
    counted = boxes.issuperset(one.box for one in printed)
    if not boxes_are_known(printed):
        return counted, listed
    return counted, sum(one.listed or 0 for one in printed if one.box in boxes)


def _box_sums(
    listed: int, printed: Sequence[BoxListed], counts: Sequence[BoxCounted]
) -> Iterator[BoxSum]:
    by_box = {one.box: one for one in counts}
    if None in by_box or not (printed or counts):
        yield _box_sum(None, listed, by_box.get(None))
        return
    known = boxes_are_known(printed)
    told: Mapping[str | None, int | None] = {one.box: one.listed for one in printed}
    for box in dict.fromkeys([*told, *by_box]):
        yield _box_sum(box, told.get(box, 0 if known else None), by_box.get(box))


def _box_sum(box: str | None, listed: int | None, count: BoxCounted | None) -> BoxSum:
    if count is None:
        return BoxSum(box, listed, 0, 0, 0, 0)
    if listed is None:
        return BoxSum(box, None, count.received, count.doa, 0, 0)
    short, over = max(listed - count.received, 0), max(count.received - listed, 0)
    return BoxSum(box, listed, count.received, count.doa, short, over)


def may_reverse_doa(dead: int, count: int) -> Iterator[Reason]:
    """Whether so many of those counted as dead on arrival can live after all."""
    if count > dead:
        yield Reason(
            "more_than_received",
            "balance",
            said(
                "{dead} were counted dead on arrival; you entered {count}.",
                dead=dead,
                count=count,
            ),
            numbers={"doa": dead, "entered": count},
            pointer="/count",
        )
