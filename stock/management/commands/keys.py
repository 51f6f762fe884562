"""manage.py keys: which keys sign, and how one takes the place of another."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from protocols.kinds.certificates import KEY_PURPOSES
from stock import clock, rotating
from stock.queries.signing_keys import known_keys


class Command(BaseCommand):
    help = "List signing keys, plan and activate the next one, or take one back."

    def add_arguments(self, parser: ArgumentParser) -> None:
        steps = parser.add_subparsers(dest="step", required=True)
        steps.add_parser("list", help="Every key, its state, and since when.")
        plan = steps.add_parser("plan", help="Make and publish the key that will sign next.")
        activate = steps.add_parser("activate", help="Let the planned key sign from now on.")
        for one in (plan, activate):
            one.add_argument("purpose", choices=KEY_PURPOSES, nargs="?", default="certificate")
        retire = steps.add_parser("retire", help="Give up a planned key.")
        compromised = steps.add_parser(
            "compromised", help="A key is, or may be, in other hands: take it back."
        )
        for one in (retire, compromised):
            one.add_argument("kid")
        steps.add_parser(
            "sign-anew", help="Sign the certificates of compromised keys with the present one."
        )

    def handle(self, *, step: str, **options: Any) -> None:
        try:
            getattr(self, step.replace("-", "_"))(**options)
        except rotating.CannotChange as error:
            raise CommandError(str(error)) from error

    def list(self, **_: Any) -> None:
        for purpose in KEY_PURPOSES:
            rotating.publish(purpose, clock.now())
            for one in known_keys(purpose).values():
                since = f"{one.since:%Y-%m-%d %H:%M} UTC"
                self.stdout.write(f"{purpose:<12} {one.kid}  {one.state} since {since}")

    def plan(self, *, purpose: str, **_: Any) -> None:
        kid = rotating.plan(purpose, clock.now())
        self.stdout.write(f"{kid} is planned and published. Activate it in an hour or later.")

    def activate(self, *, purpose: str, **_: Any) -> None:
        kid = rotating.activate(purpose, clock.now())
        self.stdout.write(f"{kid} signs from now on. Back up the folder of keys.")

    def retire(self, *, kid: str, **_: Any) -> None:
        rotating.retire(kid, clock.now())
        self.stdout.write(f"{kid} will never sign.")

    def compromised(self, *, kid: str, **_: Any) -> None:
        rotating.compromise(kid, clock.now())
        self.stdout.write(
            f"{kid} counts no more. What it signed says so where it is shown;\n"
            "`manage.py keys sign-anew` signs it again. Back up the folder of keys."
        )

    def sign_anew(self, **_: Any) -> None:
        numbers = rotating.sign_anew(clock.now())
        for number in numbers:
            self.stdout.write(number)
        self.stdout.write(f"{len(numbers)} certificates were signed anew.")
