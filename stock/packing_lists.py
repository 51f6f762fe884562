"""An uploaded packing list into what it says, with what is known of its supplier."""

import json
from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from protocols.lists import Choice, Problem, Question, Understood, understand
from stock.models import Site, Supplier
from stock.refusals import Refused, refuse
from stock.tables import Unreadable, read_table


def read_list(
    path: Path,
    name: str,
    answers: Mapping[str, Any],
    settings: Mapping[str, Any],
    today: date,
) -> Understood:
    """What the file says; which encoding it has is a question like any other."""
    encoding = answers.get("encoding")
    try:
        table = read_table(path, name, encoding=None if encoding is None else str(encoding))
    except Unreadable as error:
        choices = error.numbers.get("choices")
        if not choices:
            numbers = {"why": error.why, **error.numbers}
            raise Refused(refuse(error.code, str(error), pointer="/file", **numbers)) from error
        offered = tuple(Choice(one["value"], one["shows"]) for one in choices)
        line = error.numbers.get("line")
        return Understood(
            problems=(Problem(line, None, error.why, str(error)),),
            questions=(Question("encoding", "How were the letters saved?", offered),),
            form={"file_name": name},
        )
    return understand(table, today=today, answers=answers, settings=settings)


# An entry has less than 64 KiB; what a supplier's lists are called must fit with the rest.
MAPPING_MOST_BYTES = 40_000


def fits_an_entry(mapping: Mapping[str, str]) -> bool:
    """Whether what is kept of a supplier's headings can stand in the ledger."""
    return len(json.dumps(dict(mapping), ensure_ascii=False).encode()) <= MAPPING_MOST_BYTES


def settings_of(supplier: Supplier) -> dict[str, Any]:
    """How this supplier writes lists, as far as anybody said."""
    return {
        "date_order": supplier.date_order,
        "decimal": supplier.decimal,
        "mapping": supplier.mapping,
    }


def today_at(site: Site, at: datetime) -> date:
    """The day it is at a site."""
    return at.astimezone(ZoneInfo(site.zone)).date()
