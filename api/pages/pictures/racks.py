"""A rack as it stands: vessels in their places and sizes."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.pages.pictures.svg import element, join, picture
from api.pages.pictures.vessels import Vessel, described, draw

SAME_SHELF_M = 0.12
LEAST_PX = 58.0
LABEL_PX = 46.0
HEADROOM_PX = 30.0
GAP_PX = 22.0
MARGIN_PX = 26.0


@dataclass(frozen=True, slots=True)
class Stand:
    """A vessel with its place in the picture, in pixels: left, top and size of its inside."""

    vessel: Vessel
    left: float
    top: float
    width: float
    height: float


def rack(
    label: str, vessels: Sequence[Vessel], *, pixels_per_metre: float = 190.0
) -> SafeString:
    """A rack seen from the front, every vessel at its place, in its size, as a link.

    The picture keeps its size and scrolls sideways where a screen is narrower.
    """
    stands = arrange(vessels, pixels_per_metre)
    width = max((s.left + s.width for s in stands), default=200.0) + MARGIN_PX
    bottoms = sorted({s.top + s.height for s in stands})
    height = (bottoms[-1] if bottoms else 40.0) + LABEL_PX + 12
    return picture(
        _frame(width, height, bottoms),
        *(_stand(s) for s in stands),
        title=_("Rack {label}").format(label=label),
        desc=_("{count} containers on {shelves} shelves, as they stand.").format(
            count=len(vessels), shelves=len(bottoms)
        ),
        css="rack",
        width=round(width),
        height=round(height),
        role="group",
    )


def arrange(vessels: Sequence[Vessel], pixels_per_metre: float = 190.0) -> tuple[Stand, ...]:
    """Where each vessel is drawn: shelves from the highest down, left to right.

    Sizes are true to each other. Whoever would hide a neighbour is moved to the right of it, so
    that every vessel can be seen and touched.
    """
    if not vessels:
        return ()
    scale = max(pixels_per_metre, LEAST_PX / min(v.width_m for v in vessels))
    origin = min(v.x_m - v.width_m / 2 for v in vessels)
    stands: list[Stand] = []
    floor = 0.0
    for shelf in shelves(vessels):
        floor += HEADROOM_PX + max(v.height_m for v in shelf) * scale
        stands.extend(_on_shelf(shelf, floor, scale, origin))
        floor += LABEL_PX
    return tuple(stands)


def shelves(vessels: Iterable[Vessel]) -> list[list[Vessel]]:
    """Vessels with floors within a hand's breadth share a shelf; the highest shelf first."""
    found: list[list[Vessel]] = []
    for vessel in sorted(vessels, key=lambda v: -v.z_m):
        if found and found[-1][0].z_m - vessel.z_m <= SAME_SHELF_M:
            found[-1].append(vessel)
        else:
            found.append([vessel])
    return [sorted(shelf, key=lambda v: (v.x_m, v.label)) for shelf in found]


def _on_shelf(
    shelf: list[Vessel], floor: float, scale: float, origin: float
) -> Iterator[Stand]:
    free = 0.0
    for vessel in shelf:
        width, height = vessel.width_m * scale, vessel.height_m * scale
        room = max(width, 8.5 * max(len(vessel.label), len(vessel.text)))
        middle = max(MARGIN_PX + (vessel.x_m - origin) * scale, free + room / 2)
        free = middle + room / 2 + GAP_PX
        yield Stand(vessel, middle - width / 2, floor - height, width, height)


def _stand(stand: Stand) -> SafeString:
    vessel = stand.vessel
    middle = stand.left + stand.width / 2
    floor = stand.top + stand.height
    room = max(stand.width + 16, 8.5 * max(len(vessel.label), len(vessel.text)) + 8, 48)
    name = f"{vessel.label}: {vessel.text}. {described(vessel)}"
    body = join(
        (
            element("title", name),
            element(
                "rect",
                x=middle - room / 2,
                y=stand.top - 12,
                width=room,
                height=stand.height + LABEL_PX + 8,
                class_="touch",
            ),
            element(
                "g",
                draw(vessel, stand.width, stand.height),
                transform=f"translate({stand.left:.1f} {stand.top:.1f})",
            ),
            element("text", vessel.label, x=middle, y=floor + 20, class_="name"),
            *_said(vessel, middle, floor + 38),
        )
    )
    return element("a", body, href=vessel.href) if vessel.href else element("g", body)


def _said(vessel: Vessel, middle: float, y: float) -> Iterator[SafeString]:
    """The short line; past the limit it is written light on ink, as in lists."""
    over = vessel.occupied and vessel.limit_s is not None and vessel.elapsed_s > vessel.limit_s
    if over:
        half = 4.4 * len(vessel.text) + 5
        yield element(
            "rect", x=middle - half, y=y - 15, width=2 * half, height=20, class_="ink"
        )
    yield element("text", vessel.text, x=middle, y=y, class_="said over" if over else "said")


def _frame(width: float, height: float, floors: Sequence[float]) -> SafeString:
    posts = [
        element("line", x1=x, x2=x, y1=4, y2=height - 2, class_="post")
        for x in (5.0, width - 5)
    ]
    boards = [
        element("line", x1=0, x2=width, y1=floor + 2.5, y2=floor + 2.5, class_="board")
        for floor in floors
    ]
    return element("g", *posts, *boards, aria_hidden="true")
