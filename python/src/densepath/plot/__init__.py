"""Pictures of fluids and of solutions, with matplotlib (the extra `plot`).

Each function draws into the Axes that it is given, or into new ones, and returns them. Axes are in the units of the
laboratory, or in SI units if asked; every number comes from the library. The look needs no colour: lines differ in weight, dash and
shade.

>>> import densepath as dp
>>> from densepath import plot
>>> plot.LABORATORY["pressure"]
'bar'
"""

from __future__ import annotations

from ._look import ACCENT, FROST, INK, SHADE, WASH, unit_of
from .methods import band_budget, chromatogram, method_map, path_profile, profile, restrictor_map, retention_residuals
from .mixtures import critical_locus, pressure_composition
from .planes import dome, isopycnics, pressure_density, pressure_enthalpy, pseudo_critical_lines, temperature_entropy
from .runs import program_history
from .stream import flow_path

__all__ = [
    "ACCENT",
    "FROST",
    "INK",
    "LABORATORY",
    "SHADE",
    "WASH",
    "band_budget",
    "chromatogram",
    "critical_locus",
    "dome",
    "flow_path",
    "isopycnics",
    "method_map",
    "path_profile",
    "pressure_composition",
    "pressure_density",
    "pressure_enthalpy",
    "profile",
    "program_history",
    "pseudo_critical_lines",
    "restrictor_map",
    "retention_residuals",
    "temperature_entropy",
]

LABORATORY = {name: unit_of(name, "laboratory") for name in ("temperature", "pressure", "density", "specific_enthalpy", "velocity")}
"""Units of the axes, by the names of the quantities."""
