"""Child processes that never outlive their parent."""

import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from types import FrameType

GRACE_S = 10.0
LOOK_EVERY_S = 0.1
PR_SET_PDEATHSIG = 1


class Children:
    """A few processes that run together and end together.

    Used as a context: whatever happens inside, all of them are gone behind it.
    """

    def __init__(self, say: Callable[[str], object]) -> None:
        self._say = say
        self._running: dict[str, subprocess.Popen[bytes]] = {}
        self._stop_asked = False

    def __enter__(self) -> "Children":
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, self._ask_to_stop)
        return self

    def __exit__(self, *error: object) -> None:
        self.stop()

    def start(self, name: str, command: Sequence[str]) -> None:
        """Start one child in a process group of its own.

        Ctrl-C in the terminal then reaches the parent alone, which stops the children in order.
        """
        self._running[name] = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, process_group=0, preexec_fn=die_with_parent()
        )

    def until(self, ready: Callable[[], bool]) -> bool:
        """Wait until `ready()`; false when somebody stopped us or a child ended before."""
        while not ready():
            if self._stop_asked or self._ended():
                return False
            time.sleep(LOOK_EVERY_S)
        return True

    def watch(self) -> int:
        """Wait for a stop signal (0) or the end of the first child (its code, never 0)."""
        while not self._stop_asked:
            if ended := self._ended():
                name, code = ended
                self._say(f"{name} ended by itself ({in_words(code)}); stopping the others.")
                return exit_code(code)
            time.sleep(LOOK_EVERY_S)
        return 0

    def stop(self) -> None:
        """Ask every child to end, last started first; after ten seconds end what is left."""
        for child in reversed(self._running.values()):
            send(child, signal.SIGTERM)
        deadline = time.monotonic() + GRACE_S
        for name, child in self._running.items():
            try:
                child.wait(max(0.0, deadline - time.monotonic()))
            except subprocess.TimeoutExpired:
                self._say(f"{name} did not end in {GRACE_S:.0f} s and was killed.")
            # The group may hold a grandchild that its parent left behind.
            send(child, signal.SIGKILL)
            child.wait()

    def _ended(self) -> tuple[str, int] | None:
        for name, child in self._running.items():
            if (code := child.poll()) is not None:
                return name, code
        return None

    def _ask_to_stop(self, number: int, frame: FrameType | None) -> None:
        self._stop_asked = True


def die_with_parent(number: int = signal.SIGTERM) -> Callable[[], None] | None:
    """What a child does first so that the kernel ends it with its parent; Linux has that."""
    if sys.platform != "linux":
        return None
    libc = ctypes.CDLL(None)
    parent = os.getpid()

    def tie() -> None:
        libc.prctl(PR_SET_PDEATHSIG, int(number))
        if os.getppid() != parent:
            os._exit(1)  # the parent ended in between: nobody would send the signal

    return tie


def send(child: subprocess.Popen[bytes], number: int) -> None:
    """Send a signal to the whole group of a child, if any of it is left."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child.pid, number)


def in_words(code: int) -> str:
    """A return code as people read it."""
    return f"signal {signal.Signals(-code).name}" if code < 0 else f"code {code}"


def exit_code(code: int) -> int:
    """What to end with ourselves: a service that ended is a failure even with code 0."""
    return 128 - code if code < 0 else code or 1
