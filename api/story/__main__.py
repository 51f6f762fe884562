"""`python -m api.story ADDRESS FILE`, with the set-up code on standard input."""

import sys
import time
from pathlib import Path

from api.story.client import Service, Stopped
from api.story.tale import BEGINS, tell


def main(address: str, file: str) -> int:
    """Print a line for every step; 0 if the certificate verifies, else 1 with the reason."""
    started = time.monotonic()
    service = Service(address, BEGINS)

    def say(step: str) -> None:
        passed = time.monotonic() - started
        sys.stdout.write(f"{passed:5.1f} s  {service.now:%a %d %b %Y %H:%M} UTC  {step}\n")
        sys.stdout.flush()

    try:
        tell(service, sys.stdin.readline().strip(), Path(file), say)
    except Stopped as stopped:
        sys.stderr.write(f"The story stopped: {stopped}\n")
        return 1
    say(f"{service.requests} requests")
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
