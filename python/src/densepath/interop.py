"""Numbers of other libraries: quantities of pint, values of uncertainties, expressions of polars.

The functions of a fluid over temperature and pressure take them as they are, and give the same kind back:

- a `pint.Quantity` is converted to SI, and the result carries its unit; a plain number beside it counts as SI;
- a value of `uncertainties`, or an object array of them, passes its uncertainty through; the uncertainty of the equation, which
  `Fluid.uncertainty` tells, is not added;
- an expression of polars becomes an expression, named after the function.

None of these libraries is needed unless one of its values is given.

>>> import densepath as dp
>>> import pint
>>> unit = pint.UnitRegistry()
>>> co2 = dp.Fluid("carbon dioxide")
>>> density = co2.density(unit.Quantity(40.0, "degC"), 150.0 * unit.bar)
>>> print(f"{density.to('g/mL'):.4f}")
0.7802 gram / milliliter
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from typing import Any

import numpy as np

from .errors import ArgumentError

__all__ = ["pint_unit"]

# A function of two numbers, or arrays, of which the first is a temperature.
_Function = Callable[[Any, Any], Any]


def pint_unit(unit: str) -> str:
    """A unit of `list_quantities()` in the writing of pint.

    Parameters
    ----------
    unit : str
        The unit, such as `"J/(kg K)"`.

    Returns
    -------
    str
        The same for `pint.UnitRegistry.parse_units`.

    Examples
    --------
    >>> from densepath.interop import pint_unit
    >>> pint_unit("J/(kg K)"), pint_unit("kg/m3"), pint_unit("1")
    ('J/(kg*K)', 'kg/m**3', 'dimensionless')
    """
    if unit == "1":
        return "dimensionless"
    return re.sub(r"([A-Za-z])(\d)", r"\1**\2", unit).replace(" ", "*")


def library_of(value: object) -> str:
    """Name of the library that a value, or what an object array holds, comes from."""
    if isinstance(value, np.ndarray) and value.dtype == object and value.size > 0:
        return library_of(value.flat[0])
    return type(value).__module__.partition(".")[0]


def call_for(first: object, second: object) -> Callable[..., Any] | None:
    """The way to call a function with two arguments, if one of them is of a library of this module."""
    libraries = {library_of(first), library_of(second)}
    for library, call in _CALLS.items():
        if library in libraries and (library != "polars" or _is_expression(first) or _is_expression(second)):
            return call
    return None


def _with_pint(function: _Function, name: str, units: tuple[str, str, str], first: Any, second: Any) -> Any:
    """A function of quantities with dimensions; `units` are those of both arguments and of the result, in SI."""
    owner = next(value for value in (first, second) if library_of(value) == "pint")
    registry = owner._REGISTRY
    values = [_in_unit(value, unit, name) for value, unit in zip((first, second), units, strict=False)]
    return registry.Quantity(function(*values), pint_unit(units[2]))


def _in_unit(value: Any, unit: str, name: str) -> Any:
    if library_of(value) != "pint":
        return value
    try:
        return value.to(pint_unit(unit)).magnitude
    except sys.modules["pint"].DimensionalityError as error:
        raise ArgumentError(f"an argument of `{name}` has the wrong dimension: {error}") from error


def _with_uncertainties(function: _Function, name: str, _units: tuple[str, str, str], first: Any, second: Any) -> Any:
    """A function of values that carry an uncertainty, to first order, by its differences."""
    def named(first: float, second: float) -> float:
        return float(function(first, second))

    named.__name__ = name
    wrapped = sys.modules["uncertainties"].wrap(named)
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        return np.frompyfunc(wrapped, 2, 1)(first, second)
    return wrapped(first, second)


def _with_polars(function: _Function, name: str, _units: tuple[str, str, str], first: Any, second: Any) -> Any:
    """An expression that calls a function on the columns when it is evaluated."""
    import polars

    columns = [value if _is_expression(value) else polars.lit(value, dtype=polars.Float64) for value in (first, second)]
    return polars.map_batches(
        columns, lambda series: polars.Series(name, function(*series)), return_dtype=polars.Float64
    ).alias(name)


def _is_expression(value: object) -> bool:
    return type(value).__name__ == "Expr"


_CALLS: dict[str, Callable[..., Any]] = {
    "pint": _with_pint,
    "uncertainties": _with_uncertainties,
    "polars": _with_polars,
}
