"""The limits of a site as a calendar (RFC 5545), at a secret address of one person.

It says codes, places and times, no names of animals or people: calendars are copied to
services that nobody here chose.
"""

import hashlib
from collections.abc import Iterable
from datetime import timedelta

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils import translation
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.public.answers import not_there, unlisted
from protocols.tasks import What
from stock.queries.calendar import Limit, feed_of
from stock.queries.work_words import WHAT

KEPT_S = 900
# How long an event is shown before the limit that it ends with.
LENGTH = timedelta(minutes=30)


@require_safe
def calendar(request: HttpRequest, token: str) -> HttpResponseBase:
    """The open limits of the site, the next ones first; asked for anew by its digest."""
    feed = feed_of(token)
    if feed is None:
        return unlisted(not_there(request))
    with translation.override(feed.language or settings.LANGUAGE_CODE):
        data = _written(feed.site, feed.limits)
    answer = HttpResponse(data, content_type="text/calendar; charset=utf-8")
    unlisted(answer)
    answer["ETag"] = etag = f'"{hashlib.sha256(data).hexdigest()}"'
    answer["Cache-Control"] = f"private, max-age={KEPT_S}"
    answer["Content-Disposition"] = 'inline; filename="limits.ics"'
    return get_conditional_response(request, etag=etag, response=answer) or answer


def _written(site: str, limits: Iterable[Limit]) -> bytes:
    import icalendar  # only where somebody reads a calendar

    made = icalendar.Calendar()
    made.add("prodid", "-//Fillmark//Limits//EN")
    made.add("version", "2.0")
    made.add("name", _("Limits, %(site)s") % {"site": site})
    made.add("x-wr-calname", _("Limits, %(site)s") % {"site": site})
    made.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    for one in limits:
        event = icalendar.Event()
        event.add("uid", f"{one.task}@fillmark")
        # When it was made, so that what has not changed is the same text.
        event.add("dtstamp", one.made_at)
        event.add("dtstart", one.limit - LENGTH)
        event.add("dtend", one.limit)
        event.add("summary", _("Limit: %(what)s") % {"what": _summary(one)})
        event.add("location", ", ".join(part for part in (one.room, one.place) if part))
        event.add("transp", "TRANSPARENT")
        made.add_component(event)
    return bytes(made.to_ical())


def _summary(one: Limit) -> str:
    what = _(WHAT[What(one.what)])
    return f"{one.place or one.room}: {what}" if one.place or one.room else what
