"""Pictures of one mobile phase: planes of two variables with the regions of two phases, and the path of a solution on them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from .._core import Fluid, Solution, State
from ..errors import DensepathError, MissingModelError
from ..units import from_celsius
from ._look import ACCENT, DASHED, DOTTED, FROST, INK, LABEL, SHADE, WASH, Array, Numbers, Units, name_axes, new, shown, shown_one, unit_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_ISOTHERMS_DEGC = (-40.0, -20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 150.0)
_ISOBARS = (10e5, 30e5, 60e5, 100e5, 200e5, 300e5)
_ISOPYCNICS = (100.0, 200.0, 300.0, 400.0, 500.0, 600.0, 700.0, 800.0, 900.0, 1000.0)

_Plane = tuple[str, str]
"""The quantities of the horizontal and of the vertical axis."""


class _Dome:
    """Borders of the two-phase regions of a fluid: states of both phases along them."""

    def __init__(self, fluid: Fluid) -> None:
        point = fluid.critical_point()
        low, high = fluid.saturation_range
        highest = fluid.temperature_range[1]
        # Points gather towards the critical point, where the border turns, unless the range of the equation ends below it.
        temperatures = np.maximum(low, high - (high - low) * np.linspace(1.0, 0.02, 160) ** 3)
        both = [fluid.saturation(temperature=float(t)) for t in temperatures if t <= highest]
        tops = [fluid.state(temperature=point.temperature, density=point.density)] if point.temperature <= highest else []
        self.liquid = [*(pair.liquid for pair in both), *tops]
        self.vapour = [*(pair.vapour for pair in both), *tops]
        self.triple_pressure = both[0].pressure
        self.has_solid = "solid" in fluid.models.subject
        self._fluid = fluid

    def frost(self, lowest: float) -> tuple[list[Any], list[State]]:
        """Solid and vapour below the triple point, down to a pressure."""
        pressures = np.geomspace(lowest, self.triple_pressure * (1.0 - 1e-6), 40)
        # The boiling liquid of the triple point has an enthalpy between that of the solid and that of the vapour.
        enthalpy = self.liquid[0].specific_enthalpy
        states = [self._fluid.state(pressure=float(p), specific_enthalpy=enthalpy) for p in pressures]
        return [state.solid for state in states], [state.vapour for state in states if state.vapour is not None]


def _along(states: Sequence[Any], quantity: str, units: Units) -> Array:
    """A quantity of states in the unit of its axis."""
    return shown(quantity, [getattr(state, quantity) for state in states], units)


def dome(
    fluid: Fluid,
    quantity: str = "specific_enthalpy",
    *,
    against: Literal["pressure", "temperature"] = "pressure",
    lowest_pressure: float = 5e4,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """Regions of two phases on the plane of a quantity and the pressure or the temperature.

    Parameters
    ----------
    fluid : Fluid
        The fluid.
    quantity : {"specific_enthalpy", "specific_entropy", "density"}
        What the horizontal axis shows.
    against : {"pressure", "temperature"}, keyword-only
        What the vertical axis shows.
    lowest_pressure : float, keyword-only
        Pressure in Pa down to which the region of solid and vapour is drawn.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
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
    axes = new(axes, 6.4, 4.6)
    border = _Dome(fluid)
    around = [*border.liquid, *border.vapour[::-1]]
    x, y = _along(around, quantity, units), _along(around, against, units)
    axes.fill(x, y, color=WASH, linewidth=0, zorder=0)
    axes.plot(x, y, color=INK, linewidth=1.1, zorder=2)
    if border.has_solid and lowest_pressure < border.triple_pressure:
        solid, vapour = border.frost(lowest_pressure)
        level, gas = _along(vapour, against, units), _along(vapour, quantity, units)
        axes.fill_betweenx(level, _along(solid, quantity, units), gas, color=FROST, linewidth=0, zorder=0)
        axes.plot(gas, level, color=INK, linewidth=1.1, zorder=2)
        ends = _along([solid[-1], border.vapour[0]], quantity, units)
        axes.plot(ends, [level[-1]] * 2, color=INK, linewidth=0.9, linestyle=DASHED, zorder=2)
    top = len(border.liquid) - 1
    axes.plot(x[top], y[top], marker="o", markersize=4, color=INK, zorder=3)
    name_axes(axes, quantity, against, units)
    return axes


