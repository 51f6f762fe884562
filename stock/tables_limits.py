"""How large an uploaded table may be, and how the reading process says what it found.

Far above any packing list, far below what would trouble the machine. Standard library only:
the reading process imports this before anything else.
"""

import json
from typing import Any, TextIO

MOST_BYTES = 20 * 1024 * 1024
MOST_UNPACKED_BYTES = 100 * 1024 * 1024
MOST_PARTS = 2_000
MOST_ROWS = 10_000
LAST_ROW = 200_000
MOST_COLUMNS = 100
WIDEST = 16_384  # what spreadsheets allow; exports may carry so many empty fields
MOST_CELLS = 200_000
MOST_CHARACTERS_IN_CELL = 5_000
MOST_CHARACTERS = 4_000_000
MOST_RESULT_BYTES = 32 * 1024 * 1024
MEMORY_BYTES = 256 * 1024 * 1024
CPU_S = 20
WALL_S = 40


class Refusal(Exception):
    """The file is not read, for one stable reason."""

    def __init__(self, code: str, why: str, **numbers: Any) -> None:
        self.code, self.why, self.numbers = code, why, numbers
        super().__init__(code, why)


class Printer:
    """Prints rows as JSON lines and stops once the table is larger than any packing list."""

    def __init__(self, out: TextIO) -> None:
        self.out = out
        self.rows = self.cells = self.characters = 0

    def row(self, sheet: int, number: int, cells: list[str], kinds: str) -> None:
        """Print one row, without the empty cells at its end; empty rows leave no line."""
        if number > LAST_ROW:
            raise Refusal("too_large", "rows", most=MOST_ROWS, row=number)
        if len(cells) > WIDEST:
            raise Refusal("too_large", "columns", most=MOST_COLUMNS, row=number)
        filled = [place for place, cell in enumerate(cells, start=1) if cell.strip()]
        if filled:
            kept = cells[: filled[-1]]
            self._count(number, kept)
            kinds = kinds[: len(kept)]
            line = {"s": sheet, "n": number, "c": kept, "k": kinds, "w": len(cells)}
            self.out.write(json.dumps(line, ensure_ascii=False) + "\n")

    def _count(self, number: int, cells: list[str]) -> None:
        lengths = [len(cell) for cell in cells]
        self.rows += 1
        self.cells += len(cells)
        self.characters += sum(lengths)
        for why, value, most in (
            ("rows", self.rows, MOST_ROWS),
            ("columns", len(cells), MOST_COLUMNS),
            ("cells", self.cells, MOST_CELLS),
            ("characters_in_cell", max(lengths), MOST_CHARACTERS_IN_CELL),
            ("characters", self.characters, MOST_CHARACTERS),
        ):
            if value > most:
                raise Refusal("too_large", why, most=most, row=number)
