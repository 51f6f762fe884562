"""The address under which others find the service: it stands in every certificate."""

from django.conf import settings
from django.http import HttpRequest
from rest_framework.request import Request


def address_of(request: HttpRequest | Request) -> str:
    """`https://shop.example` as it is set, else as the request names it; no slash behind."""
    given: str = settings.ADDRESS
    return given or request.build_absolute_uri("/").rstrip("/")
