"""A real program on this machine that webhooks are sent to, and that checks them."""

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from standardwebhooks import Webhook


@dataclass(frozen=True)
class Came:
    """One delivery as it arrived."""

    headers: dict[str, str]
    body: bytes

    @property
    def name(self) -> str:
        return self.headers["webhook-id"]

    @property
    def type(self) -> str:
        return str(json.loads(self.body)["type"])

    @property
    def data(self) -> dict[str, Any]:
        return dict(json.loads(self.body)["data"])

    def verified(self, secret: str) -> Any:
        """What it says, once a library that is not ours has checked it by this secret."""
        return Webhook(secret).verify(self.body, self.headers)


class Receiver(ThreadingHTTPServer):
    """Answers what it is told to, one number for each delivery, then 204."""

    daemon_threads = True

    def __init__(self) -> None:
        self.came: list[Came] = []
        self.answers: list[int] = []
        self.more: dict[str, str] = {}
        super().__init__(("127.0.0.1", 0), Taking)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_port}/events/secret-path?a=b"


class Taking(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        headers = {name.lower(): value for name, value in self.headers.items()}
        here = self.server
        here.came.append(Came({**headers, "path": self.path}, body))
        self.send_response(here.answers.pop(0) if here.answers else 204)
        for name, value in here.more.items():
            self.send_header(name, value)
        self.end_headers()

    def log_message(self, *args: Any) -> None:
        """Nobody reads it."""


@contextmanager
def receiving() -> Iterator[Receiver]:
    with Receiver() as here:
        threading.Thread(target=here.serve_forever, args=(0.01,), daemon=True).start()
        yield here
        here.shutdown()
