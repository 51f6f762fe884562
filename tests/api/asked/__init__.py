"""The table of every route: who may ask, and what a good request looks like."""

from tests.api.asked.animals import ANIMALS, EQUIPMENT, QUESTIONS, WORK
from tests.api.asked.mixing import MIXING
from tests.api.asked.places import INTAKE, PLACES
from tests.api.asked.row import FIRST, Row
from tests.api.asked.water import WATER

ROWS: dict[str, Row] = {
    **PLACES,
    **INTAKE,
    **ANIMALS,
    **EQUIPMENT,
    **MIXING,
    **QUESTIONS,
    **WATER,
    **WORK,
}

__all__ = ["FIRST", "ROWS", "Row"]
