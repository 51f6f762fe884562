"""Several accounts of one move, side by side; what they do not agree in is said in words."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django.utils.html import format_html
from django.utils.translation import gettext as _

from api.language import later, local_text
from api.pages.asking import Told
from api.pages.fields import Rows, Words
from api.pages.links import label, when
from api.pages.parts import Table
from api.pages.shell import Here
from protocols.order import SAME_MOVE
from stock.queries.accounts import Account

COLUMNS = (
    later("Told by"),
    later("It happened"),
    later("Recorded"),
    later("Into"),
    later("Kit"),
    later("Counted"),
    later("Not found"),
)


class AccountForm(Told):
    """Which of the accounts stands."""

    WITHOUT = ("when", "standing", "set_aside", "why_aside", "reason")

    accepted = Rows(label=later("Which account stands?"))
    why = Words(label=later("Why this one?"), lines=True)

    def __init__(self, *args: Any, told: Sequence[Account], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("accepted", ((str(one.uid), self._said(one)) for one in told))

    def _said(self, one: Account) -> str:
        text = _("{by}: {at}, into {container}").format(
            by=one.by, at=local_text(one.at, self.at.zone), container=one.container
        )
        text += _(", {count} counted").format(count=one.count) if one.count is not None else ""
        return (
            _("{text}, {missing} not found").format(text=text, missing=one.missing)
            if one.missing
            else text
        )


def accounts_table(told: Sequence[Account], at: Here) -> Table:
    """One row for each account."""
    rows = [_row(one, told, at) for one in told]
    return Table(_("Both accounts") if len(rows) == 2 else _("All accounts"), COLUMNS, rows)


def needs_choice(told: Sequence[Account], at: Here) -> bool:
    """Whether there is one to choose, by somebody who told none of them."""
    who = {uid for one in told for uid in (one.doer, one.messenger)}
    return len(told) > 1 and at.person.uid not in who


def _row(one: Account, told: Sequence[Account], at: Here) -> tuple[object, ...]:
    moments = [each.at for each in told]
    return (
        one.by,
        _cell(when(one.at, at.zone), differs=_apart(moments) > SAME_MOVE),
        when(one.recorded_at, at.zone),
        _cell(label(one.container), differs=_differ(each.container for each in told)),
        _cell(label(one.kit) or _("none"), differs=_differ(each.kit for each in told)),
        _cell(_number(one.count), differs=_differ(each.count for each in told)),
        _cell(_number(one.missing), differs=_differ(each.missing for each in told)),
    )


def _cell(value: object, *, differs: bool) -> object:
    return format_html("<b>{}</b> differs", value) if differs else value


def _number(count: int | None) -> str:
    return _("not counted") if count is None else str(count)


def _differ(values: Any) -> bool:
    return len(set(values)) > 1


def _apart(moments: Sequence[datetime]) -> timedelta:
    return max(moments) - min(moments)
