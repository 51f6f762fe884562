"""The same formula over one number or over a series of them.

numpy is only loaded once somebody brings a series: most of what is asked is one number.
"""

import math
import sys
from typing import TYPE_CHECKING, Any, TypeGuard, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Level = TypeVar("Level", float, "NDArray[np.float64]")


def is_series(value: object) -> "TypeGuard[NDArray[np.float64]]":
    """Whether it is an array; nobody can bring one before numpy is loaded."""
    numpy = sys.modules.get("numpy")
    return numpy is not None and isinstance(value, numpy.ndarray)


def functions(*values: object) -> Any:
    """`exp`, `log`, `log10`, `sqrt` for these values: of numpy where one is a series."""
    if any(is_series(one) for one in values):
        return sys.modules["numpy"]
    return math


def larger(one: Level, other: float) -> Level:
    """The larger of the two, for a series one by one."""
    if is_series(one):
        return sys.modules["numpy"].maximum(one, other)  # type: ignore[no-any-return]
    return max(one, other)  # type: ignore[arg-type]


def smaller(one: Level, other: float) -> Level:
    """The smaller of the two, for a series one by one."""
    if is_series(one):
        return sys.modules["numpy"].minimum(one, other)  # type: ignore[no-any-return]
    return min(one, other)  # type: ignore[arg-type]


def ends(values: Any) -> tuple[float, float]:
    """The lowest and the highest; of one number the number twice, of an empty series zeros."""
    if not is_series(values):
        return values, values
    if values.size == 0:
        return 0.0, 0.0
    return float(values.min()), float(values.max())


def anywhere(one: Any) -> bool:
    """Whether a condition holds anywhere."""
    return bool(one.any()) if is_series(one) else bool(one)
