"""The batches of the demo: each stands in a situation that a manager will meet."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tale:
    """One batch: who, how many, placed how long ago, moved when (hours after placing).

    `missing` of the last move are not found; `lost` die after so many hours each.
    """

    name: str
    animal: str
    count: int
    placed_h_ago: float
    moved_after_h: tuple[float, ...] = ()
    lost_after_h: tuple[float, ...] = ()
    missing: int = 0
    sign_after_h: float | None = None
    held_after_h: float | None = None
    certified_after_h: float | None = None
    dispatched: int = 0


# With twelve kits for ten batches the times are such that a kit is always dry in time.
HALL_TALES = (
    Tale(
        name="partly handed over",
        animal="ocellaris",
        count=20,
        placed_h_ago=718.5,
        moved_after_h=(69.4, 131.3, 191.2, 251.7, 318.7),
        lost_after_h=(40,),
        certified_after_h=668,
        dispatched=8,
    ),
    Tale(
        name="certified",
        animal="orchid",
        count=12,
        placed_h_ago=692.0,
        moved_after_h=(58.0, 118.7, 189.1, 254.6, 325.2),
        certified_after_h=668,
    ),
    Tale(
        name="suspected",
        animal="yellow",
        count=6,
        placed_h_ago=514.5,
        moved_after_h=(62.3, 126.1, 193.5, 257.8, 321.9),
        sign_after_h=498,
    ),
    Tale(
        name="observed",
        animal="anthias",
        count=18,
        placed_h_ago=431.7,
        moved_after_h=(62.5, 123.4, 186.7, 245.4, 309.4),
        lost_after_h=(30, 120),
    ),
    Tale(
        name="restarted",
        animal="chromis",
        count=30,
        placed_h_ago=251.3,
        moved_after_h=(63.7, 138.7, 207.9),
        lost_after_h=(90,),
    ),
    Tale(
        name="held",
        animal="coral",
        count=5,
        placed_h_ago=195.5,
        moved_after_h=(67.4, 138.8),
        held_after_h=150,
    ),
    Tale(
        name="mid-series",
        animal="ocellaris",
        count=16,
        placed_h_ago=151.5,
        moved_after_h=(66.9, 136.2),
        lost_after_h=(100,),
    ),
    Tale(name="over", animal="firefish", count=14, placed_h_ago=141.5, moved_after_h=(66.5,)),
    Tale(
        name="one missing",
        animal="chromis",
        count=24,
        placed_h_ago=96.0,
        moved_after_h=(68.9,),
        missing=1,
    ),
    Tale(name="nearly due", animal="orchid", count=10, placed_h_ago=70.3),
)
SHOP_TALES = (
    Tale(
        name="in the shop",
        animal="ocellaris",
        count=8,
        placed_h_ago=90.0,
        moved_after_h=(47,),
    ),
)
