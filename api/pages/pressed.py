"""What makes two presses of a form one: its request key, and what was asked under it."""

import hashlib

from django.http import HttpRequest
from django.utils.translation import gettext as _

from stock.refusals import Refused, refuse

# Asked first and sent again by a tablet as done, it is the same question.
NOT_ASKED = ("csrfmiddlewaretoken", "request_key", "standing")
KEY_MOST = 200


def key_of(request: HttpRequest) -> str:
    """The key that the form was given as its page was opened. Raises Refused (key_missing)."""
    key = request.POST.get("request_key", "")
    if not 1 <= len(key) <= KEY_MOST:
        raise Refused(refuse("key_missing", _("Open the page again and press once more.")))
    return key


def question_of(request: HttpRequest) -> str:
    """What was asked, as one digest: address, fields, files."""
    asked = sorted(
        (name, value)
        for name, values in request.POST.lists()
        if name not in NOT_ASKED
        for value in values
    )
    digest = hashlib.sha256(repr((request.method, request.path, asked)).encode())
    for name in sorted(request.FILES):
        for file in request.FILES.getlist(name):
            for chunk in file.chunks():
                digest.update(chunk)
            file.seek(0)
    return digest.hexdigest()
