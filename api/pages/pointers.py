"""From what a reason points to, to the field it was typed in."""

from collections.abc import Mapping

from protocols.values import Reason


def field_of(reason: Reason, names: Mapping[str, str]) -> str:
    """The field of a pointer such as /counts, /performed_at or /lines/0/count."""
    pointer = (reason.pointer or "").strip("/")
    first = pointer.split("/")[0]
    return names.get(pointer) or names.get(first) or COMMON_NAMES.get(first, first)


COMMON_NAMES = {"performed_at": "when", "counts": "count", "to_container": "container"}


def is_objection(
    reason: Reason, names: Mapping[str, str], fields: Mapping[str, object]
) -> bool:
    """A reason with something to offer or to set aside, or without a field of its own."""
    return bool(reason.instead or reason.may_insist or field_of(reason, names) not in fields)
