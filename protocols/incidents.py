"""What reports of incidents ask of people."""

from collections.abc import Mapping
from typing import Any

SOUND = frozenset({"sound", "closed", "on", "ok", "true"})


def leaves_lid_off(kind: str, what: Mapping[str, Any]) -> bool:
    """Whether an incident leaves a container without a sound lid.

    `what` may say it under `lid`: `sound`, or what is wrong with it. Where it does not, a jump
    does: the animal came out somewhere.
    """
    said = what.get("lid")
    if said is not None:
        return str(said).strip().lower() not in SOUND
    return kind.startswith("jump") or "lid" in kind.split("_")
