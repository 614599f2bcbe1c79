"""The look that all pictures share: ink, lines, units of the axes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from .._core import laboratory, list_quantities
from ..units import to_celsius

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]
Numbers = Sequence[float] | Array
"""Numbers to draw for: a list or an array."""
Units = Literal["laboratory", "SI"]
"""The units of the axes of a picture."""

INK = "#16212b"
"""Text, axes and the path."""
SHADE = "#5d7285"
"""Isotherms and second lines."""
WASH = "#dde4ea"
"""The region of liquid and vapour."""
FROST = "#f0f3f6"
"""The region of solid and vapour."""
ACCENT = "#b5651d"
"""What the eye is to find first; in grey it is lighter than the ink."""

LABEL = 7.5
"""Size of the words inside a picture."""
DOTTED = (0, (1.2, 1.2))
DASHED = (0, (4, 2))

_SI = {name: unit for name, _, unit in list_quantities()}


def new(axes: Axes | None, width: float, height: float) -> Axes:
    """The Axes given, or those of a new figure, with the look of the library."""
    if axes is None:
        import matplotlib.pyplot as plt

        _, axes = plt.subplots(figsize=(width, height), layout="constrained")
    axes.tick_params(colors=INK, labelsize=8.5, direction="out", length=3)
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(INK)
    return axes


def measured(quantity: str, values: Iterable[float], units: Units) -> tuple[Array, str]:
    """Values of a quantity, given in SI, in the unit that the largest of them asks for, and that unit."""
    numbers = np.array([float(value) for value in values])
    if units == "SI":
        return numbers, _SI[quantity]
    if quantity == "temperature":
        return to_celsius(numbers), laboratory(quantity, 0.0)[1]
    sizes = np.abs(numbers[np.isfinite(numbers)])
    largest = float(sizes.max()) if sizes.size and sizes.max() > 0.0 else 1.0
    told, unit = laboratory(quantity, largest)
    return numbers * (told / largest), unit


def unit_of(quantity: str, units: Units) -> str:
    """The unit in which a quantity is drawn."""
    return measured(quantity, [], units)[1]


def shown(quantity: str, values: Iterable[float], units: Units) -> Array:
    """Values in the unit of their axis, of a quantity that has one such unit whatever its size."""
    return measured(quantity, values, units)[0]


def shown_one(quantity: str, value: float, units: Units) -> float:
    """A value of a quantity in the unit of its axis."""
    return float(shown(quantity, [value], units)[0])


def label(name: str, unit: str) -> str:
    """The words on an axis: the quantity and its unit in brackets."""
    words = name.replace("_", " ")
    return words if unit in ("", "1") else f"{words} [{unit}]"


def name_axes(axes: Axes, x: str, y: str, units: Units) -> None:
    """Writes the quantities of both axes with their units."""
    for quantity, put in ((x, axes.set_xlabel), (y, axes.set_ylabel)):
        put(label(quantity, unit_of(quantity, units)), color=INK, fontsize=9)
