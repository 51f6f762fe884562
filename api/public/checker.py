"""The program with which a buyer checks a certificate on a machine of their own."""

from pathlib import Path

from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_safe

from api import exports
from api.public.answers import HOUR_S, keepable

CHECKER = Path(exports.__file__).with_name("certificate_checker.py")


@require_safe
def checker(request: HttpRequest) -> HttpResponseBase:
    """As text, so that it can be read before it is run."""
    kind = "text/plain; charset=utf-8"
    return keepable(request, CHECKER.read_bytes(), kind, seconds=HOUR_S)
