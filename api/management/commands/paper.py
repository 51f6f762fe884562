"""manage.py paper: today's sheets for a power cut, from the machine that has the data."""

from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError, CommandParser

from api.pages.paper_words import sheet_pdf
from stock import clock
from stock.doors.paper import print_sheet
from stock.queries.paper import sites_by_name


class Command(BaseCommand):
    help = (
        "Print today's sheet of each site as PDF: what is due, rounds, moves, readings, losses."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", help="only this site, by its name or uid")
        parser.add_argument(
            "--into", type=Path, default=Path(), help="the folder for the files"
        )

    def handle(self, **options: Any) -> None:
        every = sites_by_name()
        named = options["site"]
        chosen = [one for one in every if named in (None, one[1], str(one[0]))]
        if not chosen:
            known = ", ".join(name for _, name, _ in every)
            raise CommandError(f"There is no site {named}. There are: {known}.")
        for uid, name, zone in chosen:
            self.stdout.write(str(self._print(uid, name, ZoneInfo(zone), options["into"])))

    @staticmethod
    def _print(site: UUID, name: str, zone: ZoneInfo, folder: Path) -> Path:
        sheet = print_sheet(site, at=clock.now(site))
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"sheet-{sheet.code}.pdf"
        path.write_bytes(sheet_pdf(sheet, site=name, zone=zone))
        return path
