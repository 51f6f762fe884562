"""Records for the carry-over model: the worked ones, and random ones from a seed."""

import json
from pathlib import Path
from typing import Any

import numpy as np

WORKED = json.loads((Path(__file__).parent / "carryover.json").read_text())
SETS = ("low", "central", "high")


def random_record(seed: int, days: int = 13) -> dict[str, Any]:
    """Stays of 40 to 100 h up to so many days, with everything that can happen to a batch."""
    draw = np.random.default_rng(seed)
    stays = _stays(draw, days * 24)
    fish = int(draw.integers(3, 25))
    record: dict[str, Any] = {
        "fish": fish,
        "parasites_per_fish": float(draw.choice([0.5, 2.0, 5.0])),
        "start_clock_h": float(draw.uniform(0, 24)),
        "lights_on_h": float(draw.choice([6, 7.5, 8])),
        "lights_off_h": float(draw.choice([18, 20, 6, 8])),
        "temperature_c": _temperatures(draw, days * 24),
        "stays": stays,
        "deaths": [],
        "joins": [],
        "exposure": [],
    }
    end = days * 24
    if draw.random() < 0.4:
        for _ in range(int(draw.integers(1, 3))):
            death = {"hour": float(draw.uniform(1, end)), "removed_after_h": 12.0}
            record["deaths"].append(death)
    if draw.random() < 0.15:
        join = {"hour": float(draw.uniform(1, end)), "fish": 2, "parasites_per_fish": 1.0}
        record["joins"].append(join)
    if draw.random() < 0.1:
        start = float(draw.uniform(0, end))
        exposure = {"start_h": start, "end_h": start + 12, "infections_per_h": 0.02}
        record["exposure"].append(exposure)
    return record


def _stays(draw: np.random.Generator, end: int) -> list[dict[str, Any]]:
    stays: list[dict[str, Any]] = []
    reached = 0
    while reached < end:
        longer = int(draw.integers(40, 100))
        until = end if end - reached - longer < 40 else reached + longer
        stays.append(_stay(draw, reached, until))
        reached = until
    if draw.random() < 0.7:
        stays.append(_stay(draw, end, end))
    stays[0]["water_carried_ml"] = 0.0
    return stays


def _stay(draw: np.random.Generator, start: int, end: int) -> dict[str, Any]:
    gear = []
    if draw.random() < 0.1:
        gear.append(
            {
                "prior_cysts": float(draw.choice([0.5, 5.0])),
                "hours_since_use": float(draw.uniform(0, 200)),
                "disinfected": bool(draw.random() < 0.5),
                "dry_h": float(draw.choice([0.0, 2.0, 10.0, 30.0])),
            }
        )
    stay = {
        "start_h": start,
        "end_h": end,
        "volume_l": float(draw.choice([10, 20, 60])),
        "water_carried_ml": float(draw.choice([0.0, 0.0, 50.0, 500.0])),
        "gear": gear,
    }
    if draw.random() < 0.1:
        stay |= {"lights_on_h": 9.0, "lights_off_h": float(draw.choice([9, 17, 7]))}
    return stay


def _temperatures(draw: np.random.Generator, end: int) -> list[list[float]]:
    hours = np.unique(np.r_[0, draw.uniform(0, end, 20).round(1)])
    middle = draw.uniform(19, 30.5)
    return [[float(h), float(middle + draw.normal(0, 0.7))] for h in hours]
