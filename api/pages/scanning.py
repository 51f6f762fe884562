"""A code that is scanned or typed leads to what bears it."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.pages.parts import PageLink
from api.pages.shell import here, page, show
from api.pages.words import plain
from api.rest.codes import page_of
from protocols.codes import LENGTH, read_code
from stock.queries.labelled import bearers


@page
@require_safe
def scan(request: HttpRequest, site: UUID) -> HttpResponse:
    """Without a code a field to type one in; with one the way to what bears it."""
    at = here(request, site)
    typed = request.GET.get("code", "").strip()
    if not typed:
        return show(request, at, "scan", {"typed": ""}, current="scan")
    code = read_code(typed)
    found = bearers(site, code) if code else []
    if len(found) == 1:
        return redirect(page_of(found[0], site))
    context = {
        "typed": typed,
        "wrong": "" if found else not_there(typed, code),
        "found": [
            PageLink(f"{plain(one.what)} {one.label}", page_of(one, site)) for one in found
        ],
    }
    status = 200 if found else 404 if code else 400
    return show(request, at, "scan", context, current="scan", status=status)


def not_there(typed: str, code: str | None) -> str:
    """Why nothing came of it: too short or long, misread, or borne by nothing here."""
    if code is not None:
        return _("Nothing here bears the code %(code)s.") % {"code": code}
    if sum(one.isalnum() for one in typed) != LENGTH:
        return _("A code has eight letters and digits, such as K7QF-3ZM2.")
    return _(
        "The last character does not fit the others: the code was misread or mistyped. "
        "Scan or type it again."
    )
