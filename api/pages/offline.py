"""What a tablet asks for to work without network.

Its service worker, the pages to keep, which presses arrived, and the page of what is not sent
yet, whose list the tablet fills in itself.
"""

import json
import re
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe
from django_htmx.jinja import htmx_script

from api import VERSION
from api.pages.keeping import pages_of
from api.pages.shell import Here, here, no_store, page, person_of, public, show
from api.pages.tablet import tablet_of
from stock.queries.keys_answered import answered_keys
from stock.queries.sign_ins import held_by
from stock.queries.to_keep import size_of_record
from stock.refusals import NotFound

STATIC = Path(__file__).parent.parent / "static"
WORKER = "service-worker.js"
MOST_KEYS = 50


@public
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """The script that answers where there is no network. A change of any file makes it new."""
    app = {
        "version": _version(),
        "files": [static(name) for name in _files()],
        "missing": reverse("not-kept"),
        "entries": reverse("entries"),
        "leaving": reverse("sign-out"),
    }
    script = f"const APP = {json.dumps(app)};\n{(STATIC / WORKER).read_text()}"
    return HttpResponse(script, content_type="text/javascript")


@public
@require_safe
def not_kept(request: HttpRequest) -> HttpResponse:
    """What the tablet shows instead of a page that it never kept."""
    return render(request, "pages/not_kept.html")


@require_safe
def pages_to_keep(request: HttpRequest) -> HttpResponse:
    """Addresses for whoever acts on this tablet, the most needed first."""
    at = _at_tablet(request)
    if at is None:
        return no_store(JsonResponse({"code": "not_signed_in"}, status=401))
    body = {
        "person": str(at.person.uid),
        "known": size_of_record(at.site.uid),
        "pages": pages_of(at),
    }
    return no_store(JsonResponse(body))


@require_safe
def answered(request: HttpRequest) -> HttpResponse:
    """Which of these keys were answered: presses that arrived although nobody saw it."""
    if not request.user.is_authenticated:
        return no_store(JsonResponse({"code": "not_signed_in"}, status=401))
    asked = request.GET.getlist("key")[:MOST_KEYS]
    found = answered_keys(person_of(request).uid, asked)
    return no_store(JsonResponse({"answered": found}))


@page
@require_safe
def entries(request: HttpRequest) -> HttpResponse:
    """What was entered on this tablet and is not sent, and what became of the rest."""
    at = _at_tablet(request)
    if at is None:
        raise NotFound
    return show(request, at, "entries", {}, current="entries")


def _at_tablet(request: HttpRequest) -> Here | None:
    """Whoever acts, at the site of this tablet; on no tablet, at their first site."""
    if not request.user.is_authenticated:
        return None
    tablet = tablet_of(request)
    sites = [one.site.uid for one in held_by(person_of(request))]
    wanted = tablet.site if tablet else next(iter(sites), None)
    return here(request, wanted) if wanted in sites else None


@lru_cache
def _files() -> tuple[str, ...]:
    """Every file that a page may need, by its name under the static address."""
    own = (one for one in sorted(STATIC.rglob("*")) if one.is_file() and one.name != WORKER)
    library = re.findall(r'src="([^"]+)"', htmx_script())
    return (
        *(one.relative_to(STATIC).as_posix() for one in own),
        *(one.removeprefix(settings.STATIC_URL) for one in library),
    )


@lru_cache
def _version() -> str:
    """Differs as soon as one of the files, or the worker itself, does."""
    digest = sha256(VERSION.encode())
    for name in (*_files(), WORKER):
        found = finders.find(name)
        digest.update(name.encode())
        digest.update(Path(found).read_bytes() if found else b"")
    return digest.hexdigest()[:16]
