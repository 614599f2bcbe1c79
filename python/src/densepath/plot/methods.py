"""Pictures of methods and their parts: profiles, budgets of bands, chromatograms, fits, maps."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np

from .._core import Chromatogram, Fluid, MethodMap, RetentionFit, Solution
from ..errors import DensepathError
from ._look import ACCENT, DASHED, DOTTED, INK, LABEL, SHADE, WASH, Numbers, Units, label, measured, new, shown, unit_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


class Restrictor(Protocol):
    """A part that tells what flows through it."""

    def mass_flow_rate(self, fluid: Fluid, temperature: float, inlet_pressure: float, outlet_pressure: float) -> float:
        """The mass flow rate in kg/s."""
        ...


def profile(solution: Solution, quantity: str = "pressure", *, units: Units = "laboratory", axes: Axes | None = None) -> Axes:
    """A quantity along the path: each part takes the same width, whatever its length.

    Parameters
    ----------
    solution : Solution
        The solution.
    quantity : {"pressure", "temperature", "density"}
        What to show.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> axes = dp.plot.profile(dp.solve("tests/methods/packed.toml"), "density", axes=Figure().subplots())
    >>> axes.get_ylabel(), axes.get_xticklabels()[7].get_text()
    ('density [kg/m3]', 'column')
    """
    axes = new(axes, 7.6, 2.6)
    stations, points = solution.stations, solution.profile
    names, part = stations.name, np.array(points.part)
    x, y = [0.0], [float(stations[quantity][0])]
    for place, name in enumerate(names[1:], start=1):
        inside = part == name
        if inside.any():
            position = points.position[inside]
            x += (place - 1 + position / position[-1]).tolist()
            y += points[quantity][inside].tolist()
        x.append(float(place))
        y.append(float(stations[quantity][place]))
    axes.plot(x, shown(quantity, y, units), color=ACCENT, linewidth=1.8, zorder=3)
    marks = shown(quantity, stations[quantity], units)
    axes.plot(range(len(names)), marks, "o", markersize=4, color=INK, zorder=4)
    if solution.column is not None:
        place = names.index(solution.column.name)
        axes.axvspan(place - 1, place, color=WASH, linewidth=0, zorder=0)
    axes.set_xticks(range(len(names)), names, rotation=40, ha="right", rotation_mode="anchor")
    axes.set_xlim(-0.3, len(names) - 0.7)
    axes.set_xlabel("outlet of", color=INK, fontsize=9)
    axes.set_ylabel(label(quantity, unit_of(quantity, units)), color=INK, fontsize=9)
    axes.grid(axis="x", color=WASH, linewidth=0.6, zorder=0)
    return axes


def path_profile(solution: Solution, *, units: Units = "laboratory", figure: Figure | None = None) -> Figure:
    """Pressure, temperature and density along the path, one above the other; the column is shaded.

    Parameters
    ----------
    solution : Solution
        The solution.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    figure : matplotlib.figure.Figure, optional
        Where to draw.

    Returns
    -------
    matplotlib.figure.Figure
        The figure with three Axes.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> figure = dp.plot.path_profile(dp.solve("tests/methods/packed.toml"), figure=Figure())
    >>> [axes.get_ylabel() for axes in figure.axes]
    ['pressure [bar]', 'temperature [degC]', 'density [kg/m3]']
    """
    if figure is None:
        import matplotlib.pyplot as plt

        figure = plt.figure(figsize=(7.6, 6.6), layout="constrained")
    rows = figure.subplots(3, 1, sharex=True)
    for axes, quantity in zip(rows, ("pressure", "temperature", "density"), strict=True):
        profile(solution, quantity, units=units, axes=axes)
        axes.tick_params(labelbottom=axes is rows[-1])
        if axes is not rows[-1]:
            axes.set_xlabel("")
    return figure


def band_budget(solution: Solution, *, axes: Axes | None = None) -> Axes:
    """The variance that each part adds to the band, on a logarithmic axis, with its share of the sum.

    Where the law of a part leaves a bracket, a thin line spans it.

    Parameters
    ----------
    solution : Solution
        A solution with bands.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes.

    Raises
    ------
    ValueError
        If the solution has no bands: no injection, no column or no solute.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> axes = dp.plot.band_budget(dp.solve("tests/methods/packed.toml"), axes=Figure().subplots())
    >>> axes.get_title(loc="left")
    'invented aromatic: 21699 plates on the column, 21182 with all parts'
    """
    bands = solution.bands
    if bands is None:
        raise ValueError("the solution has no bands: its method has no injection, no column or no solute")
    rows = bands.rows
    axes = new(axes, 7.6, 0.6 + 0.42 * len(rows))
    smallest = float(rows.time_variance[rows.time_variance > 0.0].min()) / 10.0
    for place in range(len(rows)):
        row = rows[place]
        low, high = max(row["time_variance_min"], smallest), max(row["time_variance_max"], smallest)
        axes.plot([low, high], [place, place], color=SHADE, linewidth=1.2, zorder=2)
        heavy = row["part"] == (solution.column.name if solution.column else "")
        axes.plot(row["time_variance"], place, "o", markersize=6.5, color=ACCENT if heavy else INK, zorder=3)
        axes.annotate(
            f"{100.0 * row['share']:.2f} %" if row["share"] >= 5e-5 else "< 0.01 %",
            (1.01, place),
            xycoords=("axes fraction", "data"),
            va="center",
            fontsize=LABEL,
            color=INK,
        )
    axes.set_xscale("log")
    axes.set_yticks(range(len(rows)), rows.part)
    axes.invert_yaxis()
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.grid(axis="x", color=WASH, linewidth=0.6, zorder=0)
    axes.set_xlabel("time variance [s2]", color=INK, fontsize=9)
    axes.set_title(
        f"{bands.solute}: {bands.column_plate_number:.0f} plates on the column, {bands.apparent_plate_number:.0f} with all parts",
        loc="left",
        fontsize=9,
        color=INK,
    )
    return axes


def chromatogram(record: Chromatogram, *, units: Units = "laboratory", axes: Axes | None = None) -> Axes:
    """The record of a detector against time, with the name of each solute over its peak.

    Parameters
    ----------
    record : Chromatogram
        What `Solution.chromatogram` returns.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes with the record; time in minutes, or in seconds if in SI units; the signal over its largest value.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> record = dp.solve("tests/methods/packed.toml").chromatogram(0.0, 180.0, 10.0)
    >>> axes = dp.plot.chromatogram(record, axes=Figure().subplots())
    >>> axes.get_xlabel(), [text.get_text() for text in axes.texts]
    ('time [min]', ['invented aromatic'])
    """
    axes = new(axes, 7.2, 3.2)
    second = 1.0 if units == "SI" else 1.0 / 60.0
    time, signal = record.record.time, record.record.signal
    highest = float(signal.max()) if signal.size and signal.max() > 0 else 1.0
    axes.plot(time * second, signal / highest, color=INK, linewidth=1.0)
    for solute, at in zip(record.peaks.solute, record.peaks.time, strict=True):
        if time.size and time[0] <= at <= time[-1]:
            height = float(np.interp(at, time, signal)) / highest
            axes.annotate(solute, (at * second, height), xytext=(0, 4), textcoords="offset points", ha="center", fontsize=LABEL, color=INK)
    axes.set_xlabel("time [s]" if units == "SI" else "time [min]", color=INK, fontsize=9)
    axes.set_ylabel("signal over the largest [1]", color=INK, fontsize=9)
    return axes


def retention_residuals(
    fit: RetentionFit,
    against: Literal["density", "temperature", "modifier_fraction", "retention_factor"] = "density",
    *,
    axes: Axes | None = None,
) -> Axes:
    """Residuals of ln k of a fit of retention; runs that pull hard on their own fit are drawn larger.

    Parameters
    ----------
    fit : RetentionFit
        What `fit_retention` returns.
    against : {"density", "temperature", "modifier_fraction", "retention_factor"}
        What the horizontal axis shows, in SI.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes with one mark a run, and lines at zero and at two standard deviations on either side.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> fit = dp.fit_retention([4.1, 2.0, 1.01, 0.5], [313.15] * 4, [650.0, 750.0, 850.0, 950.0], ["constant", "density"])
    >>> axes = dp.plot.retention_residuals(fit, axes=Figure().subplots())
    >>> axes.get_xlabel(), axes.get_ylabel()
    ('density [kg/m3]', 'residual of ln k [1]')
    """
    axes = new(axes, 5.2, 3.4)
    runs = fit.runs
    axes.scatter(runs[against], runs.residual, s=12 + 60 * runs.leverage, facecolors="none", edgecolors=INK, linewidths=0.9)
    axes.axhline(0.0, color=SHADE, linewidth=0.8)
    for side in (-2.0, 2.0):
        axes.axhline(side * fit.residual_standard_deviation, color=SHADE, linewidth=0.8, linestyle=DASHED)
    unit = runs.units[against]
    axes.set_xlabel(f"{against.replace('_', ' ')} [{unit}]", color=INK, fontsize=9)
    axes.set_ylabel("residual of ln k [1]", color=INK, fontsize=9)
    return axes


def method_map(plane: MethodMap, output: tuple[str, str], *, units: Units = "laboratory", axes: Axes | None = None) -> Axes:
    """Lines of equal value of one result of a method over the plane of two inputs; refused points are crossed.

    Parameters
    ----------
    plane : MethodMap
        What `map_method` returns, of two values at least on either side.
    output : tuple of two str
        The result to draw, one of those asked of `map_method`.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes with labelled lines, a heavy one where the result is zero, and a cross at each point that the method refuses.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> plane = dp.map_method("tests/methods/packed.toml", across=(("regulator", "pressure"), [120e5, 150e5, 180e5]),
    ...     down=(("preheater", "wall_temperature"), [303.15, 313.15, 323.15]), outputs=[("column", "mean_density")])
    >>> axes = dp.plot.method_map(plane, ("column", "mean_density"), axes=Figure().subplots())
    >>> axes.get_xlabel(), axes.get_title(loc="left")
    ('regulator: pressure [bar]', 'column: mean density [kg/m3]')
    """
    axes = new(axes, 5.6, 4.2)
    columns = plane.columns
    across, down, name = columns.name[0], columns.name[1], f"{output[0]}: {output[1]}"
    if name not in columns.name:
        raise KeyError(f"{name}; there are {', '.join(columns.name[2:])}")
    kinds = dict(zip(columns.name, columns.quantity, strict=True))
    points = plane.points
    drawn = {key: measured(kinds[key], points[key], units) for key in (across, down, name)}
    x, y, values = (numbers for numbers, _ in drawn.values())
    shape = (plane.down_count, plane.across_count)
    grid = np.ma.masked_invalid(values.reshape(shape))
    lines = axes.contour(x.reshape(shape), y.reshape(shape), grid, levels=9, colors=SHADE, linewidths=0.9)
    axes.clabel(lines, fontsize=LABEL, colors=INK)
    if grid.count() and grid.min() < 0.0 < grid.max():
        axes.contour(x.reshape(shape), y.reshape(shape), grid, levels=[0.0], colors=INK, linewidths=1.8)
    refused = np.isnan(values)
    axes.plot(x[refused], y[refused], linestyle="none", marker="x", markersize=4, color=ACCENT, clip_on=False)
    for key, put in ((across, axes.set_xlabel), (down, axes.set_ylabel)):
        put(label(key, drawn[key][1]), color=INK, fontsize=9)
    axes.set_title(label(name, drawn[name][1]), color=INK, fontsize=9, loc="left")
    return axes


def restrictor_map(
    restrictors: Mapping[str, Restrictor],
    fluid: Fluid,
    temperature: float,
    inlet_pressures: Numbers,
    outlet_pressure: float,
    *,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """The mass flow rates of restrictors against the pressure at their inlets, one line for each.

    A pressure that a restrictor refuses leaves a gap in its line.

    Parameters
    ----------
    restrictors : mapping of str to restrictor
        The restrictors with the words that name them, such as their bores; of any sort that has `mass_flow_rate`.
    fluid : Fluid
        The fluid.
    temperature : float
        Temperature T in K at the inlet.
    inlet_pressures : sequence of float
        Pressures p in Pa at the inlet, rising.
    outlet_pressure : float
        Pressure p in Pa behind them.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes; the flow axis is logarithmic.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> bores = {f"{bore} um": dp.LinearRestrictor(diameter=bore * 1e-6, length=0.5) for bore in (7, 10)}
    >>> co2, pressures = dp.Fluid("carbon dioxide"), [100e5, 150e5, 200e5]
    >>> axes = dp.plot.restrictor_map(bores, co2, 373.15, pressures, 101325.0, axes=Figure().subplots())
    >>> axes.get_xlabel(), len(axes.get_lines())
    ('inlet pressure [bar]', 2)
    """
    axes = new(axes, 6.0, 4.2)
    x = shown("pressure", inlet_pressures, units)
    styles = ["solid", DASHED, DOTTED, (0, (6, 2, 1.2, 2))]
    flows = [_flow(one, fluid, temperature, float(inlet), outlet_pressure) for one in restrictors.values() for inlet in inlet_pressures]
    values, unit = measured("mass_flow_rate", flows, units)
    for place, (name, y) in enumerate(zip(restrictors, values.reshape(len(restrictors), -1), strict=True)):
        axes.plot(x, y, color=INK if place % 2 == 0 else SHADE, linewidth=1.2, linestyle=styles[place % len(styles)])
        told = np.flatnonzero(np.isfinite(y))
        if told.size:
            end = x[told[-1]], y[told[-1]]
            axes.annotate(name, end, xytext=(4, 0), textcoords="offset points", va="center", fontsize=LABEL, color=INK)
    axes.set_yscale("log")
    axes.set_xlabel(label("inlet pressure", unit_of("pressure", units)), color=INK, fontsize=9)
    axes.set_ylabel(label("mass_flow_rate", unit), color=INK, fontsize=9)
    return axes


def _flow(restrictor: Restrictor, fluid: Fluid, temperature: float, inlet: float, outlet: float) -> float:
    """The mass flow rate in kg/s; not a number where the restrictor refuses the pressures."""
    try:
        return restrictor.mass_flow_rate(fluid, temperature, inlet, outlet)
    except DensepathError:
        return float("nan")
