"""Rows about reckonings and units: everybody who is signed in may ask, and nothing is kept."""

import json
from pathlib import Path
from typing import Any

from tests.api.asked.row import EVERYBODY, Row

FILE = Path(__file__).parents[2] / "protocols/water/vectors.json"


def examples() -> dict[str, dict[str, Any]]:
    """The first vector of each quantity that can be answered, its numbers as text."""
    found: dict[str, dict[str, Any]] = {}
    for one in json.loads(FILE.read_text(encoding="utf-8")):
        if one["expected"] != "error":
            inputs = {name: str(value) for name, value in one["inputs"].items()}
            found.setdefault(one["quantity"], inputs)
    return found


WATER = {
    "GET units": Row(EVERYBODY, status=200),
    "PUT units": Row(EVERYBODY, {"temperature": "[degF]", "salinity": "SG 25/25"}, 200),
    "GET water": Row(EVERYBODY, status=200),
    **{f"POST water/{name}": Row(EVERYBODY, body, 200) for name, body in examples().items()},
}
