"""Numbers of a packing list, whose decimal sign depends on who wrote it."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from protocols.list_text import clean
from protocols.list_values import Choice, Note, Question
from protocols.said import said

SIGNS = (",", ".")
CURRENCIES = r"usd|us\$|eur|gbp|aud|jpy|cny|sgd|idr|php|lkr|kes|rp|rm|\$|€|£|¥"
UNITS = "pcs|pc|pieces|piece|uds|ud|und|un|unid|pza|pzas|stk|stück|st|ea|each|ekor|fish"
AROUND = rf"(?:(?:{CURRENCIES}|{UNITS})\.?)?"
MINUS, QUOTE = "\u2212", "\u2019"  # the typographer's minus and the Swiss thousands mark
BARE = re.compile(
    rf"{AROUND}\s*(?P<number>[-+{MINUS}]?[\d.,\s'{QUOTE}]*\d)\s*{AROUND}", re.IGNORECASE
)
MOST_DIGITS = 15


@dataclass(frozen=True, slots=True)
class Number:
    """What a text is worth with a decimal comma and with a decimal point; None: no number."""

    comma: Decimal | None
    point: Decimal | None

    def by(self, sign: str) -> Decimal | None:
        return self.comma if sign == "," else self.point

    @property
    def is_open(self) -> bool:
        """Whether it is a number either way, but not the same one: 1,250."""
        return None not in (self.comma, self.point) and self.comma != self.point


def read_number(text: str) -> Number:
    """Both readings of a text. A currency or unit beside the number is left out."""
    found = BARE.fullmatch(clean(text))
    if not found:
        return Number(None, None)
    bare = re.sub(rf"[\s'{QUOTE}]", "", found["number"])
    bare = bare.replace(MINUS, "-").removeprefix("+")
    if len(bare) > MOST_DIGITS:
        return Number(None, None)
    return Number(_read(bare, ","), _read(bare, "."))


def _read(bare: str, sign: str) -> Decimal | None:
    other = re.escape("." if sign == "," else ",")
    mark = re.escape(sign)
    grouped = rf"\d{{1,3}}(?:{other}\d{{3}})+"
    if not re.fullmatch(rf"-?(?:\d+|{grouped})?(?:{mark}\d+)?", bare, re.ASCII):
        return None
    if re.fullmatch(rf"-?0{other}.*", bare):
        return None
    digits = re.sub(other, "", bare).replace(sign, ".")
    return Decimal(digits)


def as_price(number: Decimal) -> str:
    """Decimal text without an exponent, with the digits that were printed."""
    return format(number, "f")


@dataclass(frozen=True, slots=True)
class Sign:
    """The decimal sign of a file, or the question for it, or what people are told of it."""

    sign: str | None
    question: Question | None = None
    note: Note | None = None


def settle_sign(texts: Iterable[str], *, separator: str | None, given: str | None) -> Sign:
    """The one decimal sign of a file.

    `given` by an answer or the supplier's setting decides. Without it 12.50 is read with a
    point, 12,50 with a comma only where the fields are separated by semicolons; 1,250 could
    be either and is asked, as is a file that uses both.
    """
    if given in SIGNS:
        return Sign(given)
    read = [(text, read_number(text)) for text in texts]
    either = [text for text, number in read if number.is_open]
    comma = [text for text, number in read if number.comma is not None and number.point is None]
    point = [text for text, number in read if number.point is not None and number.comma is None]
    if either or (comma and (point or separator != ";")):
        return Sign(None, _question((either or comma)[0]))
    if comma:
        told = Note("decimal", said("{comma} is read with a decimal comma.", comma=comma[0]))
        return Sign(",", note=told)
    return Sign(".")


def _question(text: str) -> Question:
    number = read_number(text)
    names = {",": "decimal comma", ".": "decimal point"}
    shown = tuple(
        Choice(
            sign,
            said(
                "{name}: {text} is {shown}", name=name, text=text, shown=_shown(number.by(sign))
            ),
        )
        for sign, name in names.items()
    )
    return Question(
        "decimal",
        said("Which decimal sign does this list use, as in {text}?", text=text),
        shown,
    )


def _shown(number: Decimal | None) -> str:
    return "not a number" if number is None else as_price(number)
