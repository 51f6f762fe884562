"""Every refusal leaves as one shape: RFC 9457, a stable code, every reason with its numbers."""

import uuid
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import RequestDataTooBig, SuspiciousOperation
from django.http import Http404
from rest_framework import exceptions
from rest_framework.permissions import AllowAny
from rest_framework.response import Response
from rest_framework.views import APIView

from protocols.values import Alternative, Reason
from stock.refusals import NotFound, Refused, refuse

STATUS = {
    "unreadable": 400,
    "offset_missing": 400,
    "not_whole": 400,
    "not_positive": 400,
    "unknown_field": 400,
    "key_missing": 400,
    "code_unsound": 400,
    "reason_missing": 400,
    "in_future": 400,
    "local_time_twice": 400,
    "local_time_never": 400,
    "not_signed_in": 401,
    "second_factor": 401,
    "wrong_role": 403,
    "own_action": 403,
    "csrf_failed": 403,
    "not_found": 404,
    "method_not_allowed": 405,
    "not_acceptable": 406,
    "changed": 412,
    "too_large": 413,
    "not_a_table": 415,
    "not_a_document": 415,
    "key_reused": 422,
    "if_match_missing": 428,
    "too_many": 429,
    "busy": 503,
}
CONFLICT = 409


def status_of(code: str) -> int:
    """The HTTP status of a code; every rule of the trade is a conflict with the record."""
    return STATUS.get(code, CONFLICT)


def explain(error: Exception, context: Mapping[str, Any]) -> Response | None:
    """Turn whatever a view raised into a problem; what is ours to fix stays an error."""
    if isinstance(error, Refused):
        return problem(error.code, error.reasons, existing=error.existing, **error.extra)
    if isinstance(error, NotFound | Http404):
        return problem("not_found", (refuse("not_found", "There is no such thing."),))
    if isinstance(error, exceptions.ValidationError):
        reasons = tuple(_field_reasons(error.detail, ""))
        return problem(reasons[0].code if len(reasons) == 1 else "unreadable", reasons)
    if isinstance(error, exceptions.NotAuthenticated | exceptions.AuthenticationFailed):
        answer = problem("not_signed_in", (refuse("not_signed_in", "Sign in first."),))
        answer["WWW-Authenticate"] = "Bearer"
        return answer
    for kind, code in CODES.items():
        if isinstance(error, kind):
            # What cannot be read at all is the body as a whole.
            where = "/" if code == "unreadable" else None
            return problem(code, (refuse(code, _text(error), pointer=where),))
    return None


# What the framework refuses before a view is asked, the more special kind first.
CODES: Mapping[type[Exception], str] = {
    exceptions.ParseError: "unreadable",
    exceptions.UnsupportedMediaType: "unreadable",
    exceptions.MethodNotAllowed: "method_not_allowed",
    exceptions.NotAcceptable: "not_acceptable",
    exceptions.PermissionDenied: "csrf_failed",
    RequestDataTooBig: "too_large",
    SuspiciousOperation: "unreadable",
}


def _text(error: Exception) -> str:
    return str(getattr(error, "detail", error))


class Nowhere(APIView):
    """Every address under /api/ where nothing is: a problem like all others, for any method."""

    schema = None
    authentication_classes = ()
    permission_classes = (AllowAny,)
    http_method_names = ()

    def http_method_not_allowed(self, *args: Any, **options: Any) -> Response:
        raise Http404


def problem(
    code: str,
    reasons: tuple[Reason, ...],
    *,
    existing: Mapping[str, Any] | None = None,
    **extra: Any,
) -> Response:
    status = min((status_of(one.code) for one in reasons), default=status_of(code))
    body: dict[str, Any] = {
        "type": "about:blank",
        "title": (reasons[0].text if reasons else "") or code.replace("_", " "),
        "status": status,
        "code": code,
        "detail": " ".join(one.text for one in reasons if one.text) or code.replace("_", " "),
        "reasons": [shown_reason(one) for one in reasons],
        "request_id": str(uuid.uuid4()),
        **extra,
    }
    answer = Response(body, status=status, content_type="application/problem+json")
    if existing is not None:
        body["existing"] = existing
    for one in reasons:
        if one.code == "joins_running_series":
            body["consequence"] = dict(one.numbers)
        if "again_in_s" in one.numbers:
            answer["Retry-After"] = str(one.numbers["again_in_s"])
    return answer


def shown_reason(reason: Reason) -> dict[str, Any]:
    """A reason as programs read it; here and in the certificate check."""
    shown: dict[str, Any] = {
        "code": reason.code,
        "rule": reason.rule,
        "text": reason.text,
        "blocks": reason.blocks,
        "numbers": dict(reason.numbers),
        "instead": [_shown_alternative(one) for one in reason.instead],
        "may_insist": list(reason.may_insist),
    }
    optional = {
        "cleared_by": reason.cleared_by,
        "who": list(reason.who) or None,
        "task": reason.task,
        "pointer": reason.pointer,
    }
    return shown | {name: value for name, value in optional.items() if value is not None}


def _shown_alternative(one: Alternative) -> dict[str, Any]:
    members: dict[str, str | datetime | None] = {
        "kind": one.kind,
        "uid": None if one.uid is None else str(one.uid),
        "label": one.label,
        "from": one.begins,
        "to": one.ends,
    }
    return {name: value for name, value in members.items() if value is not None}


def _field_reasons(detail: Any, pointer: str) -> list[Reason]:
    """One reason for each field that cannot be read, with a pointer to it."""
    if isinstance(detail, Mapping):
        pairs: Any = detail.items()
    elif isinstance(detail, list) and not all(isinstance(one, str) for one in detail):
        pairs = enumerate(detail)
    else:
        return [
            refuse(_code(one), str(one), pointer=pointer or "/")
            for one in (detail if isinstance(detail, list) else [detail])
        ]
    found: list[Reason] = []
    for name, inner in pairs:
        here = pointer if name == "non_field_errors" else f"{pointer}/{name}"
        found.extend(_field_reasons(inner, here))
    return found


def _code(detail: Any) -> str:
    code = getattr(detail, "code", "unreadable")
    return code if code in STATUS else "unreadable"
