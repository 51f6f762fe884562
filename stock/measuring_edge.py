"""Figures of the whole service: how soon it is there again, how often a page asks."""

import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from datetime import datetime

from django.conf import settings
from django.db import connection
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from stock.measuring import Figure
from stock.models import Batch, Role

SITE_PAGES = ("shift", "room", "unpacking", "kits", "questions", "certifiable", "record-book")
SAYS_IT_STANDS = b"Ctrl-C stops it"


def second_start(goal: float = 5.0) -> Figure:
    """Seconds from the command until `up` answers, where it was started once before."""
    with tempfile.TemporaryDirectory() as folder:
        _start(folder)
        return Figure("second start of up", _start(folder), goal, "s")


def _start(folder: str) -> float:
    """Start `up` in a folder, wait until it says that it stands, and stop it again."""
    command = [sys.executable, "manage.py", "up", "--empty", "--data", folder]
    began = time.perf_counter()
    process = subprocess.Popen(
        [*command, "--port", str(_free_port())],
        cwd=settings.ROOT,
        env={**os.environ, "DATABASE_URL": ""},
        stdout=subprocess.PIPE,
    )
    assert process.stdout is not None
    stands = any(SAYS_IT_STANDS in line for line in process.stdout)
    took = time.perf_counter() - began
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=30)
    if not stands:
        raise RuntimeError("up ended before it stood")
    return took


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def queries_of_pages(now: datetime, goal: float = 8.0) -> Figure:
    """The most queries that a page of the demo makes, as its manager sees it."""
    role = Role.objects.filter(role="manager").select_related("person").first()
    assert role is not None
    client = Client(headers={"Fillmark-Now": now.isoformat()})
    client.force_login(role.person)
    batch = Batch.objects.filter(site=role.site_id, state="moves").first()
    assert batch is not None
    addresses = [reverse(name, args=[role.site_id]) for name in SITE_PAGES]
    addresses += [reverse(name, args=[batch.uid]) for name in ("batch", "history", "move")]
    # Reports see what this command has written before anything is committed.
    with override_settings(TEST_CLOCK=True, REPORTS="default", ALLOWED_HOSTS=["testserver"]):
        most = max(_queries(client, address) for address in addresses)
    return Figure("queries of a page, at most", most, goal, "queries")


def _queries(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        status = client.get(address).status_code
    if status != 200:
        raise RuntimeError(f"{address} answered {status}")
    return len(queries)
