"""Look after every site, again and again, until somebody stops it."""

import itertools
import logging
import signal
import threading
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.db import DatabaseError, OperationalError, close_old_connections

from stock import carryover, checkpoints, clock, jobs, sending, sweeps, webhook_sending
from stock.models import Site

EVERY_S = 5.0
# Every so many rounds all tasks are compared, not only where something was judged.
THOROUGH_EVERY = 12
log = logging.getLogger(__name__)


class Command(BaseCommand):
    """`manage.py timetable`: the process of `up` that acts although nobody asks.

    Two of them at once are harmless. Under the test clock it sleeps: there each moment is named
    by a request, and the sweeps are asked for.
    """

    help = "Judge what the clock overtook, keep tasks in line, leave reminders and send calls."

    def handle(self, *args: Any, **options: Any) -> None:
        stop = threading.Event()
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: stop.set())
        if options["verbosity"] > 1:
            self.stdout.write(f"The timetable looks after every site each {EVERY_S:.0f} s.")
            self.stdout.flush()
        for work in (send_until, deliver_until, work_until):
            threading.Thread(target=work, args=(stop,), name=work.__name__, daemon=True).start()
        for n in itertools.count():
            if not settings.TEST_CLOCK:
                look_after_every_site(stop, thorough=n % THOROUGH_EVERY == 0)
            if stop.wait(EVERY_S):
                return


def send_until(stop: threading.Event) -> None:
    """Beside the sweeps, which must never wait for a service that does not answer."""
    while not stop.wait(EVERY_S):
        if not settings.TEST_CLOCK:
            send_round()


def send_round() -> None:
    """One round of sending; what goes wrong is said, and tried again with the next round."""
    close_old_connections()
    try:
        sending.send_due(clock.now())
    except OperationalError as error:
        log.warning("Sending waits for the next round: %s", error)
    except Exception:  # a call that cannot be sent must not keep the others back
        log.exception("Calls could not be sent.")


def deliver_until(stop: threading.Event) -> None:
    """Beside the calls of people, which must never wait for another program."""
    while not stop.wait(EVERY_S):
        if not settings.TEST_CLOCK:
            deliver_round()


def deliver_round() -> None:
    """One round of events for webhooks; what goes wrong is said, and tried again."""
    close_old_connections()
    try:
        webhook_sending.deliver_due(clock.now(), now=clock.now)
    except OperationalError as error:
        log.warning("Webhooks wait for the next round: %s", error)
    except Exception:  # an event that cannot be sent must not keep the others back
        log.exception("Events could not be sent.")


def work_until(stop: threading.Event) -> None:
    """Beside both: what takes long because somebody asked for much."""
    while not stop.wait(EVERY_S):
        if not settings.TEST_CLOCK:
            work_round()


def work_round() -> None:
    """Do what waits at every site; what goes wrong is said, and tried again later."""
    close_old_connections()
    try:
        for site in Site.objects.order_by("uid").values_list("uid", flat=True):
            jobs.run_due(site, clock.now(site))
    except OperationalError as error:
        log.warning("Long work waits for the next round: %s", error)
    except Exception:  # one thing that cannot be done must not keep the next from being done
        log.exception("Long work could not be done.")


def look_after_every_site(stop: threading.Event, *, thorough: bool = True) -> None:
    """One round. What goes wrong is said, and tried again with the next round."""
    close_old_connections()
    try:
        sites = list(Site.objects.order_by("uid").values_list("uid", flat=True))
    except DatabaseError:
        log.exception("The timetable could not read which sites there are.")
        return
    for site in sites:
        if stop.is_set():
            return
        try:
            sweeps.sweep(site, clock.now(site), thorough=thorough)
            checkpoints.look_after(site, clock.now(site))
            if thorough:
                carryover.sweep(site, clock.now(site))
                webhook_sending.forget_old(site, clock.now(site))
        except OperationalError as error:
            log.warning("Site %s waits for the next round: %s", site, error)
        except Exception:  # one site must not keep the others from being looked after
            log.exception("The timetable could not look after site %s.", site)
