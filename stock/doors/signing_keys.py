"""The public half of the key that signs certificates, in the organisation's record book."""

from collections.abc import Iterator
from dataclasses import replace

from protocols.signing import public_jwk
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
    jwk = public_jwk(keys.private_key(PURPOSE))
    if states_of_keys(organisation, PURPOSE).get(jwk["kid"]) == "active":
        return
    name = f"signing key {names.new_uid(asking.now)}"
    enter(
        replace(asking, key=name, question=name, uid=None, note=None, reason=None, files=()),
        organisation,
        Door(
            load=lambda log: states_of_keys(organisation, PURPOSE),
            ask=lambda states: (),
            tell=lambda states: _told(states, jwk),
            show=lambda states: {},
        ),
    )


def _told(states: dict[str, str], jwk: dict[str, str]) -> Iterator[Told]:
    active = [kid for kid, state in states.items() if state == "active"]
    if jwk["kid"] in active:
        return  # somebody else was faster
    for kid in active:
        yield Told("signing_key_set", {"kid": kid, "purpose": PURPOSE, "state": "retired"})
    body = {"kid": jwk["kid"], "purpose": PURPOSE, "state": "active", "jwk": jwk}
    yield Told("signing_key_set", body)
