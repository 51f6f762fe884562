"""What requests may say. Unknown fields are refused, so that a misspelt one is never lost."""

import hashlib
from collections.abc import Mapping
from typing import Any, TypeVar
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request

from protocols import clocks
from protocols.values import Insist, Standing
from stock import clock
from stock.access import Person
from stock.doors.door import Asking, DeviceEntry
from stock.refusals import Refused, refuse

COUNT_MAX = 1_000_000
VERSION_DIGITS = 18  # as far as a database counts


class Input(serializers.Serializer[Any]):
    """A request body. Reading it gives plain values, or a problem at the field."""

    @classmethod
    def read(cls, request: Request) -> dict[str, Any]:
        """The checked fields of the body, without those that every writing request has."""
        data = request.data
        if not isinstance(data, Mapping):
            raise Refused(refuse("unreadable", "The body must be an object.", pointer="/"))
        given = cls(data={name: data[name] for name in data if name not in COMMON})
        given.is_valid(raise_exception=True)
        return dict(given.validated_data)

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            unknown = [name for name in data if name not in self.fields]
            if unknown:
                raise serializers.ValidationError(
                    {name: ["No such field."] for name in unknown}, code="unknown_field"
                )
        return super().to_internal_value(data)


class Count(serializers.IntegerField):
    """A whole number of animals, typed as one; text, fractions and booleans are refused."""

    def __init__(self, *, least: int = 1, **options: Any) -> None:
        self.least = least
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool) or not isinstance(data, int):
            raise serializers.ValidationError("Type a whole number.", code="not_whole")
        if data < self.least:
            text = f"It must be {self.least} or more."
            raise serializers.ValidationError(text, code="not_positive")
        if data > COUNT_MAX:
            raise serializers.ValidationError("That is too many.", code="unreadable")
        return data


class Uid(serializers.UUIDField):
    """A uid as text; a number is none, although it could be read as one."""

    def to_internal_value(self, data: Any) -> UUID:
        if not isinstance(data, str):
            raise serializers.ValidationError("Send a uid as text.", code="unreadable")
        uid: UUID = super().to_internal_value(data)
        return uid


class Moment(serializers.Field[Any, Any, Any, Any]):
    """A time with its offset; seconds are kept, fractions cut. Gives UTC."""

    def to_internal_value(self, data: Any) -> Any:
        return read_moment(data)[0]

    def to_representation(self, value: Any) -> Any:
        return value


class Number(serializers.CharField):
    """A number with a fraction, kept as typed: text such as "25.4"."""

    def to_internal_value(self, data: Any) -> str:
        text = super().to_internal_value(data)
        whole = text.removeprefix("-")
        if not whole or whole.strip("0123456789.") or whole.count(".") > 1 or whole == ".":
            raise serializers.ValidationError("Type a number such as 25.4.", code="unreadable")
        return text


def read_moment(data: Any) -> tuple[Any, int]:
    try:
        return clocks.read_moment(str(data))
    except clocks.OffsetMissing as error:
        raise serializers.ValidationError(
            "Say the offset from UTC, such as +01:00 or Z.", code="offset_missing"
        ) from error
    except clocks.Unreadable as error:
        raise serializers.ValidationError("This is no time.", code="unreadable") from error


class InsistInput(serializers.Serializer[Any]):
    rule = serializers.CharField(max_length=40)
    reason = serializers.CharField(max_length=1000)


class DeviceEntryInput(serializers.Serializer[Any]):
    uid = Uid()
    entry_no = Count()
    raw_at = Moment()
    clock_offset_ms = serializers.IntegerField(required=False, allow_null=True, default=None)
    delivered = serializers.BooleanField(
        default=False,
        help_text="Brought by another than its doer, since that one could not sign in.",
    )


class CommonInput(serializers.Serializer[Any]):
    """The fields that every request which enters a fact may have."""

    performed_at = serializers.CharField(
        required=False, help_text="When it happened, with its offset from UTC; else just now."
    )
    standing = serializers.ChoiceField(choices=[one.value for one in Standing], default="asked")
    insist = InsistInput(many=True, required=False, default=list)
    reason = serializers.CharField(
        max_length=2000, required=False, allow_null=True, default=None
    )
    doer = Uid(required=False, allow_null=True, default=None)
    device = DeviceEntryInput(required=False, allow_null=True, default=None)
    uid = Uid(required=False, allow_null=True, default=None)
    note = serializers.CharField(max_length=4000, required=False, allow_null=True, default=None)
    files = serializers.ListField(
        child=serializers.RegexField(r"^[0-9a-f]{64}$"), required=False, default=list
    )


COMMON = frozenset(CommonInput().fields)
P = TypeVar("P")


def person(request: Request) -> Person:
    """Who is signed in; views are reached by signed-in people only."""
    if not isinstance(request.user, Person):
        raise TypeError("a view without sign-in must not ask who is signed in")
    return request.user


def asking(request: Request, log: UUID) -> Asking:
    """Everything about a writing request that does not depend on what it asks for."""
    data = request.data
    if not isinstance(data, Mapping):
        raise Refused(refuse("unreadable", "The body must be an object.", pointer="/"))
    common = CommonInput(data={name: data[name] for name in data if name in COMMON})
    common.is_valid(raise_exception=True)
    given = common.validated_data
    now = clock.now(log)
    performed_at, offset_min = now, 0
    if "performed_at" in given:
        performed_at, offset_min = at_field(given["performed_at"], "performed_at")
    device = given["device"]
    return Asking(
        person=person(request),
        key=key_of(request),
        question=question_of(request),
        now=now,
        performed_at=performed_at,
        offset_min=offset_min,
        standing=Standing(given["standing"]),
        doer=given["doer"],
        insist=tuple(Insist(**one) for one in given["insist"]),
        reason=given["reason"],
        device=DeviceEntry(**device) if device else None,
        # What is changed has its name already.
        uid=None if request.method == "PUT" else given["uid"],
        note=given["note"],
        files=tuple(given["files"]),
        asker=given["doer"] if device and device["delivered"] else None,
    )


def at_field(text: Any, name: str) -> tuple[Any, int]:
    try:
        return read_moment(text)
    except serializers.ValidationError as error:
        raise serializers.ValidationError({name: error.detail}) from error


def key_of(request: Request) -> str:
    """The request key: the same key and question are answered once."""
    key = request.headers.get("Idempotency-Key", "")
    if not 1 <= len(key) <= 200:
        text = "Send an Idempotency-Key header of 1 to 200 characters."
        raise Refused(refuse("key_missing", text))
    return key


def question_of(request: Request) -> str:
    """What was asked, as one digest: method, path and body."""
    digest = hashlib.sha256(f"{request.method} {request.path}\n".encode())
    digest.update(request.body)
    return digest.hexdigest()


def if_match(request: Request) -> int:
    """The version that the asker has read."""
    text = request.headers.get("If-Match", "").strip().removeprefix("W/").strip('"')
    if not text:
        raise Refused(refuse("if_match_missing", "Say in If-Match which version you read."))
    return int(text) if text.isdecimal() and len(text) <= VERSION_DIGITS else -1
