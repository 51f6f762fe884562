"""Pictures made on the server from plain values. No picture stands without its words."""

from api.pages.pictures.balances import PLACES, balance_bar, balance_table
from api.pages.pictures.chains import ChainStay, Watch, series_strip
from api.pages.pictures.codes import qr
from api.pages.pictures.expected import expected_numbers
from api.pages.pictures.nights import Dark, dark_hours, strip_ends, three_nights
from api.pages.pictures.racks import rack
from api.pages.pictures.svg import Hatch, swatch
from api.pages.pictures.vessels import EMPTY, Vessel, water_clock
from api.pages.pictures.waters import ammonia_curve, range_strip

__all__ = [
    "EMPTY",
    "PLACES",
    "ChainStay",
    "Dark",
    "Hatch",
    "Vessel",
    "Watch",
    "ammonia_curve",
    "balance_bar",
    "balance_table",
    "dark_hours",
    "expected_numbers",
    "qr",
    "rack",
    "range_strip",
    "series_strip",
    "strip_ends",
    "swatch",
    "three_nights",
    "water_clock",
]