def _has_dome(fluid: Fluid) -> bool:
    """Whether the model of a fluid knows liquid and vapour in equilibrium."""
    try:
        low, high = fluid.saturation_range
        fluid.saturation(temperature=0.5 * (low + high))
    except MissingModelError:
        return False
    return True


def _line(axes: Axes, x: Array, y: Array, text: str) -> None:
    """One of the fine lines of a plane, with its value at the upper end."""
    axes.plot(x, y, color=SHADE, linewidth=0.6, zorder=1)
    if x.size:
        axes.annotate(
            text,
            (x[-1], y[-1]),
            xytext=(0, 2),
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=6.5,
            color=SHADE,
            annotation_clip=True,
        )


def _isotherms(
    axes: Axes, fluid: Fluid, quantity: str, temperatures_degc: Numbers, limits: tuple[float, float], units: Units
) -> None:
    """Lines of constant temperature between two pressures in Pa."""
    low, high = fluid.saturation_range if _has_dome(fluid) else (np.inf, np.inf)
    function = getattr(fluid, quantity)
    for degc in temperatures_degc:
        temperature = from_celsius(degc)
        pressures = np.geomspace(*limits, 240)
        if low <= temperature < high:
            boiling = fluid.saturation(temperature=temperature).pressure
            pressures = np.sort(np.append(pressures, [boiling * (1.0 - 1e-9), boiling * (1.0 + 1e-9)]))
        values = function(temperature, pressures, on_error="nan")
        known = np.isfinite(values)
        x, y = shown(quantity, values[known], units), shown("pressure", pressures[known], units)
        _line(axes, x, y, f"{shown_one('temperature', temperature, units):.4g}")


def _isobars(axes: Axes, fluid: Fluid, quantity: str, pressures: Numbers, limits: tuple[float, float], units: Units) -> None:
    """Lines of constant pressure between two temperatures in K."""
    top = fluid.critical_point().pressure if _has_dome(fluid) else 0.0
    function = getattr(fluid, quantity)
    for pressure in pressures:
        temperatures = np.linspace(*limits, 240)
        if pressure < top:
            boiling = fluid.saturation(pressure=pressure).temperature
            temperatures = np.sort(np.append(temperatures, [boiling * (1.0 - 1e-9), boiling * (1.0 + 1e-9)]))
        values = function(temperatures, pressure, on_error="nan")
        known = np.isfinite(values)
        x, y = shown(quantity, values[known], units), shown("temperature", temperatures[known], units)
        _line(axes, x, y, f"{shown_one('pressure', pressure, units):g}")


def _name_regions(axes: Axes, fluid: Fluid, plane: _Plane, lowest: float, units: Units) -> None:
    """The names of the regions, each written inside the region."""
    low, high = fluid.saturation_range
    triple = fluid.saturation(temperature=low)
    middle = fluid.saturation(temperature=low + 0.35 * (high - low))
    inside = 0.5 * (getattr(middle.liquid, plane[0]) + getattr(middle.vapour, plane[0]))
    places = [("liquid + vapour", inside, getattr(middle, plane[1]))]
    if plane == ("specific_enthalpy", "pressure") and "solid" in fluid.models.subject and lowest < triple.pressure:
        places.append(("solid + vapour", triple.liquid.specific_enthalpy, 0.4 * triple.pressure))
    for name, x, y in places:
        spot = shown_one(plane[0], x, units), shown_one(plane[1], y, units)
        axes.text(*spot, name, ha="center", va="center", fontsize=LABEL, style="italic", color=SHADE, zorder=2)


def _legs(solution: Solution, plane: _Plane) -> list[tuple[Array, Array, bool]]:
    """The path as pieces from station to station: both quantities, and whether the piece is a throttling."""
    points = solution.profile
    part = np.array(points.part)
    stations = [solution.station(name) for name in solution.stations.name]
    legs: list[tuple[Array, Array, bool]] = []
    for before, after in zip(stations, stations[1:], strict=False):
        if after.kind == "back_pressure_regulator":
            way = [before.state.expand_to(float(p)) for p in np.geomspace(before.pressure, after.pressure, 120)]
            legs.append((*(np.array([getattr(state, axis) for state in way]) for axis in plane), True))  # type: ignore[arg-type]
            heating = _heating(way[-1], after.state)
            legs.append((*(np.array([getattr(state, axis) for state in heating]) for axis in plane), False))  # type: ignore[arg-type]
            continue
        inside = part == after.name
        between = points.temperature[inside], points.pressure[inside]
        ways = [_inner(solution.fluid, axis, *between) for axis in plane]
        known = np.isfinite(ways[0]) & np.isfinite(ways[1])
        ends = [(getattr(before.state, axis), getattr(after.state, axis)) for axis in plane]
        x, y = (np.array([start, *way[known], end]) for (start, end), way in zip(ends, ways, strict=True))
        legs.append((x, y, False))
    return legs


