"""The state of the fluid at every station of a supercritical fluid chromatograph.

Every number is SI: temperatures in K, pressures absolute and in Pa. `densepath.units` has the factors of the laboratory.

>>> import densepath as dp
>>> co2 = dp.Fluid("carbon dioxide")
>>> print(f"{co2.density(313.15, 150e5):.3f} kg/m3")
780.233 kg/m3
"""

from . import errors, plot, report, ufuncs, units
from ._core import (
    VERSION as __version__,
    BandBudget,
    Column,
    CriticalPoint,
    Fluid,
    Notice,
    Saturation,
    Solid,
    Solution,
    State,
    Station,
    Table,
    list_errors,
    list_notices,
    list_quantities,
    solve,
    substances,
)
from .errors import (
    ArgumentError,
    CompositionError,
    ConvergenceError,
    DensepathError,
    DensepathWarning,
    DocumentError,
    DomainError,
    FlowError,
    InternalError,
    MissingModelError,
    PhaseError,
    RangeError,
    UnknownFluidError,
)

__all__ = [
    "ArgumentError",
    "BandBudget",
    "Column",
    "CompositionError",
    "ConvergenceError",
    "CriticalPoint",
    "DensepathError",
    "DensepathWarning",
    "DocumentError",
    "DomainError",
    "FlowError",
    "Fluid",
    "InternalError",
    "MissingModelError",
    "Notice",
    "PhaseError",
    "RangeError",
    "Saturation",
    "Solid",
    "Solution",
    "State",
    "Station",
    "Table",
    "UnknownFluidError",
    "__version__",
    "errors",
    "list_errors",
    "list_notices",
    "list_quantities",
    "plot",
    "report",
    "solve",
    "substances",
    "ufuncs",
    "units",
]
