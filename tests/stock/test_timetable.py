"""The timetable looks after every site, again and again, until it is told to end."""

import os
import signal
import subprocess
import sys
import threading
from datetime import timedelta

import pytest
from django.conf import settings as site_settings

from stock import clock
from stock.management.commands.timetable import look_after_every_site
from stock.models import Notice, Site, writing_projections
from tests.make import START, make_batch, make_shop

pytestmark = pytest.mark.django_db(transaction=True)

OVERDUE = START + timedelta(hours=73)


@pytest.fixture
def overdue(settings):
    """A batch whose limit has passed; the moment at which that is so is the present."""
    settings.TEST_CLOCK = True
    make_batch(make_shop())
    with clock.named(OVERDUE):
        yield


def told_at(site):
    return Notice.objects.filter(site=site.uid, kind="overdue", body__what="move").count()


def test_what_is_overdue_is_told_although_nobody_asks(overdue):
    look_after_every_site(threading.Event())

    assert told_at(Site.objects.get()) == 1


def test_what_goes_wrong_at_one_site_keeps_no_other_from_being_looked_after(overdue):
    make_batch(make_shop())
    first, second = Site.objects.order_by("uid")
    with writing_projections():
        Site.objects.filter(uid=first.uid).update(zone="No/Where")

    look_after_every_site(threading.Event())

    assert (told_at(first), told_at(second)) == (0, 1)


def test_a_timetable_that_is_to_stop_does_nothing_more(overdue):
    stop = threading.Event()
    stop.set()

    look_after_every_site(stop)

    assert told_at(Site.objects.get()) == 0


@pytest.mark.parametrize("test_clock", ["true", "false"])
def test_the_timetable_ends_when_it_is_told_to(tmp_path, test_clock):
    surroundings = {
        **os.environ,
        "DATABASE_URL": "",
        "FILLMARK_DATA": str(tmp_path),
        "FILLMARK_TEST_CLOCK": test_clock,
        "FILLMARK_SECRET_KEY": "x" * 50,
    }
    command = [sys.executable, "manage.py", "timetable", "--verbosity=2"]
    with subprocess.Popen(
        command,
        cwd=site_settings.ROOT,
        env=surroundings,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        said = process.stdout.readline()
        process.send_signal(signal.SIGTERM)
        code = process.wait(timeout=30)

    assert "timetable" in said
    assert code == 0
