"""Protocol versions of an organisation's own, kept as their facts tell them."""

from hashlib import sha256

from protocols.versions import BadDefinition, is_made, read_any
from stock.apply.registry import applies
from stock.models import Fact, MadeProtocol
from stock.refusals import CannotApply, refuse


@applies("protocol_frozen")
def freeze(fact: Fact) -> None:
    """Keep the text if it is the one of the digest, and says what it calls itself."""
    body = fact.body
    key, text = f"{body['protocol']}@{body['version']}", body.get("text", "")
    _is_what_it_says(key, text, body["sha256"])
    MadeProtocol.objects.create(
        fact=fact.uid,
        organisation_id=fact.log.organisation,
        key=key,
        sha256=body["sha256"],
        text=text,
        made_from=body.get("made_from", ""),
        frozen_at=fact.performed_at,
        by=fact.doer,
    )


def _is_what_it_says(key: str, text: str, digest: str) -> None:
    if not is_made(key) or sha256(text.encode()).hexdigest() != digest:
        raise CannotApply(refuse("contradicts_record", "The text is not that of its digest."))
    try:
        found = read_any(text.encode())
    except BadDefinition as wrong:
        raise CannotApply(
            refuse("contradicts_record", f"It cannot be read: {wrong}")
        ) from wrong
    if found.key != key:
        raise CannotApply(refuse("contradicts_record", f"It calls itself {found.key}."))
