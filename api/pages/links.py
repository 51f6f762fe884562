"""Cells of tables: links, labels that are never broken, moments with their zone."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from api.language import local_text
from protocols.clocks import utc_text


def link(text: object, name: str, *arguments: object) -> SafeString:
    """A link to the page of this name."""
    return format_html('<a href="{}">{}</a>', reverse(name, args=arguments), text)


def label(text: object) -> SafeString:
    """A label or code as it is painted, on one line."""
    return format_html('<span class="label">{}</span>', text) if text else SafeString("")


def when(moment: datetime | None, zone: ZoneInfo) -> SafeString:
    """A moment by the site's clocks, on one line; nothing for none."""
    if moment is None:
        return SafeString("")
    return format_html(
        '<time class="label" datetime="{}">{}</time>',
        utc_text(moment),
        local_text(moment, zone),
    )
