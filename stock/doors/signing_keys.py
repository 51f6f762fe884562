"""The public halves of the signing keys, in the organisation's record book."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from uuid import UUID

from protocols.signing import key_changes, public_jwk
from stock import keys, names
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.queries.signing_keys import states_of_keys

PURPOSE = "certificate"


def publish_key(asking: Asking) -> None:
    """Enter the key that signs now, if the record book does not know it as the active one.

    One that was active before is retired: what it signed can still be checked.
    """
    organisation = asking.person.organisation
    if not news(organisation, PURPOSE):
        return
    name = f"signing key {names.new_uid(asking.now)}"
    enter(
        replace(asking, key=name, question=name, uid=None, note=None, reason=None, files=()),
        organisation,
        Door(
            load=lambda log: states_of_keys(organisation, PURPOSE),
            ask=lambda states: (),
            # Read again under the lock: somebody else may have been faster.
            tell=lambda states: _told(states, PURPOSE),
            show=lambda states: {},
        ),
    )


def news(organisation: UUID, purpose: str) -> list[Told]:
    """What the record book has to be told so that it knows the keys as they are. One query."""
    return list(_told(states_of_keys(organisation, purpose), purpose))


def _told(states: Mapping[str, str], purpose: str) -> Iterator[Told]:
    active = public_jwk(keys.private_key(purpose))
    if states.get(active["kid"]) == "compromised":
        # Put back from some backup: whoever else has it could sign as well.
        keys.take_next(purpose)
        active = public_jwk(keys.private_key(purpose))
    planned = keys.planned_key(purpose)
    for body in key_changes(states, active, public_jwk(planned) if planned else None):
        yield Told("signing_key_set", {**body, "purpose": purpose})
