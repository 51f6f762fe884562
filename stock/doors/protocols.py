"""Freezing a protocol version of the organisation's own."""

from hashlib import sha256
from typing import Any
from uuid import UUID

from protocols.library.making import may_freeze, one_form, read_made
from protocols.ruled import Reason
from protocols.versions import UnknownProtocol
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Log
from stock.queries.protocols import Shown, keys_of, shown_version, version_of
from stock.refusals import Refused, refuse


def freeze_protocol(asking: Asking, *, made_from: str, text: str) -> Answered:
    """Freeze a version made from another one; from then on batches can go by it.

    Refused is what the linter calls an error, whatever anybody insists on.
    """
    organisation = access.organisation_for(asking.person, access.DECIDERS)
    kept = one_form(text)
    found = read_made(kept)
    if isinstance(found, Reason):
        raise Refused(found)
    roles = access.roles_of(asking.person)

    def load(log: Log) -> None:
        # Not even as happened: nothing unsafe is ever there to be worked by.
        origin, known = _origin(log, made_from), keys_of(log.uid)
        if reasons := tuple(may_freeze(found, origin.found, known, roles)):
            raise Refused(*reasons)

    body = {
        "protocol": found.name,
        "version": found.version,
        "sha256": sha256(kept.encode()).hexdigest(),
        "text": kept,
        "made_from": made_from,
    }
    return enter(
        asking,
        organisation.uid,
        Door(
            load=load,
            ask=lambda _: (),
            tell=lambda _: (Told("protocol_frozen", body, asking.uid, texts=asking.texts),),
            show=lambda _: _shown(organisation.uid, found.key),
        ),
    )


def _origin(log: Log, key: str) -> Shown:
    try:
        return version_of(log.uid, key)
    except UnknownProtocol as error:
        text = "There is no such protocol."
        raise Refused(refuse("unreadable", text, pointer="/made_from")) from error


def _shown(organisation: UUID, key: str) -> dict[str, Any]:
    return {"protocol": shown_version(version_of(organisation, key))}
