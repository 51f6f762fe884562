"""The page of one certificate: for people, for programs, and the signed text itself."""

import re

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html
from django.views.decorators.http import require_safe

from api.public.addresses import address_of
from api.public.answers import CREDENTIAL, not_there, unlisted
from api.public.jwks import JWKS_PATH
from api.public.notices import AddressForm, may_be_told
from api.public.printed import PAPER, printed
from api.public.said import replacement, said_now
from api.public.shown import shown
from api.public.words import as_of, covers, next_steps
from api.rest.outputs import to_json
from api.templatetags.fillmark import moment
from stock import clock
from stock.queries.public import PublicRecord, public_record, site_of, token_of

HTML, JSON = "text/html", "application/json"
FORMS = {"html": HTML, "json": JSON, "jwt": CREDENTIAL, "pdf": PAPER}
CODE = re.compile("[a-z2-7]{32}")


@require_safe
def certificate(request: HttpRequest, code: str) -> HttpResponse:
    """What the certificate is worth now; no account is needed but the address itself."""
    code, form = code.lower(), form_of(request)
    site = site_of(code) if CODE.fullmatch(code) else None
    if site is None:
        return unlisted(_nothing(request, form))
    if form == CREDENTIAL:
        return unlisted(_text(code))
    record = public_record(code, clock.now(site))
    assert record is not None
    if form == JSON:
        body = to_json(said_now(record, address_of(request)))
        return unlisted(HttpResponse(body, content_type=JSON))
    if form == PAPER:
        return unlisted(_paper(code, record))
    return unlisted(_page(request, record, code))


def form_of(request: HttpRequest) -> str:
    """The form that the link or the reader asks for; for people where neither says it."""
    named = FORMS.get(request.GET.get("format", ""))
    return named or request.get_preferred_type([HTML, JSON, CREDENTIAL]) or HTML


def _text(code: str) -> HttpResponse:
    """Byte for byte what was signed: nobody may ever write it anew."""
    token = token_of(code)
    assert token is not None
    answer = HttpResponse(token.encode(), content_type=CREDENTIAL)
    answer["Content-Disposition"] = f'inline; filename="{code}.jwt"'
    return answer


def _paper(code: str, record: PublicRecord) -> HttpResponse:
    answer = HttpResponse(printed(record), content_type=PAPER)
    answer["Content-Disposition"] = f'inline; filename="{code}.pdf"'
    return answer


def _page(request: HttpRequest, record: PublicRecord, code: str) -> HttpResponse:
    address = address_of(request)
    context = {
        "record": record,
        "frozen": record.quarantine,
        "shown": shown(record),
        "as_of": format_html(
            as_of(),
            at=moment(record.as_of, record.zone),
            since=moment(record.worth.state.since, record.zone),
        ),
        "covers": covers(record.quarantine["addresses"]),
        "next_steps": next_steps(),
        "zone": record.zone,
        "url": record.credential["id"],
        "keys": address + JWKS_PATH,
        "replaced_by": replacement(record, address),
        "code": code,
        "notices": AddressForm() if may_be_told() and not record.worth.is_final else None,
    }
    return render(request, "public/certificate.html", context)


def _nothing(request: HttpRequest, form: str) -> HttpResponse:
    if form == HTML:
        return render(request, "public/nothing.html", status=404)
    return not_there(request)
