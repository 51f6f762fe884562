"""Codes of batches as people type them, with commas between."""

from uuid import UUID

from django import forms
from django.utils.translation import gettext as _

from stock.queries.reports.known import batch_by_code

MOST = 20


def batches_typed(site: UUID, text: str) -> list[UUID]:
    """The batches of these codes. Raises ValidationError for one that is not here."""
    typed = [one.strip() for one in text.split(",") if one.strip()]
    if len(typed) > MOST:
        raise forms.ValidationError(_("That is too many."))
    found = []
    for code in typed:
        uid = batch_by_code(site, code)
        if uid is None:
            raise forms.ValidationError(_("There is no batch %(code)s here.") % {"code": code})
        found.append(uid)
    return found
