"""Links for the cells of tables and for values beside names."""

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString


def link(text: object, name: str, *arguments: object) -> SafeString:
    """A link to the page of this name."""
    return format_html('<a href="{}">{}</a>', reverse(name, args=arguments), text)
