"""Makes the workbook of the third invented supplier in `fixtures/`.

`python -m tests.make_lists` writes it anew; the two CSV files there are written by hand.
"""

import io
from datetime import date, datetime
from pathlib import Path
from typing import Any

import xlsxwriter

FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"
WORKBOOK = FIXTURES / "sample-atoll.xlsx"

HEADINGS = (
    (
        "Bag",
        "Stock",
        "Common",
        "Scientific",
        "Size",
        "Quantity",
        "Unit price",
        "Wild or",
        "Origin",
    ),
    ("no.", "code", "name", "name", "code", "pcs", "USD", "captive", ""),
)
BOXES = {
    "Box 1": (
        (1, "SA-0017", "Flame angelfish", "Centropyge loricula", "M", 1, 42.5, "W", "KI"),
        (2, "SA-0017", "Flame angelfish", "Centropyge loricula", "M", 1, 42.5, "W", "KI"),
        (3, "SA-0017", "Flame angelfish", "Centropyge loricula", "M", 1, 42.5, "W", "KI"),
        (4, "SA-0032", "Longnose hawkfish", "Oxycirrhites typus", "S/M", 2, 18, "W", "KI"),
    ),
    "Box 2": (
        (
            1,
            "SA-0108",
            "Bartlett's anthias",
            "Pseudanthias bartlettorum",
            "M",
            6,
            9.25,
            "W",
            "KI",
        ),
        (
            2,
            "SA-0108",
            "Bartlett's anthias",
            "Pseudanthias bartlettorum",
            "M",
            6,
            9.25,
            "W",
            "KI",
        ),
        (3, "SA-0115", "Scissortail goby", "Ptereleotris evides", "M", 4, 5.6, "W", "KI"),
    ),
    "Box 3": (
        (1, "SA-0204", "Whitetail tang", "Ctenochaetus flavicauda", "M", 2, 27, "W", "KI"),
        (2, "SA-0204", "Whitetail tang", "Ctenochaetus flavicauda", "L", 1, 34, "W", "KI"),
        (3, "SA-0230", "Royal gramma", "Gramma loreto", "M", 3, 7.1, "C", "KI"),
    ),
}
FORMULA = "=SUM(F8:F20)"


def sample_atoll() -> bytes:
    """The workbook: a merged title, two rows of headings, box headings, a total by formula."""
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made, {"in_memory": True})
    book.set_properties({"created": datetime(2026, 9, 16)})  # noqa: DTZ001 - the format has none
    bold = book.add_format({"bold": True})
    day = book.add_format({"num_format": "d mmm yyyy"})
    sheet = book.add_worksheet("Packing list")
    sheet.merge_range(0, 0, 0, 8, "Sample Atoll Aquatics (invented): PACKING LIST", bold)
    sheet.write_row(1, 0, ["Air waybill", "", "999-76543213"])
    for row, name, moment in ((2, "Order date", 16), (3, "Arrival date", 24)):
        sheet.write(row, 0, name)
        sheet.write_datetime(row, 2, date(2026, 9, moment), day)
    for row, headings in enumerate(HEADINGS, start=5):
        sheet.write_row(row, 0, headings, bold)
    _write_boxes(sheet, bold)
    book.add_worksheet("Rates").hide()
    book.close()
    return made.getvalue()


def _write_boxes(sheet: Any, bold: Any) -> None:
    row = 7
    for box, lines in BOXES.items():
        sheet.write(row, 0, box, bold)
        for line in lines:
            row += 1
            sheet.write_row(row, 0, line)
        row += 1
    listed = sum(line[5] for lines in BOXES.values() for line in lines)
    sheet.write(row, 2, "Total")
    sheet.write_formula(row, 5, FORMULA, None, listed)


if __name__ == "__main__":
    WORKBOOK.write_bytes(sample_atoll())
