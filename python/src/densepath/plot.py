"""Pictures of fluids and of solutions, with matplotlib (the extra `plot`).

Each function draws into the Axes that it is given, or into new ones, and returns them. Axes are in the units of the
laboratory; every number comes from the library. The look needs no colour: lines differ in weight, dash and shade.

>>> import densepath as dp
>>> from densepath import plot
>>> plot.LABORATORY["pressure"]
'bar'
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from ._core import Chromatogram, Fluid, MethodMap, RetentionFit, Solution, laboratory
from ._core import critical_locus as lines_of
from ._core import isothermal_phase_diagram
from .errors import MissingModelError
from .units import BAR, from_celsius, to_celsius

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["LABORATORY", "band_budget", "chromatogram", "critical_locus", "dome", "method_map", "path_profile", "pressure_composition", "pressure_density", "pressure_enthalpy", "profile", "retention_residuals"]

_Array = NDArray[np.float64]

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

LABORATORY = {name: laboratory(name, 1.0)[1] for name in ("temperature", "pressure", "density", "specific_enthalpy", "velocity")}
"""Units of the axes, by the names of the quantities."""

_ISOTHERMS_DEGC = (-40.0, -20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 150.0)
_LABEL = 7.5


def _new(axes: Axes | None, width: float, height: float) -> Axes:
    """The Axes given, or those of a new figure, with the look of the library."""
    if axes is None:
        import matplotlib.pyplot as plt

        _, axes = plt.subplots(figsize=(width, height), layout="constrained")
    axes.tick_params(colors=INK, labelsize=8.5, direction="out", length=3)
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(INK)
    return axes


def _name_axes(axes: Axes, x: str, y: str) -> None:
    for quantity, put in ((x, axes.set_xlabel), (y, axes.set_ylabel)):
        put(f"{quantity.replace('_', ' ')} [{LABORATORY[quantity]}]", color=INK, fontsize=9)


def _shown(quantity: str, values: Iterable[float]) -> _Array:
    """Values of a quantity in the unit of its axis."""
    return np.array([laboratory(quantity, float(value))[0] for value in values])


class _Dome:
    """Borders of the two-phase regions of a fluid, in SI, on a plane of one quantity against pressure."""

    def __init__(self, fluid: Fluid, quantity: str) -> None:
        point = fluid.critical_point()
        low, high = fluid.saturation_range
        highest = fluid.temperature_range[1]
        # Points gather towards the critical point, where the border turns, unless the range of the equation ends below it.
        temperatures = np.maximum(low, high - (high - low) * np.linspace(1.0, 0.02, 160) ** 3)
        both = [fluid.saturation(temperature=float(t)) for t in temperatures if t <= highest]
        tops = [fluid.state(temperature=point.temperature, density=point.density)] if point.temperature <= highest else []
        self.pressure = np.array([pair.pressure for pair in both] + [point.pressure for _ in tops])
        self.liquid = np.array([getattr(state, quantity) for state in [*(pair.liquid for pair in both), *tops]])
        self.vapour = np.array([getattr(state, quantity) for state in [*(pair.vapour for pair in both), *tops]])
        self.triple = both[0]
        self.triple_pressure = float(self.pressure[0])
        self.has_solid = "solid" in fluid.models.subject
        self._fluid = fluid
        self._quantity = quantity

    def frost(self, lowest: float) -> tuple[_Array, _Array, _Array]:
        """Pressure, solid and vapour below the triple point, down to a pressure."""
        pressures = np.geomspace(lowest, self.triple_pressure * (1.0 - 1e-6), 40)
        # The boiling liquid of the triple point has an enthalpy between that of the solid and that of the vapour.
        enthalpy = self.triple.liquid.specific_enthalpy
        states = [self._fluid.state(pressure=float(p), specific_enthalpy=enthalpy) for p in pressures]
        pairs = [(state.solid, state.vapour) for state in states]
        solid = [getattr(solid, self._quantity) for solid, _ in pairs]
        vapour = [getattr(vapour, self._quantity) for _, vapour in pairs]
        return pressures, np.array(solid), np.array(vapour)


def dome(fluid: Fluid, quantity: str = "specific_enthalpy", *, lowest_pressure: float = 5e4, axes: Axes | None = None) -> Axes:
    """Regions of two phases on the plane of a quantity and the pressure.

    Parameters
    ----------
    fluid : Fluid
        The fluid.
    quantity : {"specific_enthalpy", "density"}
        What the horizontal axis shows.
    lowest_pressure : float, keyword-only
        Pressure in Pa down to which the region of solid and vapour is drawn.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes with the regions, the line of three phases and the critical point. The region of solid and vapour is left out
        for a fluid without a model of its solid.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> dp.plot.dome(dp.Fluid("carbon dioxide"), axes=Figure().subplots()).get_ylabel()
    'pressure [bar]'
    """
    axes = _new(axes, 6.4, 4.6)
    border = _Dome(fluid, quantity)
    x = _shown(quantity, np.concatenate([border.liquid, border.vapour[::-1]]))
    y = _shown("pressure", np.concatenate([border.pressure, border.pressure[::-1]]))
    axes.fill(x, y, color=WASH, linewidth=0, zorder=0)
    axes.plot(x, y, color=INK, linewidth=1.1, zorder=2)
    if border.has_solid and lowest_pressure < border.triple_pressure:
        pressures, solid, vapour = border.frost(lowest_pressure)
        p, w = _shown("pressure", pressures), _shown(quantity, vapour)
        axes.fill_betweenx(p, _shown(quantity, solid), w, color=FROST, linewidth=0, zorder=0)
        axes.plot(w, p, color=INK, linewidth=1.1, zorder=2)
        ends = _shown(quantity, [solid[-1], border.vapour[0]])
        axes.plot(ends, [p[-1]] * 2, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=2)
    axes.plot(x[border.liquid.size - 1], y[border.liquid.size - 1], marker="o", markersize=4, color=INK, zorder=3)
    _name_axes(axes, quantity, "pressure")
    return axes


def critical_locus(
    first: str,
    second: str,
    *,
    model: Literal["best", "multi-fluid", "cubic"] = "best",
    solution: Solution | None = None,
    highest_pressure: float = 400e5,
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
    axes = _new(axes, 6.4, 4.6)
    for name in (first, second):
        fluid = Fluid(name)
        low, high = fluid.saturation_range
        temperatures = np.linspace(low, high * (1.0 - 1e-6), 60)
        boiling = [fluid.saturation(temperature=float(t)).pressure for t in temperatures]
        x, y = _shown("temperature", temperatures), _shown("pressure", boiling)
        axes.plot(x, y, color=SHADE, linewidth=0.9, zorder=1)
        point = fluid.critical_point()
        end = laboratory("temperature", point.temperature)[0], laboratory("pressure", point.pressure)[0]
        axes.plot(*end, marker="o", markersize=4, color=INK, zorder=3)
        axes.annotate(name, end, xytext=(6, -3), textcoords="offset points", ha="left", va="top", fontsize=_LABEL, color=INK)
    for branch in lines_of(first, second, model=model).branches:
        points = branch.points
        x, y = _shown("temperature", points.temperature), _shown("pressure", points.pressure)
        stable = points.stable > 0.5
        axes.plot(x, np.where(stable, y, np.nan), color=INK, linewidth=1.4, zorder=2)
        axes.plot(x, np.where(stable, np.nan, y), color=INK, linewidth=0.9, linestyle=(0, (1.2, 1.2)), zorder=2)
    if solution is not None:
        stations = solution.stations
        x, y = _shown("temperature", stations.temperature), _shown("pressure", stations.pressure)
        axes.plot(x, y, color=ACCENT, linewidth=1.9, marker="o", markersize=3, zorder=4)
    _name_axes(axes, "temperature", "pressure")
    axes.set_ylim(0.0, laboratory("pressure", highest_pressure)[0])
    return axes


def pressure_composition(
    first: str,
    second: str,
    temperatures: Sequence[float],
    *,
    model: Literal["best", "multi-fluid", "cubic"] = "best",
    solution: Solution | None = None,
    highest_pressure: float = 400e5,
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
    axes = _new(axes, 6.4, 4.6)
    for temperature in temperatures:
        diagram = isothermal_phase_diagram(first, second, float(temperature), model=model)
        for region in diagram.regions:
            lines = region.tie_lines
            y = _shown("pressure", lines.pressure)
            axes.fill_betweenx(y, lines.amount_fraction, lines.other_amount_fraction, color=WASH, alpha=0.5, linewidth=0, zorder=0)
            for x in (lines.amount_fraction, lines.other_amount_fraction):
                axes.plot(x, y, color=INK, linewidth=1.1, zorder=2)
            highest = int(np.argmax(np.where(y <= laboratory("pressure", highest_pressure)[0], y, -1.0)))
            place = (0.5 * (lines.amount_fraction[highest] + lines.other_amount_fraction[highest]), y[highest])
            label = f"{to_celsius(diagram.temperature):.0f} degC"
            axes.annotate(label, place, xytext=(3, 3), textcoords="offset points", fontsize=_LABEL, color=INK)
        three = diagram.three_phase_lines
        for low, high, y in zip(three.amount_fraction_low, three.amount_fraction_high, _shown("pressure", three.pressure), strict=True):
            axes.plot([low, high], [y, y], color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=2)
        for points, marker in ((diagram.critical_points, "o"), (diagram.azeotropes, "s")):
            axes.plot(points.amount_fraction, _shown("pressure", points.pressure), marker=marker, markersize=4, color=INK, linestyle="", zorder=3)
    for branch in lines_of(first, second, model=model).branches:
        stable = branch.points.stable > 0.5
        y = np.where(stable, _shown("pressure", branch.pressure), np.nan)
        axes.plot(branch.amount_fraction, y, color=SHADE, linewidth=0.9, linestyle=(0, (1.2, 1.2)), zorder=1)
    if solution is not None:
        stations = solution.stations
        fluids = [solution.station(str(name)).state.fluid for name in stations.name]
        shares = [fluid.composition.get(second, float(fluid.name == second)) for fluid in fluids]
        axes.plot(shares, _shown("pressure", stations.pressure), color=ACCENT, linewidth=1.9, marker="o", markersize=3, zorder=4)
    axes.set_xlabel(f"amount fraction of {second}", color=INK)
    axes.set_ylabel("pressure [bar]", color=INK)
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, laboratory("pressure", highest_pressure)[0])
    return axes


def _has_dome(fluid: Fluid) -> bool:
    """Whether the model of a fluid knows liquid and vapour in equilibrium."""
    try:
        low, high = fluid.saturation_range
        fluid.saturation(temperature=0.5 * (low + high))
    except MissingModelError:
        return False
    return True


def _isotherms(axes: Axes, fluid: Fluid, quantity: str, temperatures_degc: Sequence[float], limits: tuple[float, float]) -> None:
    """Lines of constant temperature between two pressures in Pa, each with its temperature at the upper end."""
    low, high = fluid.saturation_range if _has_dome(fluid) else (np.inf, np.inf)
    function = getattr(fluid, quantity)
    for degc in temperatures_degc:
        temperature = from_celsius(degc)
        pressures = np.geomspace(*limits, 240)
        if low <= temperature < high:
            boiling = fluid.saturation(temperature=temperature).pressure
            pressures = np.sort(np.append(pressures, [boiling * (1.0 - 1e-9), boiling * (1.0 + 1e-9)]))
        values = function(temperature, pressures, on_error="nan")
        fluid_there = np.isfinite(values)
        x, y = _shown(quantity, values[fluid_there]), _shown("pressure", pressures[fluid_there])
        axes.plot(x, y, color=SHADE, linewidth=0.6, zorder=1)
        if x.size:
            axes.annotate(
                f"{degc:.0f}",
                (x[-1], y[-1]),
                xytext=(0, 2),
                textcoords="offset points",
                ha="center",
                va="bottom",
                fontsize=6.5,
                color=SHADE,
                annotation_clip=True,
            )


def _name_regions(axes: Axes, fluid: Fluid, quantity: str, lowest: float) -> None:
    """The names of the regions, each written inside the region."""
    low, high = fluid.saturation_range
    triple = fluid.saturation(temperature=low)
    middle = fluid.saturation(temperature=low + 0.35 * (high - low))
    inside = 0.5 * (getattr(middle.liquid, quantity) + getattr(middle.vapour, quantity))
    places = [("liquid + vapour", inside, middle.pressure)]
    if quantity == "specific_enthalpy" and "solid" in fluid.models.subject and lowest < triple.pressure:
        places.append(("solid + vapour", triple.liquid.specific_enthalpy, 0.4 * triple.pressure))
    for name, value, pressure in places:
        x, y = laboratory(quantity, value)[0], laboratory("pressure", pressure)[0]
        axes.text(x, y, name, ha="center", va="center", fontsize=_LABEL, style="italic", color=SHADE, zorder=2)


def _legs(solution: Solution, quantity: str) -> list[tuple[_Array, _Array, bool]]:
    """The path as pieces from station to station: the quantity, the pressure, and whether the piece is a throttling."""
    fluid = solution.fluid
    points = solution.profile
    part = np.array(points.part)
    stations = [solution.station(name) for name in solution.stations.name]
    legs: list[tuple[_Array, _Array, bool]] = []
    for before, after in zip(stations, stations[1:], strict=False):
        x0, x1 = getattr(before.state, quantity), getattr(after.state, quantity)
        if after.kind == "back_pressure_regulator":
            end = before.state.expand_to(after.pressure)
            steps = np.geomspace(before.pressure, after.pressure, 120)
            way = [getattr(before.state.expand_to(float(p)), quantity) for p in steps]
            legs.append((np.array(way), steps, True))
            legs.append((np.array([getattr(end, quantity), x1]), np.array([after.pressure, after.pressure]), False))
            continue
        inside = part == after.name
        temperatures, pressures = points.temperature[inside], points.pressure[inside]
        way = getattr(fluid, quantity)(temperatures, pressures, on_error="nan")
        known = np.isfinite(way)
        x = np.concatenate([[x0], way[known], [x1]])
        y = np.concatenate([[before.pressure], pressures[known], [after.pressure]])
        legs.append((x, y, False))
    return legs


def _numbers(axes: Axes, solution: Solution, quantity: str) -> None:
    """The numbers of the stations, one mark for those that lie on the same spot, and their names beside the Axes."""
    stations = solution.stations
    names = stations.name
    x = _shown(quantity, [getattr(solution.station(name).state, quantity) for name in names])
    y = _shown("pressure", stations.pressure)
    spots = axes.transData.transform(np.column_stack([x, y]))
    groups: list[list[int]] = []
    for index, spot in enumerate(spots):
        for group in groups:
            if np.hypot(*(spots[group[0]] - spot)) < 0.14 * axes.figure.dpi:
                group.append(index)
                break
        else:
            groups.append([index])
    for group in groups:
        axes.annotate(
            _runs(group),
            (x[group[0]], y[group[0]]),
            ha="center",
            va="center",
            fontsize=6.5,
            color=INK,
            zorder=6,
            bbox={"boxstyle": "round,pad=0.28", "facecolor": "white", "edgecolor": INK, "linewidth": 0.8},
        )
    text = "\n".join(f"{index + 1:>2}  {name}" for index, name in enumerate(names))
    axes.annotate(
        text,
        (1.02, 1.0),
        xycoords="axes fraction",
        va="top",
        fontsize=_LABEL,
        color=INK,
        linespacing=1.5,
        family="monospace",
    )


def _runs(group: Sequence[int]) -> str:
    """Numbers from 1, with runs shortened: `4-6, 8`."""
    runs: list[list[int]] = []
    for index in group:
        if runs and index == runs[-1][-1] + 1:
            runs[-1].append(index)
        else:
            runs.append([index])
    return ", ".join(f"{run[0] + 1}" if len(run) == 1 else f"{run[0] + 1}-{run[-1] + 1}" for run in runs)


def _plane(solution: Solution | Fluid, quantity: str, axes: Axes | None, temperatures_degc: Sequence[float]) -> Axes:
    """The dome, the isotherms and the path of a solution on the plane of a quantity and the pressure."""
    fluid = solution.fluid if isinstance(solution, Solution) else solution
    axes = _new(axes, 7.6, 4.8)
    lowest, highest = 5e5, 300e5
    if isinstance(solution, Solution):
        pressures = solution.stations.pressure
        lowest, highest = 0.6 * float(pressures.min()), 1.25 * float(pressures.max())
    highest = max(highest, *(1.6 * point.pressure for point in fluid.critical_points() if point.stable), 0.0)
    _name_axes(axes, quantity, "pressure")
    if _has_dome(fluid):
        dome(fluid, quantity, lowest_pressure=lowest, axes=axes)
        _name_regions(axes, fluid, quantity, lowest)
    _isotherms(axes, fluid, quantity, temperatures_degc, (lowest, highest))
    if quantity == "specific_enthalpy":
        axes.set_yscale("log")
        axes.set_ylim(lowest / BAR, highest / BAR)
        axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
        axes.yaxis.set_minor_formatter(lambda value, _: "")
    else:
        axes.set_ylim(0.0, highest / BAR)
        axes.set_xlim(left=0.0)
        if _has_dome(fluid):
            axes.set_xlim(right=1.08 * fluid.saturation(temperature=fluid.saturation_range[0]).liquid.density)
    if isinstance(solution, Solution):
        for x, y, throttling in _legs(solution, quantity):
            style: Any = (0, (1.2, 1.2)) if throttling else "solid"
            axes.plot(_shown(quantity, x), _shown("pressure", y), color=ACCENT, linewidth=1.9, linestyle=style, zorder=4)
        _numbers(axes, solution, quantity)
    axes.set_title("isotherms in degC", loc="left", fontsize=6.5, color=SHADE)
    return axes


def pressure_enthalpy(
    solution: Solution | Fluid, *, isotherms_degc: Sequence[float] = _ISOTHERMS_DEGC, axes: Axes | None = None
) -> Axes:
    """The path of a solution on the plane of specific enthalpy and pressure, with the regions of two phases.

    Throttling is dotted: along it the enthalpy stays as it is. The pressure axis is logarithmic.

    Parameters
    ----------
    solution : Solution or Fluid
        The solution; for a fluid the plane is drawn without a path.
    isotherms_degc : sequence of float, keyword-only
        Temperatures in degC of the isotherms.
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
    >>> axes = dp.plot.pressure_enthalpy(dp.Fluid("carbon dioxide"), axes=Figure().subplots())
    >>> axes.get_xlabel()
    'specific enthalpy [kJ/kg]'
    """
    return _plane(solution, "specific_enthalpy", axes, isotherms_degc)


def pressure_density(
    solution: Solution | Fluid, *, isotherms_degc: Sequence[float] = _ISOTHERMS_DEGC, axes: Axes | None = None
) -> Axes:
    """The path of a solution on the plane of density and pressure, with the regions of two phases.

    Parameters
    ----------
    solution : Solution or Fluid
        The solution; for a fluid the plane is drawn without a path.
    isotherms_degc : sequence of float, keyword-only
        Temperatures in degC of the isotherms.
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
    >>> axes = dp.plot.pressure_density(dp.Fluid("carbon dioxide"), axes=Figure().subplots())
    >>> axes.get_xlabel()
    'density [kg/m3]'
    """
    return _plane(solution, "density", axes, isotherms_degc)


def profile(solution: Solution, quantity: str = "pressure", *, axes: Axes | None = None) -> Axes:
    """A quantity along the path: each part takes the same width, whatever its length.

    Parameters
    ----------
    solution : Solution
        The solution.
    quantity : {"pressure", "temperature", "density"}
        What to show.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes.
    """
    axes = _new(axes, 7.6, 2.6)
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
    axes.plot(x, _shown(quantity, y), color=ACCENT, linewidth=1.8, zorder=3)
    marks = _shown(quantity, stations[quantity])
    axes.plot(range(len(names)), marks, "o", markersize=4, color=INK, zorder=4)
    if solution.column is not None:
        place = names.index(solution.column.name)
        axes.axvspan(place - 1, place, color=WASH, linewidth=0, zorder=0)
    axes.set_xticks(range(len(names)), names, rotation=40, ha="right", rotation_mode="anchor")
    axes.set_xlim(-0.3, len(names) - 0.7)
    axes.set_xlabel("outlet of", color=INK, fontsize=9)
    axes.set_ylabel(f"{quantity.replace('_', ' ')} [{LABORATORY[quantity]}]", color=INK, fontsize=9)
    axes.grid(axis="x", color=WASH, linewidth=0.6, zorder=0)
    return axes


def path_profile(solution: Solution, *, figure: Figure | None = None) -> Figure:
    """Pressure, temperature and density along the path, one above the other; the column is shaded.

    Parameters
    ----------
    solution : Solution
        The solution.
    figure : matplotlib.figure.Figure, optional
        Where to draw.

    Returns
    -------
    matplotlib.figure.Figure
        The figure with three Axes.
    """
    if figure is None:
        import matplotlib.pyplot as plt

        figure = plt.figure(figsize=(7.6, 6.6), layout="constrained")
    rows = figure.subplots(3, 1, sharex=True)
    for axes, quantity in zip(rows, ("pressure", "temperature", "density"), strict=True):
        profile(solution, quantity, axes=axes)
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
    """
    bands = solution.bands
    if bands is None:
        raise ValueError("the solution has no bands: its method has no injection, no column or no solute")
    rows = bands.rows
    axes = _new(axes, 7.6, 0.6 + 0.42 * len(rows))
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
            fontsize=_LABEL,
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


