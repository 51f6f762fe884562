"""An assessment as JSON, as it is kept and answered over REST."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from protocols.carryover.assessing import Assessment, Band
from protocols.carryover.distributions import Floats
from protocols.carryover.inputs import Inputs
from protocols.carryover.words import likelihood, said

DIGITS = 6


def digest(inputs: Mapping[str, Any]) -> str:
    """SHA-256 of inputs as sorted JSON."""
    return hashlib.sha256(json.dumps(inputs, sort_keys=True).encode()).hexdigest()


def plain(found: Assessment, record: Inputs) -> dict[str, Any]:
    """Everything of an assessment: chances by set, in words, expected numbers by hour."""
    numbers = found.counts
    return {
        "version": found.version,
        "hour": found.hour,
        "on_fish": plain_band(found.on_fish),
        "in_reach": plain_band(found.in_reach),
        "leading_cause": found.leading_cause,
        "flags": [asdict(each) for each in found.flags],
        "actions": [
            {
                "action": each.name,
                "hour": each.hour,
                "hours": each.action.lasts_h,
                "moves": each.action.moves,
                "work_h": each.action.work_h,
                "on_fish": plain_band(each.on_fish),
            }
            for each in found.outlooks
        ],
        "trophonts": _rounded(numbers.trophonts),
        "cysts": _rounded(numbers.cysts),
        "theronts": _rounded(numbers.theronts),
        "stays": [
            {
                "start_h": stay.first,
                "end_h": stay.end,
                "infections": _digits(numbers.infections[n]),
                "drops": _digits(numbers.drops[n]),
                "hatches": _digits(numbers.hatches[n]),
                "left_cysts": _digits(numbers.cysts[max(stay.end - 1, 0)]),
            }
            for n, stay in enumerate(record.stays)
        ],
        "alive": record.fish + sum(j.fish for j in record.joins) - len(record.deaths),
    }


def plain_band(band: Band) -> dict[str, Any]:
    """A band by set, with its words."""
    return {
        **{name: _digits(chance) for name, chance in asdict(band).items()},
        "words": likelihood(band.central),
        "odds": said(band),
    }


def _rounded(numbers: Floats) -> list[float]:
    return [_digits(each) for each in numbers]


def _digits(number: float) -> float:
    return float(f"{float(number):.{DIGITS}g}")
