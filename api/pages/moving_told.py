"""What a move came to, and what somebody else told of the same one before."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from api.language import written
from api.pages.moving_forms import NO_KIT, StepsForm
from api.pages.parts import Table
from api.pages.shell import Here
from protocols.clocks import local_text
from stock.queries.told import named


@dataclass(frozen=True, slots=True)
class ToldBefore:
    """The account that is on record, beside the one that was just typed."""

    by: str
    at: str
    differs: bool
    table: Table


def done(body: dict[str, Any]) -> str:
    """What the move came to, as the batch reads now."""
    batch = body.get("batch") or {"code": "The batch", "stay": None}
    stay = batch["stay"]
    if not stay:
        return _("Nobody is left.")
    text = _("%(batch)s is in %(container)s.") % {
        "batch": batch["code"],
        "container": stay["container_label"],
    }
    if stay.get("limit_local"):
        text += " " + _("Next limit %(limit)s.") % {"limit": written(stay["limit_local"])}
    return text


def told_before(existing: dict[str, Any], form: StepsForm, at: Here) -> ToldBefore:
    """Both accounts of one move side by side. One query, for the names."""
    given = form.cleaned_data
    uids = [existing["doer"], existing["to_container"], existing["kit"], given.get("container")]
    uids += [given.get("kit")] if given.get("kit") != NO_KIT else []
    names = named(str(uid) for uid in uids if uid)
    moment = local_text(existing["performed_at"], at.zone)
    theirs = _row(existing["to_container"], existing["kit"], names)
    theirs += (_last(existing["counts"]), str(existing["missing"]))
    yours = _row(given.get("container"), given.get("kit"), names)
    yours += (_last(form.counts()), str(given.get("missing") or 0))
    by = names.get(str(existing["doer"]), _("somebody"))
    columns = (_("Told by"), _("Into"), _("Kit"), _("Counted"), _("Not found"))
    rows = [(by, *theirs), (_("you"), *yours)]
    return ToldBefore(by, moment, theirs != yours, Table(_("Both accounts"), columns, rows))


def _row(container: Any, kit: Any, names: dict[str, str]) -> tuple[str, ...]:
    return (names.get(str(container), ""), names.get(str(kit), _("none")))


def _last(counts: Any) -> str:
    return str(counts[-1]) if counts else "\u2013"
