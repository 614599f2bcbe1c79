"""Pictures of mixtures: their critical lines, and their phases at a temperature."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from .._core import Fluid, Solution, isothermal_phase_diagram
from .._core import critical_locus as lines_of
from ..units import to_celsius
from ._look import ACCENT, DASHED, DOTTED, INK, LABEL, SHADE, WASH, Numbers, Units, label, name_axes, new, shown, shown_one, unit_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def critical_locus(
    first: str,
    second: str,
    *,
    model: Literal["best", "multi-fluid", "cubic"] = "best",
    solution: Solution | None = None,
    highest_pressure: float = 400e5,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """The critical lines of two substances on the plane of temperature and pressure, with the vapour pressures of both.

    Above and to the right of the critical line no mixture of the two parts into liquid and vapour.

    Parameters
    ----------
    first, second : str
        Names of the substances.
    model : {"best", "multi-fluid", "cubic"}, keyword-only
        The model of the mixtures.
    solution : Solution, keyword-only, optional
        A solution whose stations are drawn too.
    highest_pressure : float, keyword-only
        Pressure in Pa up to which the plane is drawn.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes; parts of a line at which another phase is more stable are dotted.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> dp.plot.critical_locus("carbon dioxide", "acetone", axes=Figure().subplots()).get_xlabel()
    'temperature [degC]'
    """
    axes = new(axes, 6.4, 4.6)
    for name in (first, second):
        fluid = Fluid(name)
        low, high = fluid.saturation_range
        temperatures = np.linspace(low, high * (1.0 - 1e-6), 60)
        boiling = [fluid.saturation(temperature=float(t)).pressure for t in temperatures]
        x, y = shown("temperature", temperatures, units), shown("pressure", boiling, units)
        axes.plot(x, y, color=SHADE, linewidth=0.9, zorder=1)
        point = fluid.critical_point()
        end = shown_one("temperature", point.temperature, units), shown_one("pressure", point.pressure, units)
        axes.plot(*end, marker="o", markersize=4, color=INK, zorder=3)
        axes.annotate(name, end, xytext=(6, -3), textcoords="offset points", ha="left", va="top", fontsize=LABEL, color=INK)
    for branch in lines_of(first, second, model=model).branches:
        points = branch.points
        x, y = shown("temperature", points.temperature, units), shown("pressure", points.pressure, units)
        stable = points.stable > 0.5
        axes.plot(x, np.where(stable, y, np.nan), color=INK, linewidth=1.4, zorder=2)
        axes.plot(x, np.where(stable, np.nan, y), color=INK, linewidth=0.9, linestyle=DOTTED, zorder=2)
    if solution is not None:
        stations = solution.stations
        x, y = shown("temperature", stations.temperature, units), shown("pressure", stations.pressure, units)
        axes.plot(x, y, color=ACCENT, linewidth=1.9, marker="o", markersize=3, zorder=4)
    name_axes(axes, "temperature", "pressure", units)
    axes.set_ylim(0.0, shown_one("pressure", highest_pressure, units))
    return axes


def pressure_composition(
    first: str,
    second: str,
    temperatures: Numbers,
    *,
    model: Literal["best", "multi-fluid", "cubic"] = "best",
    solution: Solution | None = None,
    highest_pressure: float = 400e5,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """Regions of two phases of two substances on the plane of composition and pressure, one for each temperature.

    Above a region the two mix in one phase at its temperature.

    Parameters
    ----------
    first, second : str
        Names of the substances.
    temperatures : sequence of float
        Temperatures T in K.
    model : {"best", "multi-fluid", "cubic"}, keyword-only
        The model of the mixtures.
    solution : Solution, keyword-only, optional
        A solution whose stations are drawn too, each at the composition of the fluid there.
    highest_pressure : float, keyword-only
        Pressure in Pa up to which the plane is drawn.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes with both borders of every region, the lines of three phases dashed, azeotropes as squares, critical points as
        dots, and the critical line dotted.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> dp.plot.pressure_composition("carbon dioxide", "acetone", [313.15], axes=Figure().subplots()).get_ylabel()
    'pressure [bar]'
    """
    axes = new(axes, 6.4, 4.6)
    for temperature in temperatures:
        diagram = isothermal_phase_diagram(first, second, float(temperature), model=model)
        for region in diagram.regions:
            lines = region.tie_lines
            y = shown("pressure", lines.pressure, units)
            axes.fill_betweenx(y, lines.amount_fraction, lines.other_amount_fraction, color=WASH, alpha=0.5, linewidth=0, zorder=0)
            for x in (lines.amount_fraction, lines.other_amount_fraction):
                axes.plot(x, y, color=INK, linewidth=1.1, zorder=2)
            highest = int(np.argmax(np.where(y <= shown_one("pressure", highest_pressure, units), y, -1.0)))
            place = (0.5 * (lines.amount_fraction[highest] + lines.other_amount_fraction[highest]), y[highest])
            told = f"{to_celsius(diagram.temperature):.0f} degC" if units == "laboratory" else f"{diagram.temperature:.2f} K"
            axes.annotate(told, place, xytext=(3, 3), textcoords="offset points", fontsize=LABEL, color=INK)
        three = diagram.three_phase_lines
        for low, high, y in zip(three.amount_fraction_low, three.amount_fraction_high, shown("pressure", three.pressure, units), strict=True):
            axes.plot([low, high], [y, y], color=INK, linewidth=0.9, linestyle=DASHED, zorder=2)
        for points, marker in ((diagram.critical_points, "o"), (diagram.azeotropes, "s")):
            axes.plot(points.amount_fraction, shown("pressure", points.pressure, units), marker=marker, markersize=4, color=INK, linestyle="", zorder=3)
    for branch in lines_of(first, second, model=model).branches:
        stable = branch.points.stable > 0.5
        y = np.where(stable, shown("pressure", branch.pressure, units), np.nan)
        axes.plot(branch.amount_fraction, y, color=SHADE, linewidth=0.9, linestyle=DOTTED, zorder=1)
    if solution is not None:
        stations = solution.stations
        fluids = [solution.station(str(name)).state.fluid for name in stations.name]
        shares = [fluid.composition.get(second, float(fluid.name == second)) for fluid in fluids]
        axes.plot(shares, shown("pressure", stations.pressure, units), color=ACCENT, linewidth=1.9, marker="o", markersize=3, zorder=4)
    axes.set_xlabel(f"amount fraction of {second}", color=INK)
    axes.set_ylabel(label("pressure", unit_of("pressure", units)), color=INK)
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, shown_one("pressure", highest_pressure, units))
    return axes
