"""Factors from the units of the laboratory to SI, as plain numbers.

>>> from densepath.units import BAR, from_celsius, to_celsius
>>> 150 * BAR, from_celsius(40.0)
(15000000.0, 313.15)
"""

from __future__ import annotations

from typing import Any, overload

import numpy as np
from numpy.typing import NDArray

from ._core import UNITS

__all__ = [
    "BAR",
    "GRAM",
    "GRAM_PER_MILLILITRE",
    "GRAM_PER_MINUTE",
    "HOUR",
    "ICE_POINT",
    "MEGAPASCAL",
    "MICROLITRE",
    "MICROMETRE",
    "MILLIGRAM_PER_MINUTE",
    "MILLILITRE",
    "MILLILITRE_PER_MINUTE",
    "MILLIMETRE",
    "MINUTE",
    "NANOLITRE",
    "PSI",
    "from_celsius",
    "to_celsius",
]

BAR: float = UNITS["BAR"]
MEGAPASCAL: float = UNITS["MEGAPASCAL"]
PSI: float = UNITS["PSI"]
MINUTE: float = UNITS["MINUTE"]
HOUR: float = UNITS["HOUR"]
MILLILITRE: float = UNITS["MILLILITRE"]
MICROLITRE: float = UNITS["MICROLITRE"]
NANOLITRE: float = UNITS["NANOLITRE"]
MILLILITRE_PER_MINUTE: float = UNITS["MILLILITRE_PER_MINUTE"]
MILLIMETRE: float = UNITS["MILLIMETRE"]
MICROMETRE: float = UNITS["MICROMETRE"]
GRAM: float = UNITS["GRAM"]
GRAM_PER_MINUTE: float = UNITS["GRAM_PER_MINUTE"]
MILLIGRAM_PER_MINUTE: float = UNITS["MILLIGRAM_PER_MINUTE"]
GRAM_PER_MILLILITRE: float = UNITS["GRAM_PER_MILLILITRE"]
ICE_POINT: float = UNITS["ICE_POINT"]


@overload
def from_celsius(temperature_degc: float) -> float: ...
@overload
def from_celsius(temperature_degc: NDArray[np.float64]) -> NDArray[np.float64]: ...
def from_celsius(temperature_degc: Any) -> Any:
    """Temperature in K from degrees Celsius.

    Parameters
    ----------
    temperature_degc : float or array
        Temperature in degC.

    Returns
    -------
    float or array
        Temperature in K.

    Examples
    --------
    >>> from densepath.units import from_celsius
    >>> from_celsius(40.0)
    313.15
    """
    return temperature_degc + ICE_POINT


@overload
def to_celsius(temperature: float) -> float: ...
@overload
def to_celsius(temperature: NDArray[np.float64]) -> NDArray[np.float64]: ...
def to_celsius(temperature: Any) -> Any:
    """Degrees Celsius from a temperature in K.

    Parameters
    ----------
    temperature : float or array
        Temperature in K.

    Returns
    -------
    float or array
        Temperature in degC.

    Examples
    --------
    >>> from densepath.units import to_celsius
    >>> to_celsius(273.15)
    0.0
    """
    return temperature - ICE_POINT
