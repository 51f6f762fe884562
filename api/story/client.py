"""A program that talks to the service: JSON over HTTP, a request key each, a named moment."""

import json
import secrets
import urllib.error
import urllib.request
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

PATIENCE_S = 60


class Stopped(Exception):
    """The service refused, or said something else than the story needs."""


class Service:
    """The service at an address, as one person at one moment sees it."""

    def __init__(self, address: str, begins: datetime) -> None:
        self.address = address
        self.now = begins
        self.token = ""
        self.requests = 0

    def wait(self, span: timedelta) -> None:
        """Let time pass."""
        self.now += span

    def at(self, moment: datetime) -> None:
        """Let time pass until `moment`, which lies ahead."""
        if moment < self.now:
            raise Stopped(f"The story goes forward: {moment} lies behind {self.now}.")
        self.now = moment

    def post(self, path: str, body: Mapping[str, Any] | None = None) -> dict[str, Any]:
        """Tell the service something; raises Stopped where it refuses."""
        data = json.dumps(body or {}).encode()
        return self._json("POST", path, data, {"Content-Type": "application/json"})

    def get(self, path: str) -> dict[str, Any]:
        return self._json("GET", path, None, {"Accept": "application/json"})

    def upload(self, path: str, file: Path, **fields: str) -> dict[str, Any]:
        """Send a file with a form."""
        line = f"part-{secrets.token_hex(8)}"
        parts = [
            f'--{line}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
            for name, value in fields.items()
        ]
        head = (
            f'--{line}\r\nContent-Disposition: form-data; name="file";'
            f' filename="{file.name}"\r\nContent-Type: text/csv\r\n\r\n'
        )
        body = "".join(parts).encode() + head.encode() + file.read_bytes()
        data = body + f"\r\n--{line}--\r\n".encode()
        kind = f"multipart/form-data; boundary={line}"
        return self._json("POST", path, data, {"Content-Type": kind})

    def text(self, path: str, accept: str) -> str:
        """What anybody gets at an address of the service, without signing in."""
        return self._send("GET", path, None, {"Accept": accept}).decode()

    def _json(
        self, method: str, path: str, data: bytes | None, headers: dict[str, str]
    ) -> dict[str, Any]:
        if self.token:
            headers["Authorization"] = f"Bearer {self.token}"
        headers["Idempotency-Key"] = secrets.token_hex(16)
        address = path if path.startswith(("/", "http")) else f"/api/v1/{path}"
        return dict(json.loads(self._send(method, address, data, headers)))

    def _send(
        self, method: str, path: str, data: bytes | None, headers: dict[str, str]
    ) -> bytes:
        self.requests += 1
        address = path if path.startswith("http") else self.address + path
        named = {**headers, "Fillmark-Now": self.now.isoformat()}
        request = urllib.request.Request(  # noqa: S310  # our own address
            address, data=data, headers=named, method=method
        )
        try:
            with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:  # noqa: S310
                return bytes(answer.read())
        except urllib.error.HTTPError as error:
            with error:
                said = error.read().decode(errors="replace")
            raise Stopped(f"{method} {path}: {error.code}\n{said[:4000]}") from error
