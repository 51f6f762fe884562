"""Names for new things, where no device made one."""

import secrets
import threading
from datetime import UTC, datetime
from uuid import UUID

from protocols import codes

_LOW = (1 << 62) - 1


class _Noise:
    """Random numbers that only grow while the moment is the same (RFC 9562 §6.2, method 2)."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._moment = datetime.min.replace(tzinfo=UTC)
        self._number = 0

    def at(self, moment: datetime) -> int:
        with self._lock:
            if moment == self._moment:
                self._number += 1 + secrets.randbits(32)
            else:
                self._moment, self._number = moment, secrets.randbits(73)
            return self._number


_noise = _Noise()


def new_uid(at: datetime) -> UUID:
    """A UUIDv7: a name that sorts by making, never read as a time.

    What is told twice within one second (held and lifted, missed and found) is put in order
    by its uids, so those made one after the other here must sort that way.
    """
    number = _noise.at(at)
    noise = (number >> 62 << 64) | (number & _LOW)
    return codes.uuid7(at, noise.to_bytes(10, "big"))