def chromatogram(record: Chromatogram, *, axes: Axes | None = None) -> Axes:
    """The record of a detector against time, with the name of each solute over its peak.

    Parameters
    ----------
    record : Chromatogram
        What `Solution.chromatogram` returns.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes with the record; time in minutes, the signal over its largest value.
    """
    axes = _new(axes, 7.2, 3.2)
    time, signal = record.record.time, record.record.signal
    highest = float(signal.max()) if signal.size and signal.max() > 0 else 1.0
    axes.plot(time / 60, signal / highest, color=INK, linewidth=1.0)
    for solute, at in zip(record.peaks.solute, record.peaks.time, strict=True):
        if time.size and time[0] <= at <= time[-1]:
            height = float(np.interp(at, time, signal)) / highest
            axes.annotate(solute, (at / 60, height), xytext=(0, 4), textcoords="offset points", ha="center", fontsize=_LABEL, color=INK)
    axes.set_xlabel("time [min]", color=INK, fontsize=9)
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
    """
    axes = _new(axes, 5.2, 3.4)
    runs = fit.runs
    axes.scatter(runs[against], runs.residual, s=12 + 60 * runs.leverage, facecolors="none", edgecolors=INK, linewidths=0.9)
    axes.axhline(0.0, color=SHADE, linewidth=0.8)
    for side in (-2.0, 2.0):
        axes.axhline(side * fit.residual_standard_deviation, color=SHADE, linewidth=0.8, linestyle=(0, (4, 2)))
    unit = runs.units[against]
    axes.set_xlabel(f"{against.replace('_', ' ')} [{unit}]", color=INK, fontsize=9)
    axes.set_ylabel("residual of ln k [1]", color=INK, fontsize=9)
    return axes


def method_map(plane: MethodMap, output: tuple[str, str], *, axes: Axes | None = None) -> Axes:
    """Lines of equal value of one result of a method over the plane of two inputs; refused points are crossed.

    Parameters
    ----------
    plane : MethodMap
        What `map_method` returns, of two values at least on either side.
    output : tuple of two str
        The result to draw, one of those asked of `map_method`.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes with labelled lines, a heavy one where the result is zero, and a cross at each point that the method refuses.
    """
    axes = _new(axes, 5.6, 4.2)
    columns = plane.columns
    across, down, name = columns.name[0], columns.name[1], f"{output[0]}: {output[1]}"
    if name not in columns.name:
        raise KeyError(f"{name}; there are {', '.join(columns.name[2:])}")
    kinds = dict(zip(columns.name, columns.quantity, strict=True))
    points = plane.points
    x, y, values = (np.array([laboratory(kinds[key], float(value))[0] for value in points[key]]) for key in (across, down, name))
    count = int(np.argmax(y != y[0])) or len(y)
    shape = (len(y) // count, count)
    grid = np.ma.masked_invalid(values.reshape(shape))
    lines = axes.contour(x.reshape(shape), y.reshape(shape), grid, levels=9, colors=SHADE, linewidths=0.9)
    axes.clabel(lines, fontsize=_LABEL, colors=INK)
    if grid.count() and grid.min() < 0.0 < grid.max():
        axes.contour(x.reshape(shape), y.reshape(shape), grid, levels=[0.0], colors=INK, linewidths=1.8)
    refused = np.isnan(values)
    axes.plot(x[refused], y[refused], linestyle="none", marker="x", markersize=4, color=ACCENT, clip_on=False)
    for key, put in ((across, axes.set_xlabel), (down, axes.set_ylabel)):
        put(f"{key.replace('_', ' ')} [{laboratory(kinds[key], 1.0)[1]}]", color=INK, fontsize=9)
    axes.set_title(f"{name.replace('_', ' ')} [{laboratory(kinds[name], 1.0)[1]}]", color=INK, fontsize=9, loc="left")
    return axes