def _heating(before: State, after: State) -> list[State]:
    """States at one pressure from one to another, by even steps of the enthalpy."""
    steps = np.linspace(before.specific_enthalpy, after.specific_enthalpy, 40)[1:-1]
    between = [before.fluid.state(pressure=after.pressure, specific_enthalpy=float(step)) for step in steps]
    return [before, *between, after]


def _inner(fluid: Fluid, quantity: str, temperature: Array, pressure: Array) -> Array:
    """A quantity at the points inside a part."""
    if quantity in ("temperature", "pressure"):
        return temperature if quantity == "temperature" else pressure
    return np.asarray(getattr(fluid, quantity)(temperature, pressure, on_error="nan"), dtype=float)


def _numbers(axes: Axes, solution: Solution, plane: _Plane, units: Units) -> None:
    """The numbers of the stations, one mark for those that lie on the same spot, and their names beside the Axes."""
    names = solution.stations.name
    states = [solution.station(name).state for name in names]
    x, y = (_along(states, axis, units) for axis in plane)
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
        fontsize=LABEL,
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


def _draw_path(axes: Axes, solution: Solution, plane: _Plane, units: Units) -> None:
    """The path of a solution, its throttling dotted, and the numbers of its stations."""
    for x, y, throttling in _legs(solution, plane):
        style: Any = DOTTED if throttling else "solid"
        axes.plot(shown(plane[0], x, units), shown(plane[1], y, units), color=ACCENT, linewidth=1.9, linestyle=style, zorder=4)
    _numbers(axes, solution, plane, units)


def _fluid_of(subject: Solution | Fluid) -> Fluid:
    return subject.fluid if isinstance(subject, Solution) else subject


def _against_pressure(subject: Solution | Fluid, quantity: str, axes: Axes | None, isotherms: Numbers, units: Units) -> Axes:
    """The dome, the isotherms and the path of a solution on the plane of a quantity and the pressure."""
    fluid = _fluid_of(subject)
    axes = new(axes, 7.6, 4.8)
    plane = (quantity, "pressure")
    lowest, highest = 5e5, 300e5
    if isinstance(subject, Solution):
        pressures = subject.stations.pressure
        lowest, highest = 0.6 * float(pressures.min()), 1.25 * float(pressures.max())
    highest = max(highest, *(1.6 * point.pressure for point in fluid.critical_points() if point.stable), 0.0)
    name_axes(axes, *plane, units)
    if _has_dome(fluid):
        dome(fluid, quantity, lowest_pressure=lowest, units=units, axes=axes)
        _name_regions(axes, fluid, plane, lowest, units)
    _isotherms(axes, fluid, quantity, isotherms, (lowest, highest), units)
    low, high = shown("pressure", (lowest, highest), units)
    if quantity == "specific_enthalpy":
        axes.set_yscale("log")
        axes.set_ylim(low, high)
        axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
        axes.yaxis.set_minor_formatter(lambda value, _: "")
    else:
        axes.set_ylim(0.0, high)
        axes.set_xlim(left=0.0)
        if _has_dome(fluid):
            axes.set_xlim(right=1.08 * fluid.saturation(temperature=fluid.saturation_range[0]).liquid.density)
    if isinstance(subject, Solution):
        _draw_path(axes, subject, plane, units)
    axes.set_title(f"isotherms in {unit_of('temperature', units)}", loc="left", fontsize=6.5, color=SHADE)
    return axes


