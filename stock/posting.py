"""Posting to the addresses of webhooks: to the machine that was looked at, and no further.

Names are made into addresses once, every one of them is looked at, and the connection goes to
one of these: what a name means a second later changes nothing. No proxy of the environment is
used, no redirection followed, and nothing of the answer is read but its head.
"""

import socket
import ssl
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException, HTTPResponse
from typing import Any
from urllib.parse import SplitResult

from protocols.addresses import is_private
from protocols.webhooks import parted, port_of

CONNECT_S, TOTAL_S = 5.0, 15.0
WAIT_MOST_S = 24 * 3600


@dataclass(frozen=True, slots=True)
class Posted:
    """What came of one try: the number of the answer, or why there is none.

    `why`: unreadable_address, private, unknown_host, no_connection, not_secure, no_answer,
    unreadable_answer. `wait_s` is how long the receiver asks to be left alone.
    """

    status: int | None = None
    why: str = ""
    wait_s: int = 0


class _Stopped(Exception):
    """It goes no further; says why."""


class _Connection(HTTPConnection):
    """A connection over a socket that somebody else opened."""

    def __init__(self, host: str, sock: socket.socket) -> None:
        super().__init__(host)
        self.sock = sock


class _Deadline:
    """Cuts the connection when the time for all of it is over, however slowly it drips."""

    def __init__(self, seconds: float) -> None:
        self._socket: socket.socket | None = None
        self.is_over = False
        self._timer = threading.Timer(seconds, self._cut)
        self._timer.daemon = True

    def __enter__(self) -> "_Deadline":
        self._timer.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._timer.cancel()

    def watch(self, sock: socket.socket) -> None:
        self._socket = sock
        if self.is_over:
            self._cut()

    def _cut(self) -> None:
        self.is_over = True
        if self._socket is not None:
            try:
                # Not the method of a secure socket, which would take its state from under
                # whoever reads.
                socket.socket.shutdown(self._socket, socket.SHUT_RDWR)
            except OSError:
                return


def post(
    address: str,
    headers: Mapping[str, str],
    body: bytes,
    *,
    private_allowed: bool,
    total_s: float = TOTAL_S,
) -> Posted:
    """Post once and say what came of it. Never raises."""
    parts = parted(address)
    if parts is None:
        return Posted(why="unreadable_address")
    with _Deadline(total_s) as deadline:
        try:
            return _posted(parts, headers, body, deadline, private_allowed=private_allowed)
        except _Stopped as stopped:
            why = str(stopped)
        except (HTTPException, ValueError):
            why = "unreadable_answer"
        except OSError:
            why = "no_answer"
        return Posted(why="no_answer" if deadline.is_over else why)


def _posted(
    parts: SplitResult,
    headers: Mapping[str, str],
    body: bytes,
    deadline: _Deadline,
    *,
    private_allowed: bool,
) -> Posted:
    found = _found(parts, private_allowed=private_allowed)
    with _opened(parts, found, deadline) as sock:
        connection = _Connection(parts.netloc, sock)
        path = parts.path or "/"
        if parts.query:
            path = f"{path}?{parts.query}"
        connection.request("POST", path, body, {"user-agent": "Fillmark", **headers})
        answer = connection.getresponse()
        return Posted(status=answer.status, wait_s=_wait_s(answer))


def _found(parts: SplitResult, *, private_allowed: bool) -> list[Any]:
    """What the name means now; all of it is outside, or it is not spoken to."""
    host = parts.hostname or ""
    if not private_allowed and is_private(host):
        raise _Stopped("private")
    try:
        found = socket.getaddrinfo(host, port_of(parts), type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise _Stopped("unknown_host") from error
    if not private_allowed and any(is_private(str(one[4][0])) for one in found):
        raise _Stopped("private")
    return found


def _opened(parts: SplitResult, found: list[Any], deadline: _Deadline) -> socket.socket:
    """A connection to the first of these that takes one, secure where the address says so."""
    sock = _connected(found)
    deadline.watch(sock)
    if parts.scheme != "https":
        return sock
    context = _trusting()
    secure: socket.socket = sock
    try:
        secure = wrapped = context.wrap_socket(
            sock, server_hostname=parts.hostname, do_handshake_on_connect=False
        )
        deadline.watch(wrapped)
        wrapped.do_handshake()
    except (OSError, ValueError) as error:
        secure.close()
        raise _Stopped("not_secure") from error
    return secure


def _trusting() -> ssl.SSLContext:
    """What this machine trusts, and what the library by which people are called trusts."""
    import certifi  # where a machine has no list of its own

    context = ssl.create_default_context()
    context.load_verify_locations(certifi.where())
    return context


def _connected(found: list[Any]) -> socket.socket:
    for family, sort, protocol, _, where in found:
        sock = socket.socket(family, sort, protocol)
        sock.settimeout(CONNECT_S)
        try:
            sock.connect(where)
        except OSError:
            sock.close()
            continue
        sock.settimeout(TOTAL_S)
        return sock
    raise _Stopped("no_connection")


def _wait_s(answer: HTTPResponse) -> int:
    """`Retry-After` in seconds; a date is not read."""
    text = answer.headers.get("Retry-After", "").strip()
    return min(int(text[:9]), WAIT_MOST_S) if text.isascii() and text.isdecimal() else 0
