"""manage.py demo: play an invented wholesaler and shop, with every situation, up to now."""

import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from stock import clock, keys
from stock.demo.setting import play
from stock.models import Organisation


class Command(BaseCommand):
    help = "Fill an empty database with an invented wholesaler and shop, through the doors."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--address", default="http://127.0.0.1:8000")

    def handle(self, *, address: str, **options: Any) -> None:
        if Organisation.objects.exists():
            raise CommandError("The demo needs an empty database.")
        keys.make_missing()
        began = time.monotonic()
        played = play(clock.now(), address=address, say=self._say)
        self._say(f"played in {time.monotonic() - began:.1f} s")
        for role, email, password in played.sign_ins:
            self.stdout.write(f"Sign in as {role}: {email}  {password}")
        for url in played.certificates:
            self.stdout.write(f"A public certificate: {url}")

    def _say(self, text: str) -> None:
        self.stdout.write(f"Demo: {text}")
        self.stdout.flush()
