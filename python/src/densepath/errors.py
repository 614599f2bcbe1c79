"""The exceptions of the library, one class for each kind of row in `list_errors()`.

>>> import densepath as dp
>>> try:
...     dp.Fluid("carbon dioxide").density(40.0, 150e5)
... except dp.RangeError as error:
...     print(error.code, error.quantity, error.value, error.unit, error.min)
102 temperature 40.0 K 216.592
"""

from __future__ import annotations


class DensepathError(Exception):
    """Base class of all errors of the library.

    Attributes
    ----------
    code : int
        Number of the error, stable across versions.
    quantity : str or None
        Name of the quantity concerned.
    value : float or None
        The offending value, in the SI unit `unit`.
    unit : str or None
        SI unit of `value`, `min` and `max`.
    min, max : float or None
        Smallest and largest value allowed.
    hint : str or None
        What to do about it.
    element : str or None
        Name of the part of the path in which the error was found.
    index : int, tuple of int or None
        Place of the first element that failed, where an array was given.
    failed : int or None
        Number of elements that failed, where an array was given.

    Examples
    --------
    >>> import densepath as dp
    >>> try:
    ...     dp.Fluid("carbon dioxide").density(313.15, 2e9)
    ... except dp.DensepathError as error:
    ...     print(type(error).__name__, error.code, error.quantity, error.max)
    RangeError 102 pressure 800000000.0
    """

    code: int = 0
    quantity: str | None = None
    value: float | None = None
    unit: str | None = None
    min: float | None = None
    max: float | None = None
    hint: str | None = None
    element: str | None = None
    index: int | tuple[int, ...] | None = None
    failed: int | None = None

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


class DomainError(DensepathError, ValueError):
    """A value that no state or part can have: not finite, negative where it must be positive.

    Examples
    --------
    >>> import densepath as dp
    >>> dp.Fluid("carbon dioxide").density(313.15, -1.0)
    Traceback (most recent call last):
    ...
    densepath.errors.DomainError: pressure p = -1 Pa must be finite and above zero
    """


class RangeError(DensepathError, ValueError):
    """A value outside the range of the model asked.

    Examples
    --------
    >>> import densepath as dp
    >>> try:
    ...     dp.Fluid("carbon dioxide").density(40.0, 150e5)
    ... except dp.RangeError as error:
    ...     print(error.hint)
    temperatures are in K: did you mean 40 degC = 313.15 K?
    """


class CompositionError(DensepathError, ValueError):
    """Fractions that do not describe a mixture.

    Examples
    --------
    >>> import densepath as dp
    >>> try:
    ...     dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.2})
    ... except dp.CompositionError as error:
    ...     print(error.hint)
    give amount fractions between 0 and 1 that sum to 1
    """


class ArgumentError(DensepathError, TypeError, ValueError):
    """An argument of the wrong kind, or arguments that do not fit together.

    Examples
    --------
    >>> import densepath as dp
    >>> dp.Fluid("carbon dioxide").state(temperature=313.15)
    Traceback (most recent call last):
    ...
    densepath.errors.ArgumentError: argument `state` must be two variables by their names, not temperature
    """

    code = 104


class UnknownFluidError(DensepathError, KeyError):
    """A substance that the library does not know.

    Examples
    --------
    >>> import densepath as dp
    >>> try:
    ...     dp.Fluid("carbon dioxid")
    ... except dp.UnknownFluidError as error:
    ...     print(error.hint)
    did you mean "carbon dioxide"?
    """


class MissingModelError(DensepathError, NotImplementedError):
    """A property for which the fluid has no model.

    Examples
    --------
    >>> import densepath as dp
    >>> try:
    ...     dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1}).formula
    ... except dp.MissingModelError as error:
    ...     print(error.code)
    202
    """


class PhaseError(DensepathError):
    """The phases present do not have the property asked, or do not exist there.

    Examples
    --------
    >>> import densepath as dp
    >>> dp.Fluid("carbon dioxide").saturation(temperature=313.15)
    Traceback (most recent call last):
    ...
    densepath.errors.PhaseError: no two phases coexist at temperature T = 313.15 K: they do from 216.592 to 304.128 K
    """


class ConvergenceError(DensepathError, ArithmeticError):
    """An iteration that ended without meeting its tolerance, or a target out of reach.

    Examples
    --------
    >>> import densepath as dp
    >>> wanted = {"input": ("regulator", "pressure"), "output": ("column", "mean_density"), "target": 1200.0}
    >>> try:
    ...     dp.find_input("tests/methods/packed.toml", **wanted, bounds=(100e5, 250e5))
    ... except dp.ConvergenceError as error:
    ...     print(f"at most {error.max:.0f} kg/m3")
    at most 894 kg/m3
    """


class StoppedError(DensepathError, TimeoutError):
    """Work that was not done within the time given for it.

    Examples
    --------
    >>> import densepath as dp
    >>> try:
    ...     dp.solve("tests/methods/packed.toml", time_limit=0.0)
    ... except dp.StoppedError as error:
    ...     print(error.code)
    406
    """

    code = 406


class FlowError(DensepathError):
    """A flow that a part cannot carry: choked, reversed, splitting or freezing.

    Examples
    --------
    >>> import densepath as dp
    >>> restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.5)
    >>> try:
    ...     restrictor.mass_flow_rate(dp.Fluid("carbon dioxide"), 373.15, 1e5, 2e5)
    ... except dp.FlowError as error:
    ...     print(error.hint)
    the inlet pressure must be above the outlet pressure
    """


class DocumentError(DensepathError, ValueError):
    """A method document that cannot be read or describes no instrument.

    Examples
    --------
    >>> import densepath as dp
    >>> dp.solve("no/such/method.toml")
    Traceback (most recent call last):
    ...
    densepath.errors.DocumentError: cannot read no/such/method.toml: No such file or directory (os error 2)
    """


class InternalError(DensepathError, RuntimeError):
    """A fault of the library itself.

    Examples
    --------
    >>> import densepath as dp
    >>> [code for code, name, _ in dp.list_errors() if name == "InternalError"]
    [901]
    """


class DensepathWarning(UserWarning):
    """Elements of an array failed, and the caller asked for a warning.

    Examples
    --------
    >>> import densepath as dp
    >>> import warnings
    >>> with warnings.catch_warnings(record=True) as caught:
    ...     warnings.simplefilter("always")
    ...     density = dp.Fluid("carbon dioxide").density([313.15, 40.0], 150e5, on_error="warn")
    >>> density.round(2), caught[0].category.__name__
    (array([780.23,    nan]), 'DensepathWarning')
    """
