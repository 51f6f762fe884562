"""A real service on this machine that people are called by."""

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


class Service(ThreadingHTTPServer):
    """A service that takes calls over HTTP; it refuses as often as it is told to."""

    def __init__(self):
        self.came, self.refuses = [], 0
        super().__init__(("127.0.0.1", 0), Taking)

    @property
    def address(self):
        return f"json://127.0.0.1:{self.server_port}/calls/secret-word"


class Taking(BaseHTTPRequestHandler):
    def do_POST(self):
        said = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        refuses = self.server.refuses > 0
        self.server.refuses -= refuses
        if not refuses:
            self.server.came.append(said)
        self.send_response(503 if refuses else 200)
        self.end_headers()

    def log_message(self, *args):
        """Nobody reads it."""


@contextmanager
def listening() -> Iterator[Service]:
    with Service() as here:
        threading.Thread(target=here.serve_forever, daemon=True).start()
        yield here
        here.shutdown()
