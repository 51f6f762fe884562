"""A QR code as a picture that prints and scans in both variants of the pages."""

import segno
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.language import later
from api.pages.pictures.svg import element, picture

QUIET = 4  # modules of light around the code, as ISO/IEC 18004 asks for


def qr(
    text: str, *, size: int = 200, title: str = later("QR code"), desc: str = ""
) -> SafeString:
    """The code of `text`, `size` pixels wide, error correction at least M.

    Always dark on light: many readers refuse the reverse. Raises segno.DataOverflowError for a
    text that no code can hold. The text must stand beside it, written out.
    """
    matrix = [bytes(row) for row in segno.make(text, error="m", micro=False).matrix]
    whole = len(matrix) + 2 * QUIET
    path = "".join(
        f"M{x + QUIET} {y + QUIET}h1v1h-1z"
        for y, row in enumerate(matrix)
        for x, dark in enumerate(row)
        if dark
    )
    return picture(
        element("rect", width=whole, height=whole, fill="#ffffff"),
        element("path", d=path, fill="#000000"),
        title=title,
        desc=desc or _("Leads to {text}").format(text=text),
        css="qr",
        width=size,
        height=size,
        box=f"0 0 {whole} {whole}",
    )
