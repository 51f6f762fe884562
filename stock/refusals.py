"""How a door says no. Codes are for programs and permanent; texts are for people."""

from collections.abc import Iterable
from typing import Any

from protocols.said import said
from protocols.values import Reason


class Refused(Exception):
    """Rules stand against what was asked. Nothing was stored."""

    def __init__(
        self,
        *reasons: Reason,
        code: str | None = None,
        existing: dict[str, Any] | None = None,
        **extra: Any,
    ) -> None:
        self.reasons = reasons
        self.existing = existing
        self.extra = extra
        self._code = code
        super().__init__("; ".join(reason.text or reason.code for reason in reasons))

    @property
    def code(self) -> str:
        """What the door says it is; else the one code there is, or `refused` for several."""
        if self._code is not None:
            return self._code
        codes = {reason.code for reason in self.reasons}
        return codes.pop() if len(codes) == 1 else "refused"


class NotFound(Exception):
    """It is not there, or it is not yours to see: the same answer."""


class CannotApply(Exception):
    """A fact does not fit the record as it stands: asked it is refused, happened parked."""

    def __init__(self, reason: Reason) -> None:
        self.reason = reason
        super().__init__(reason.text or reason.code)


def not_here(what: str) -> CannotApply:
    """The fact speaks of something that is not in its own record book."""
    return CannotApply(refuse("not_found", said("There is no such {what} here.", what=what)))


def refuse(code: str, text: str = "", *, pointer: str | None = None, **numbers: Any) -> Reason:
    """A reason that no rule in `protocols/` gives: about the request itself."""
    return Reason(code=code, rule=code, text=text, numbers=numbers, pointer=pointer)


def changed(now: int, yours: int | None) -> Reason:
    """Somebody was faster: the thing has another version than the asker has read."""
    return refuse("changed", "Somebody changed this since you read it.", now=now, yours=yours)


def label_taken(label: str) -> Reason:
    return refuse(
        "label_taken",
        said("{label} is the label of another one here.", label=label),
        pointer="/label",
        label=label,
    )


def blocking(reasons: Iterable[Reason]) -> tuple[Reason, ...]:
    return tuple(reason for reason in reasons if reason.blocks)
