"""Where the animals of a batch are: a bar that always adds up, and its table."""

from collections.abc import Iterator, Mapping

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import Hatch, element, percent, picture, swatch

PLACES: dict[str, Hatch] = {
    "alive": Hatch.WATER,
    "dead": Hatch.SOLID,
    "culled": Hatch.CROSS,
    "escaped": Hatch.SLANT,
    "unaccounted": Hatch.DOTS,
    "presumed lost": Hatch.RINGS,
    "sampled": Hatch.UPRIGHTS,
    "born here": Hatch.WAVES,
    "on the way": Hatch.FORTH,
    "returned": Hatch.BACK,
    "sold": Hatch.BRICKS,
}
"""The places in the order in which they are told, each with a hatch of its own."""


def balance_bar(counts: Mapping[str, int]) -> SafeString:
    """All animals of a batch as one bar, a part for each place that holds any.

    Keys may be written with underscores. Raises ValueError for a count below zero and KeyError
    for a place that is not known.
    """
    held = _held(counts)
    return picture(
        element("rect", x=0, y=2, width="100%", height=38, class_="inside"),
        *_parts(held),
        element("rect", x=0, y=2, width="100%", height=38, class_="edge"),
        title=_("Where the {count} animals are").format(count=sum(held.values())),
        desc=", ".join(f"{_(place)} {count}" for place, count in held.items())
        or _("No animals."),
        css="strip balance-bar",
        width="100%",
        height=42,
    )


def balance_table(counts: Mapping[str, int]) -> SafeString:
    """The same numbers as a table with the hatches as its key, and the sum under it."""
    held = _held(counts)
    rows = [
        element(
            "tr",
            element("td", swatch(PLACES[place])),
            element("th", _(place), scope="row"),
            element("td", count, class_="number"),
        )
        for place, count in held.items()
    ]
    total = element(
        "tr",
        element("td"),
        element("th", _("all together"), scope="row"),
        element("td", sum(held.values()), class_="number"),
    )
    return element(
        "table",
        element("caption", _("Where they are")),
        element("tbody", *rows),
        element("tfoot", total),
        class_="balance",
    )


def _held(counts: Mapping[str, int]) -> dict[str, int]:
    named = {place.replace("_", " "): count for place, count in counts.items()}
    if any(count < 0 for count in named.values()):
        raise ValueError("no place holds less than nothing")
    unknown = sorted(set(named) - set(PLACES))
    if unknown:
        raise KeyError(f"not a place of animals: {', '.join(unknown)}")
    return {place: named[place] for place in PLACES if named.get(place)}


def _parts(held: Mapping[str, int]) -> Iterator[SafeString]:
    total = sum(held.values())
    before = 0
    for place, count in held.items():
        share = count / total
        yield element(
            "rect",
            x=percent(before / total),
            y=2,
            width=percent(share),
            height=38,
            fill=PLACES[place].fill,
            class_="part",
        )
        if share > 0.12:
            middle = percent((before + count / 2) / total)
            css = "on-hatch" if share > 0.3 else "on-hatch tight"
            yield element("text", f"{_(place)} {count}", x=middle, y=26, class_=css)
        before += count
