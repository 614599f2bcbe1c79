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
    """A value that no state or part can have: not finite, negative where it must be positive."""


class RangeError(DensepathError, ValueError):
    """A value outside the range of the model asked."""


class CompositionError(DensepathError, ValueError):
    """Fractions that do not describe a mixture."""


class ArgumentError(DensepathError, TypeError, ValueError):
    """An argument of the wrong kind, or arguments that do not fit together."""

    code = 104


class UnknownFluidError(DensepathError, KeyError):
    """A substance that the library does not know."""


class MissingModelError(DensepathError, NotImplementedError):
    """A property for which the fluid has no model."""


class PhaseError(DensepathError):
    """The phases present do not have the property asked, or do not exist there."""


class ConvergenceError(DensepathError, ArithmeticError):
    """An iteration that ended without meeting its tolerance, or a target out of reach."""


class StoppedError(DensepathError, TimeoutError):
    """Work that was not done within the time given for it."""

    code = 406


class FlowError(DensepathError):
    """A flow that a part cannot carry: choked, reversed, splitting or freezing."""


class DocumentError(DensepathError, ValueError):
    """A method document that cannot be read or describes no instrument."""


class InternalError(DensepathError, RuntimeError):
    """A fault of the library itself."""


class DensepathWarning(UserWarning):
    """Elements of an array failed, and the caller asked for a warning."""