def pressure_enthalpy(
    solution: Solution | Fluid,
    *,
    isotherms_degc: Numbers = _ISOTHERMS_DEGC,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """The path of a solution on the plane of specific enthalpy and pressure, with the regions of two phases.

    Throttling is dotted: along it the enthalpy stays as it is. The pressure axis is logarithmic.

    Parameters
    ----------
    solution : Solution or Fluid
        The solution; for a fluid the plane is drawn without a path.
    isotherms_degc : sequence of float, keyword-only
        Temperatures in degC of the isotherms.
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
    >>> axes = dp.plot.pressure_enthalpy(dp.Fluid("carbon dioxide"), axes=Figure().subplots())
    >>> axes.get_xlabel()
    'specific enthalpy [kJ/kg]'
    """
    return _against_pressure(solution, "specific_enthalpy", axes, isotherms_degc, units)


def pressure_density(
    solution: Solution | Fluid,
    *,
    isotherms_degc: Numbers = _ISOTHERMS_DEGC,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """The path of a solution on the plane of density and pressure, with the regions of two phases.

    Parameters
    ----------
    solution : Solution or Fluid
        The solution; for a fluid the plane is drawn without a path.
    isotherms_degc : sequence of float, keyword-only
        Temperatures in degC of the isotherms.
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
    >>> axes = dp.plot.pressure_density(dp.Fluid("carbon dioxide"), axes=Figure().subplots())
    >>> axes.get_xlabel()
    'density [kg/m3]'
    """
    return _against_pressure(solution, "density", axes, isotherms_degc, units)


def temperature_entropy(
    solution: Solution | Fluid,
    *,
    isobars: Numbers = _ISOBARS,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """The path of a solution on the plane of specific entropy and temperature, with the regions of two phases.

    Pumping without loss goes straight up; throttling, dotted, goes down to the right.

    Parameters
    ----------
    solution : Solution or Fluid
        The solution; for a fluid the plane is drawn without a path.
    isobars : sequence of float, keyword-only
        Pressures in Pa of the isobars.
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
    >>> axes = dp.plot.temperature_entropy(dp.Fluid("carbon dioxide"), axes=Figure().subplots())
    >>> axes.get_ylabel()
    'temperature [degC]'
    """
    fluid = _fluid_of(solution)
    axes = new(axes, 7.6, 4.8)
    plane = ("specific_entropy", "temperature")
    lowest = 5e5 if isinstance(solution, Fluid) else 0.6 * float(solution.stations.pressure.min())
    name_axes(axes, *plane, units)
    coldest, warmest = fluid.temperature_range[0], 400.0
    if _has_dome(fluid):
        dome(fluid, plane[0], against="temperature", lowest_pressure=lowest, units=units, axes=axes)
        _name_regions(axes, fluid, plane, lowest, units)
        warmest = max(warmest, 1.15 * fluid.saturation_range[1])
    if isinstance(solution, Solution):
        warmest = max(warmest, 1.03 * float(solution.stations.temperature.max()))
    _isobars(axes, fluid, plane[0], isobars, (coldest, min(warmest, fluid.temperature_range[1])), units)
    if isinstance(solution, Solution):
        _draw_path(axes, solution, plane, units)
    axes.set_title(f"isobars in {unit_of('pressure', units)}", loc="left", fontsize=6.5, color=SHADE)
    return axes


def isopycnics(
    fluid: Fluid,
    densities: Numbers = _ISOPYCNICS,
    *,
    temperatures: tuple[float, float] | None = None,
    highest_pressure: float = 400e5,
    solution: Solution | None = None,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """Lines of equal density on the plane of temperature and pressure, with the vapour pressure.

    Along a line the fluid dissolves about as well, so that it tells what pressure makes up for a change of temperature.

    Parameters
    ----------
    fluid : Fluid
        The fluid.
    densities : sequence of float
        Densities rho in kg/m3 of the lines.
    temperatures : tuple of two float, keyword-only, optional
        Lowest and highest temperature T in K; if not given from the lowest one of the fluid to 1.3 times the critical one.
    highest_pressure : float, keyword-only
        Pressure in Pa up to which the plane is drawn.
    solution : Solution, keyword-only, optional
        A solution whose stations are drawn too.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes; each line bears its density in kg/m3.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> axes = dp.plot.isopycnics(dp.Fluid("carbon dioxide"), [600.0, 800.0], axes=Figure().subplots())
    >>> [text.get_text() for text in axes.texts]
    ['600', '800']
    """
    axes = new(axes, 6.4, 4.6)
    low, high = temperatures or _span(fluid)
    grid = np.linspace(low, high, 240)
    for density in densities:
        pressures = fluid.isopycnic(grid, density, on_error="nan")
        drawn = np.isfinite(pressures) & (pressures > 0.0) & (pressures <= highest_pressure) & ~_boils(fluid, grid, pressures)
        _line(axes, shown("temperature", grid[drawn], units), shown("pressure", pressures[drawn], units), f"{density:g}")
    _draw_boiling(axes, fluid, (low, high), units)
    if solution is not None:
        stations = solution.stations
        x, y = shown("temperature", stations.temperature, units), shown("pressure", stations.pressure, units)
        axes.plot(x, y, color=ACCENT, linewidth=1.9, marker="o", markersize=3, zorder=4)
    name_axes(axes, "temperature", "pressure", units)
    axes.set_ylim(0.0, shown_one("pressure", highest_pressure, units))
    axes.set_title("density in kg/m3", loc="left", fontsize=6.5, color=SHADE)
    return axes


def _span(fluid: Fluid) -> tuple[float, float]:
    """Lowest and highest temperature in K of a plane about the critical point."""
    low, high = fluid.temperature_range
    critical = max((point.temperature for point in fluid.critical_points()), default=high)
    return low, min(high, 1.3 * critical)


def _boils(fluid: Fluid, temperatures: Array, pressures: Array) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Where a state lies on the vapour pressure: the density between that of the liquid and that of the vapour belongs to no phase."""
    if not _has_dome(fluid):
        return np.zeros(temperatures.shape, dtype=bool)
    boiling = np.asarray(fluid.saturations(temperature=temperatures, on_error="nan").pressure)
    return np.asarray(np.isclose(pressures, boiling, rtol=1e-9, atol=0.0))


def _draw_boiling(axes: Axes, fluid: Fluid, limits: tuple[float, float], units: Units) -> None:
    """The vapour pressure up to the critical point, within two temperatures."""
    if not _has_dome(fluid):
        return
    low, high = fluid.saturation_range
    grid = np.linspace(max(low, limits[0]), min(high * (1.0 - 1e-7), limits[1]), 80)
    table = fluid.saturations(temperature=grid)
    axes.plot(shown("temperature", grid, units), shown("pressure", table.pressure, units), color=INK, linewidth=1.1, zorder=2)
    point = fluid.critical_point()
    if limits[0] <= point.temperature <= limits[1]:
        end = shown_one("temperature", point.temperature, units), shown_one("pressure", point.pressure, units)
        axes.plot(*end, marker="o", markersize=4, color=INK, zorder=3)


def pseudo_critical_lines(
    fluid: Fluid,
    *,
    highest_temperature: float | None = None,
    units: Units = "laboratory",
    axes: Axes | None = None,
) -> Axes:
    """The lines above the critical point on which the fluid changes fastest, in their three definitions, with the vapour pressure.

    Parameters
    ----------
    fluid : Fluid
        The fluid, of one substance.
    highest_temperature : float, keyword-only, optional
        Temperature T in K up to which the lines are sought; if not given 1.25 times the critical one. A line ends where its property
        has no largest value any more.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    axes : matplotlib.axes.Axes, optional
        Where to draw.

    Returns
    -------
    matplotlib.axes.Axes
        The Axes: the largest heat capacity drawn out, the largest slope of the density in the pressure dashed, the largest expansivity
        dotted.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> axes = dp.plot.pseudo_critical_lines(dp.Fluid("carbon dioxide"), axes=Figure().subplots())
    >>> [text.get_text() for text in axes.get_legend().get_texts()]
    ['heat capacity', 'density gradient', 'expansivity']
    """
    axes = new(axes, 6.4, 4.6)
    critical = fluid.critical_point().temperature
    highest = min(highest_temperature or 1.25 * critical, fluid.temperature_range[1])
    grid = critical + (highest - critical) * np.linspace(0.0, 1.0, 61)[1:] ** 2
    styles: dict[str, Any] = {"heat_capacity": "solid", "density_gradient": DASHED, "expansivity": DOTTED}
    for definition, style in styles.items():
        line = _found(lambda t, definition=definition: fluid.pseudo_critical(t, definition=definition), grid)  # type: ignore[misc]
        x, y = _along(line, "temperature", units), _along(line, "pressure", units)
        axes.plot(x, y, color=INK, linewidth=1.3, linestyle=style, label=definition.replace("_", " "), zorder=3)
    _draw_boiling(axes, fluid, (0.85 * critical, highest), units)
    legend = axes.legend(frameon=False, fontsize=LABEL, title="largest on the isotherm", title_fontsize=LABEL, labelcolor=INK)
    legend.get_title().set_color(INK)
    name_axes(axes, "temperature", "pressure", units)
    return axes


def _found(find: Callable[[float], State], values: Array) -> list[State]:
    """The states that are found for rising values, up to the first that is not."""
    states: list[State] = []
    for value in values:
        try:
            states.append(find(float(value)))
        except DensepathError:
            break
    return states
