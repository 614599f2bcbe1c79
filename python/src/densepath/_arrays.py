"""Functions of a fluid over arrays: the ufunc, and what becomes of elements that fail."""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from . import interop
from ._core import UFUNCS, Fluid, PropertyTable, list_quantities, properties_of_lists, table_values_of_lists
from .errors import ArgumentError, DensepathError, DensepathWarning, InternalError

_UNITS = {name: unit for name, _, unit in list_quantities()}
# A line of constant density is a pressure too.
_UNITS["isopycnic"] = _UNITS["pressure"]

# One of two arguments, broadcast as the ufunc does it, whatever kind of array they are.
_first_of = np.frompyfunc(lambda first, second: first, 2, 1)
_second_of = np.frompyfunc(lambda first, second: second, 2, 1)


def evaluate(fluid: Fluid, name: str, first: Any, second: Any, on_error: str) -> Any:
    """The function `name` of a fluid over two arguments of which at least one is no plain number."""
    call = interop.call_for(first, second)
    if call is not None:
        return call(partial(_method(fluid, name), on_error=on_error), name, _units_of(name), first, second)
    if _is_lazy(first) or _is_lazy(second):
        return _lazily(fluid, name, first, second, on_error)
    try:
        with np.errstate(all="ignore"):
            result = UFUNCS[name](fluid.identity, first, second)
    except (TypeError, ValueError) as error:
        raise ArgumentError(f"the arguments of `{name}` must be numbers or arrays that broadcast: {error}") from error
    if on_error != "nan":
        _settle(_method(fluid, name), name, first, second, result, on_error)
    return _label(name, result)


def properties(fluid: Fluid, names: Any, temperature: Any, pressure: Any, on_error: str) -> dict[str, Any]:
    """Several properties of a fluid over two arguments, each state solved once."""
    names = [names] if isinstance(names, str) else list(names)
    first, second = _numbers("properties", temperature, pressure)
    lists = (np.ascontiguousarray(numbers).ravel() for numbers in (first, second))
    table, is_whole = properties_of_lists(fluid, names, *lists)
    found = {name: table[:, place].reshape(first.shape) for place, name in enumerate(names)}
    if on_error != "nan" and not is_whole:
        for name, values in found.items():
            _settle(_method(fluid, name), name, first, second, values, on_error)
    return found


def table_values(table: PropertyTable, name: str, temperature: Any, pressure: Any, on_error: str) -> Any:
    """A property of a table over two arguments."""
    first, second = _numbers("value", temperature, pressure)
    flat = table_values_of_lists(table, name, np.ascontiguousarray(first).ravel(), np.ascontiguousarray(second).ravel())
    values = flat.reshape(first.shape)
    if on_error != "nan":
        _settle(partial(table.value, name), name, first, second, values, on_error)
    return values if values.ndim else float(values)


def _numbers(name: str, temperature: Any, pressure: Any) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Both arguments as arrays of one shape."""
    try:
        first, second = np.broadcast_arrays(
            np.asarray(temperature, dtype=np.float64), np.asarray(pressure, dtype=np.float64)
        )
    except (TypeError, ValueError) as error:
        raise ArgumentError(f"the arguments of `{name}` must be numbers or arrays that broadcast: {error}") from error
    return first, second


def _units_of(name: str) -> tuple[str, str, str]:
    """SI units of the arguments and of the result of a function."""
    second = "density" if name in {"pressure", "isopycnic"} else "pressure"
    return _UNITS["temperature"], _UNITS[second], _UNITS.get(name, "1")


def warn(error: DensepathError) -> None:
    """Warns of the error of a plain number."""
    warnings.warn(DensepathWarning(str(error)), stacklevel=2)


def _settle(call: Callable[..., Any], name: str, first: Any, second: Any, result: Any, on_error: str) -> None:
    """Raises, or warns of, the first failure among the elements of a result."""
    values = getattr(result, "values", result)
    if type(values) is np.ndarray and not np.isnan(values).any():
        return
    failed = np.ma.filled(np.isnan(np.ma.asanyarray(values)), False)
    count = int(np.count_nonzero(failed))
    if count == 0:
        return
    place = int(np.flatnonzero(failed)[0])
    error = _error_at(call, name, [float(np.asarray(of(first, second)).flat[place]) for of in (_first_of, _second_of)])
    error.failed = count
    if failed.ndim > 0:
        position = tuple(int(i) for i in np.unravel_index(place, failed.shape))
        error.index = position[0] if len(position) == 1 else position
        error.args = (f"{count} of {failed.size}, first at index {error.index}: {error}",)
    if on_error == "raise":
        raise error
    warnings.warn(DensepathWarning(str(error)), stacklevel=4)


def _error_at(call: Callable[..., Any], name: str, values: list[float]) -> DensepathError:
    """The error of one element."""
    try:
        call(*values)
    except DensepathError as error:
        return error.with_traceback(None)
    return InternalError(f"`{name}` is not a number at {values}")


def _method(fluid: Fluid, name: str) -> Callable[..., Any]:
    """The method of a fluid that a ufunc belongs to."""
    if name.endswith("_uncertainty"):
        return partial(fluid.uncertainty, name.removesuffix("_uncertainty"))
    return getattr(fluid, name)  # type: ignore[no-any-return]


def _label(name: str, result: Any) -> Any:
    """The result with the name of its quantity and, where the container has room for it, the unit."""
    kind = interop.library_of(result)
    if (kind == "pandas" and result.ndim == 1) or kind == "polars":
        return result.rename(name)
    if kind == "xarray" and hasattr(result, "dims"):
        result = result.rename(name) if hasattr(result, "name") else result
        result.attrs = {"long_name": name.replace("_", " "), "units": _UNITS.get(name, "1")}
    return result


def _is_lazy(value: Any) -> bool:
    """Whether a value follows the protocol of a dask collection."""
    graph = getattr(value, "__dask_graph__", None)
    return callable(graph) and graph() is not None


def _lazily(fluid: Fluid, name: str, first: Any, second: Any, on_error: str) -> Any:
    """The function over collections of dask: each chunk raises or warns for itself when it is computed."""
    function = partial(_method(fluid, name), on_error=on_error)
    if "xarray" in (interop.library_of(first), interop.library_of(second)):
        xarray = sys.modules["xarray"]
        result = xarray.apply_ufunc(function, first, second, dask="parallelized", output_dtypes=[float])
        return _label(name, result)
    import dask.array

    return dask.array.apply_gufunc(function, "(),()->()", first, second, output_dtypes=float)
