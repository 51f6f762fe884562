"""What a PDF of ours shows: its pages, the texts on them, and the codes as black and white.

Our own documents are written without compression, so their drawing can be read as text.
"""

import re
from dataclasses import dataclass

import numpy as np

MODULE = re.compile(rb"n ([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) re f")
STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.S)


@dataclass(frozen=True)
class Pixels:
    """A picture of a code in shades of grey, row by row, with white around it."""

    width: int
    height: int
    grey: bytes


def pages(pdf: bytes) -> list[bytes]:
    """What is drawn on each page."""
    return [one for one in STREAM.findall(pdf) if b" re f" in one or b" Tf" in one]


def code_drawn(page: bytes, scale: int = 6) -> Pixels:
    """The code on a page that holds one label without a band: every filled rectangle of it."""
    found = np.array([[float(n) for n in one] for one in MODULE.findall(page)])
    module = found[:, 3].min()
    left, foot = found[:, 0].min(), found[:, 1].min()
    columns = round((found[:, 0] + found[:, 2]).max() / module - left / module)
    dark = np.zeros((columns, columns), dtype=bool)
    for x, y, width, _ in found:
        row, column = round((y - foot) / module), round((x - left) / module)
        dark[columns - 1 - row, column : column + round(width / module)] = True
    white = np.pad(np.where(dark, 0, 255).astype(np.uint8), 4, constant_values=255)
    large = np.kron(white, np.ones((scale, scale), dtype=np.uint8))
    return Pixels(large.shape[1], large.shape[0], large.tobytes())


def words_in(pdf: bytes) -> str:
    """Every text that is drawn, page after page, as far as it is plain letters."""
    found = (one for page in pages(pdf) for one in re.findall(rb"\((.*?)(?<!\\)\) Tj", page))
    return " ".join(re.sub(rb"\\(.)", rb"\1", one).decode("latin-1") for one in found)
