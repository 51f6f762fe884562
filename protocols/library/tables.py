"""Reading a definition strictly: every member known, of its sort, and none left over."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from datetime import timedelta
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Any, TypeVar

from protocols.ruled import Range

E = TypeVar("E", bound=StrEnum)
DAY = timedelta(days=1)
# No duration of a protocol is longer, and no sum of them leaves the calendar.
SECONDS_MOST = 400 * 86400
NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
NAME_MOST = 30


class BadDefinition(ValueError):
    """A definition does not say what it must. `at` is the member that is wrong."""

    def __init__(self, text: str, at: str = "") -> None:
        super().__init__(f"{at} {text}" if at else text)
        self.at = at


def parse(data: bytes) -> Mapping[str, Any]:
    """The members of a definition. Raises BadDefinition for what is no TOML in UTF-8."""
    try:
        return tomllib.loads(data.decode())
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise BadDefinition(str(error)) from error


class Table:
    """One table of a definition; `done` says that everything in it was read."""

    def __init__(self, said: Mapping[str, Any], at: str = "") -> None:
        self._left = dict(said)
        self._at = f"{at}." if at else ""

    def done(self) -> None:
        """Raises BadDefinition if something is left that nobody asked for."""
        if self._left:
            raise BadDefinition("is not known here", self._at + min(self._left))

    def has(self, name: str) -> bool:
        return name in self._left

    def name(self, name: str) -> str:
        """A name such as `transfer-288`, which fits a batch and an address."""
        found = self.text(name, most=NAME_MOST)
        if NAME.fullmatch(found) is None:
            raise self._bad(name, "must be small letters, digits and single hyphens")
        return found

    def text(self, name: str, *, most: int = 2000) -> str:
        found = self._take(name)
        if not isinstance(found, str) or not found.strip() or len(found) > most:
            raise self._bad(name, "must be a text with something in it")
        return found

    def texts(self, name: str, *, may_be_empty: bool = False) -> tuple[str, ...]:
        found = self._take(name)
        if not isinstance(found, list) or not (found or may_be_empty):
            raise self._bad(name, "must be a list that is not empty")
        if not all(isinstance(one, str) and one.strip() for one in found):
            raise self._bad(name, "must be a list of texts")
        return tuple(found)

    def whole(self, name: str, *, least: int = 1) -> int:
        found = self._take(name)
        if type(found) is not int or not least <= found <= SECONDS_MOST:
            raise self._bad(name, f"must be a whole number of at least {least}")
        return found

    def flag(self, name: str) -> bool:
        found = self._take(name)
        if not isinstance(found, bool):
            raise self._bad(name, "must be true or false")
        return found

    def seconds(self, name: str) -> timedelta:
        """A duration of at least a second, in seconds, of at most 400 days."""
        return timedelta(seconds=self.whole(name))

    def seconds_or_none(self, name: str) -> timedelta | None:
        return self.seconds(name) if self.has(name) else None

    def decimal(self, name: str) -> Decimal:
        """A number as it was written: text, as a float would not keep it."""
        return decimal_of(self._at + name, self._take(name))

    def decimal_or_none(self, name: str) -> Decimal | None:
        return self.decimal(name) if self.has(name) else None

    def range(self, name: str) -> Range:
        found = self._take(name)
        if not isinstance(found, list) or len(found) != 2:
            raise self._bad(name, "must have a least and a most value")
        least, most = (decimal_of(self._at + name, one) for one in found)
        if least > most:
            raise self._bad(name, "ends before it begins")
        return Range(least, most)

    def from_to(self, least: str, most: str) -> Range:
        """A range whose ends stand in two members, neither below 0."""
        found = Range(self.decimal(least), self.decimal(most))
        if not 0 <= found.least <= found.most:
            raise self._bad(most, "ends before it begins, or is below 0")
        return found

    def word(self, name: str, words: type[E]) -> E:
        return self._word(name, self._take(name), words)

    def words(self, name: str, words: type[E]) -> tuple[E, ...]:
        found = self._take(name)
        if not isinstance(found, list):
            raise self._bad(name, "must be a list")
        return tuple(self._word(name, one, words) for one in found)

    def table(self, name: str) -> "Table":
        found = self._take(name)
        if not isinstance(found, Mapping):
            raise self._bad(name, "must be a table")
        return Table(found, self._at + name)

    def tables(self, name: str) -> Sequence["Table"]:
        found = self._take(name)
        if not isinstance(found, list) or not found:
            raise self._bad(name, "must be a list of tables")
        if not all(isinstance(one, Mapping) for one in found):
            raise self._bad(name, "must be a list of tables")
        return [Table(one, f"{self._at}{name}.{place}") for place, one in enumerate(found)]

    def _take(self, name: str) -> Any:
        if name not in self._left:
            raise self._bad(name, "is missing")
        return self._left.pop(name)

    def _word(self, name: str, found: Any, words: type[E]) -> E:
        try:
            return words(found)
        except ValueError as error:
            known = ", ".join(one.value for one in words)
            raise self._bad(name, f"is none of {known}") from error

    def _bad(self, name: str, text: str) -> BadDefinition:
        return BadDefinition(text, self._at + name)


def decimal_of(at: str, value: Any) -> Decimal:
    """A finite number of at most 20 characters. Raises BadDefinition."""
    if not isinstance(value, str) or len(value) > 20:
        raise BadDefinition("must be text", at)
    try:
        number = Decimal(value)
    except InvalidOperation as error:
        raise BadDefinition("is no number", at) from error
    if not number.is_finite():
        raise BadDefinition("is no number", at)
    return number
