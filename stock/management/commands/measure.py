"""manage.py measure: figures of this machine beside their goals, in a throw-away database."""

import platform
import time
from argparse import ArgumentParser
from collections.abc import Callable
from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection

from protocols.values import Standing
from stock import clock, keys
from stock.demo.floor import asking
from stock.demo.setting import play
from stock.doors.moves import MoveAsked, move_batch
from stock.judging.worlds import alive_in
from stock.measuring import Figure, door_against_sql, judged_per_second
from stock.measuring_bag import bagging
from stock.measuring_edge import queries_of_pages, second_start
from stock.measuring_numbers import numbers
from stock.measuring_proof import verifying
from stock.measuring_reach import far_fact, rebuilt_per_second
from stock.models import Container, Kit, Person, Role, StayRow

HAPPENED = Standing.HAPPENED


class Command(BaseCommand):
    help = "Measure judging, doors and the demo on this machine. Nothing is asserted or kept."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "what",
            nargs="?",
            choices=("all", "numbers"),
            default="all",
            help="Or a part of it.",
        )
        parser.add_argument(
            "--far", action="store_true", help="Also what reaches 500 batches, and a rebuild."
        )

    def handle(self, **options: Any) -> None:
        for figure in numbers():
            self._say(figure)
        if options["what"] == "numbers":
            return
        keys.make_missing()
        self._say(judged_per_second())
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        now = clock.now()
        began = time.perf_counter()
        play(now, address="http://127.0.0.1", say=self.stdout.write)
        self._say(Figure("demo played", time.perf_counter() - began, 10.0, "s"))
        self._say(door_against_sql(_a_move(now)))
        self._say(queries_of_pages(now))
        self._say(verifying())
        self._say(bagging())
        self._say(second_start())
        if options["far"]:
            self._say(far_fact(_manager(), now))
            self._say(rebuilt_per_second(now))
        self.stdout.write(f"{platform.processor() or platform.machine()}, {connection.vendor}")

    def _say(self, figure: Figure) -> None:
        self.stdout.write(
            f"{figure.what}: {figure.measured:.1f} {figure.unit},"
            f" against {figure.against:.1f} {figure.unit}: ratio {figure.ratio:.2f}"
        )
        self.stdout.flush()


def _manager() -> Person:
    """The demo's manager, who has that role at both sites."""
    role = Role.objects.filter(role="manager").select_related("person").first()
    assert role is not None
    return role.person


def _a_move(now: Any) -> Callable[[], Any]:
    """A move of a batch of the demo that is mid-series, as happened now."""
    stay = (
        StayRow.objects.filter(ended_latest=None, batch__state="moves", batch__limit__gt=now)
        .select_related("batch__site")
        .order_by("batch__limit")
        .last()
    )
    assert stay is not None
    site = stay.batch.site
    standing = StayRow.objects.filter(batch__site=site, ended_latest=None)
    # Told as happened: neither has to be ready.
    container = Container.objects.filter(site=site).exclude(
        uid__in=standing.values("container")
    )[0]
    kit = Kit.objects.filter(site=site).exclude(uid__in=standing.values("kit"))[0]
    manager = _manager()
    asked = MoveAsked(
        batch=stay.batch_id,
        ended_stay=stay.uid,
        container=container.uid,
        kit=kit.uid,
        counts=(alive_in(stay.batch_id),),
    )
    return lambda: move_batch(asking(manager, now, standing=HAPPENED), site=site, asked=asked)
