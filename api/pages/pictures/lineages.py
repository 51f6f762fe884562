"""Where they came from: a row for each generation of batches, lines for who went where."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import element, picture

WIDE, HIGH, GAP_X, GAP_Y = 168, 52, 24, 44


@dataclass(frozen=True, slots=True)
class Node:
    """A batch: its code, words under it, and how many generations lie after it."""

    key: str
    code: str
    words: str
    depth: int


@dataclass(frozen=True, slots=True)
class Edge:
    begin: str
    end: str
    count: int


def lineage_picture(nodes: Sequence[Node], edges: Sequence[Edge]) -> SafeString:
    """The oldest batches above, the one that is asked about below. The table says the same."""
    if not nodes:
        return SafeString("")
    deepest = max(one.depth for one in nodes)
    rows = [[one for one in nodes if one.depth == deepest - n] for n in range(deepest + 1)]
    across = max(len(row) for row in rows)
    width = across * (WIDE + GAP_X) - GAP_X + 4
    height = (deepest + 1) * (HIGH + GAP_Y) - GAP_Y + 4
    places = {
        one.key: (2 + n * (WIDE + GAP_X), 2 + level * (HIGH + GAP_Y))
        for level, row in enumerate(rows)
        for n, one in enumerate(row)
    }
    return picture(
        *_edges(edges, places),
        *(_node(one, *places[one.key]) for one in nodes),
        title=_("Where they came from"),
        desc="; ".join(f"{one.code}: {one.words}" for one in nodes),
        css="lineage",
        width=width,
        height=height,
        box=f"0 0 {width} {height}",
    )


def _node(one: Node, x: int, y: int) -> SafeString:
    return element(
        "g",
        element("rect", x=x, y=y, width=WIDE, height=HIGH, class_="box"),
        element("text", one.code, x=x + 10, y=y + 21, class_="name"),
        element("text", one.words, x=x + 10, y=y + 41),
    )


def _edges(edges: Sequence[Edge], places: dict[str, tuple[int, int]]) -> Iterator[SafeString]:
    for one in edges:
        if one.begin not in places or one.end not in places:
            continue
        (x1, y1), (x2, y2) = places[one.begin], places[one.end]
        ends = {"x1": x1 + WIDE // 2, "y1": y1 + HIGH, "x2": x2 + WIDE // 2, "y2": y2}
        yield element("line", **ends, class_="drop")
        middle = (ends["x1"] + ends["x2"]) // 2 + 6
        yield element("text", one.count, x=middle, y=(ends["y1"] + ends["y2"]) // 2 + 5)
