"""What an hour of water and light does: development, viability, infection, the gates."""

import numpy as np

from protocols.carryover.distributions import Floats
from protocols.carryover.parameters import Parameters

COLDEST_C, WARMEST_C = 18.0, 32.0  # the model knows nothing outside: clamped, and flagged
REFERENCE_C = 25.0
COLD_C = 22.0
WINDOW_H = 3.0
THERONT_HOURS = 12


def within(temperature_c: Floats) -> Floats:
    """Temperatures clamped to 18 to 32 C."""
    return np.clip(temperature_c, COLDEST_C, WARMEST_C)


def trophont_rate(p: Parameters, temperature_c: Floats) -> Floats:
    """Reference hours that a trophont develops in an hour at 18 to 32 C; 1 at 25 C."""
    return _rate(temperature_c, p.trophont_slope, p.trophont_cold)


def tomont_rate(p: Parameters, temperature_c: Floats) -> Floats:
    """Reference hours that a cyst develops in an hour at 18 to 32 C; 1 at 25 C."""
    return _rate(temperature_c, p.tomont_slope, p.tomont_cold)


def _rate(temperature_c: Floats, slope: float, cold: float) -> Floats:
    below = np.minimum(temperature_c - COLD_C, 0.0)
    return np.exp(slope * (temperature_c - REFERENCE_C) + cold * below)


def warmth(temperature_c: Floats) -> Floats:
    """0 at 18 C, 1 from 22 C on (S5)."""
    return np.clip((temperature_c - COLDEST_C) / (COLD_C - COLDEST_C), 0.0, 1.0)


def viability(p: Parameters, warm: Floats) -> Floats:
    """Chance that a cyst dropped in such water develops."""
    return p.viable * (0.6 + 0.4 * warm)


def infection(p: Parameters, warm: Floats) -> Floats:
    """Chance that a theront infects within the hour: hour, age (12), record; `warm` by record.

    Over its whole life that is `infect`, halved at 18 C (S5), as long as one animal is there.
    """
    age = np.arange(THERONT_HOURS) + 0.5
    fit = 1 / (1 + (age / p.infectivity_half) ** p.infectivity_power)
    share = fit / fit.sum()
    answer = np.empty((warm.shape[1], THERONT_HOURS, warm.shape[0]))
    answer[...] = -np.expm1(share * np.log1p(-p.infect))[:, None]
    record, hour = np.nonzero(warm < 1)
    life = p.infect * (0.5 + 0.5 * warm[record, hour])
    answer[hour, :, record] = -np.expm1(share * np.log1p(-life)[:, None])
    return answer


def gates(p: Parameters, clock_h: Floats, on_h: Floats, off_h: Floats) -> tuple[Floats, Floats]:
    """Chance per hour that a ripe trophont drops, and that a ripe cyst hatches (S16, S17).

    Over the hour that begins at `clock_h`, with lights on and off at these local hours.
    """
    width = np.minimum(WINDOW_H, (on_h - off_h) % 24 / 2)
    light = (clock_h - on_h) % 24
    drop = hazard(p.drop_in, p.drop_out, p.flat, light + width, width)
    hatch = hazard(p.hatch_in, p.hatch_out, p.flat, light + 2 * width, width)
    return -np.expm1(-drop), -np.expm1(-hatch)


def hazard(
    inside: float, outside: float, flat: float, since_h: Floats, width_h: Floats
) -> Floats:
    """Per hour: wide in a window, nearly shut otherwise; flat where light never changes.

    The hour begins `since_h` (0 to 48) after a window did. A window is 3 h, or half of a night
    below 6 h and then as strong in total.
    """
    since = np.where(since_h >= 24, since_h - 24, since_h)
    share = np.clip(width_h - since, 0.0, 1.0) + np.clip(since - 23, 0.0, width_h)
    strength = inside * WINDOW_H / np.where(width_h > 0, width_h, 1.0)
    return np.where(width_h > 0, share * strength + (1 - share) * outside, flat)
