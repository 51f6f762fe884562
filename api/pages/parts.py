"""What the parts of pages (`templates/parts/`) are given: frozen values, ready to be shown.

Every `href` is an address of ours, every text is plain: templates escape it. Spans are seconds.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal
from zoneinfo import ZoneInfo

from api.language import later
from api.pages.pictures import Dark


@dataclass(frozen=True, slots=True)
class PageLink:
    text: str
    href: str
    current: bool = False


@dataclass(frozen=True, slots=True)
class Shell:
    """The frame of a page. On a narrow screen the first three links stay at the thumb, the rest
    stands under "More"."""

    site: str
    zone: ZoneInfo
    as_of: datetime
    person: str = ""
    role: str = ""
    links: tuple[PageLink, ...] = ()
    more: tuple[PageLink, ...] = ()
    sign_out: str = ""  # where the sign-out form goes


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that must be put right; `field` is the id of the input it belongs to."""

    text: str
    field: str = ""


@dataclass(frozen=True, slots=True)
class Way:
    """Something that would be possible instead."""

    text: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class Objection:
    """One rule that stands against something, in words, and what would help."""

    text: str
    blocks: bool = True
    numbers: str = ""
    instead: tuple[Way, ...] = ()
    who: str = ""  # who may clear it or insist
    task: Way | None = None


@dataclass(frozen=True, slots=True)
class Step:
    text: str
    state: Literal["done", "now", "to come"]


@dataclass(frozen=True, slots=True)
class Action:
    """A button that posts, no more: `fields` travel hidden, `key` is the request key."""

    text: str
    href: str
    key: str
    fields: tuple[tuple[str, str], ...] = ()
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Night:
    """What a strip of three nights needs."""

    began: datetime
    limit: datetime | None
    now: datetime
    dark: tuple[Dark, ...] = ()
    planned: datetime | None = None
    ended: datetime | None = None


@dataclass(frozen=True, slots=True)
class Slip:
    """Work on the cord. `left_s` is None where nothing runs out, negative when over."""

    what: str
    where: str
    href: str
    left_s: int | None = None
    due: str = ""  # "planned Sun 21 Mar 20:00 +08, limit Mon 22 Mar 03:10 +08"
    remark: str = ""  # "limit outside staffed hours"
    taken_by: str = ""
    back_at: datetime | None = None  # when it comes back by itself from whoever took it
    if_now: str = ""  # what it means to do it now
    facts: tuple[tuple[str, str], ...] = ()  # into which container, with which kit
    steps: str = ""  # how it is done, with its cautions
    whole: str = ""  # where the rest of it stands, if it does not here
    nights: Night | None = None
    action: Action | None = None
    more: PageLink | None = None  # a second, quieter way on


@dataclass(frozen=True, slots=True)
class SlipGroup:
    """Slips under one heading: "Over the limit", "Within an hour. Rack R1, Hall"."""

    heading: str
    slips: tuple[Slip, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """A line of a history: when it happened, what, and in small who told it and when."""

    at: datetime
    text: str
    by: str = ""
    remarks: tuple[str, ...] = ()
    replaced: bool = False  # corrected or withdrawn later; stays readable
    href: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table that becomes a stack of lines on a narrow screen. The first cell names its row.

    `numeric` holds the positions of columns with figures.
    """

    caption: str
    columns: tuple[str, ...]
    rows: Sequence[Sequence[object]]
    numeric: frozenset[int] = field(default_factory=frozenset)
    empty: str = later("Nothing here yet.")
