"""Speaking to the services by which people are called. Only this and `posting.py` go out."""

import logging
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.conf import settings

from protocols.addresses import is_private

# Long enough for a slow service: what it took and did not answer in time is sent again.
CONNECT_S, READ_S = 10.0, 30.0
log = logging.getLogger(__name__)

_held = threading.local()
_resolve = socket.getaddrinfo


class _Inside(OSError):
    """The name leads into a private network."""


def deliver(address: str, title: str, text: str) -> str:
    """Send one message; empty if the service took it, else why not, in a few words.

    Never raises, and never says the address. Redirections are not followed.
    """
    import apprise  # 219 modules: only where somebody is called

    plugin = apprise.Apprise.instantiate(address, suppress_exceptions=True)
    if plugin is None or isinstance(plugin, dict):
        return "the address cannot be read"
    plugin.redirects = False
    plugin.socket_connect_timeout, plugin.socket_read_timeout = CONNECT_S, READ_S
    with _outside_only():
        try:
            taken = plugin.notify(body=text, title=title, body_format=apprise.NotifyFormat.TEXT)
        except Exception:  # noqa: BLE001  whatever a service does, the others are called
            # Not its words: they may hold the address.
            log.warning("A call failed in the service %s.", type(plugin).__name__)
            taken = False
        if _held.refused:
            return "it leads into a private network"
    return "" if taken else "the service did not take it"


@contextmanager
def _outside_only() -> Iterator[None]:
    """In this thread, names that lead into a private network are not connected to.

    Looked at where names become addresses, so that neither a redirection nor a name that
    means something else a second later gets around it.
    """
    _held.active, _held.refused = not settings.PRIVATE_ADDRESSES, False
    try:
        yield
    finally:
        _held.active = False


def _guarded(host: Any, *args: Any, **options: Any) -> Any:
    found = _resolve(host, *args, **options)
    if getattr(_held, "active", False) and any(is_private(str(one[4][0])) for one in found):
        _held.refused = True
        raise _Inside("a private network")
    return found


socket.getaddrinfo = _guarded
