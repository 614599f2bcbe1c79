"""The path of the stream as a drawing: one row a part, branches beside the main line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .._core import Solution
from ._look import ACCENT, DASHED, INK, LABEL, SHADE, WASH, Units, label, measured, new, shown

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MARKS = {
    "cylinder": "o",
    "reciprocating_pump": "s",
    "syringe_pump": "s",
    "modifier_pump": "s",
    "injector": "d",
    "detector_cell": "D",
    "gas_detector": "D",
    "back_pressure_regulator": "v",
    "vent": "_",
}
"""The marks of kinds of parts; restrictors are like the regulator, all others are dots."""

_STEP = 0.35
"""Width of a branch beside its line."""

_QUANTITIES = {"temperature": (3.5, ".1f"), "pressure": (4.5, ".2f"), "density": (5.5, ".4g"), "mass_flow_rate": (6.9, ".4g")}
"""Columns of numbers: the right end of each behind the words, and its form."""


@dataclass(frozen=True)
class _Row:
    """A station on the drawing."""

    station: dict[str, Any]
    depth: int
    """How many tees lie between it and the main line."""
    before: int | None
    """The row that the stream comes from."""


def _rows(solution: Solution) -> list[_Row]:
    """The stations from top to bottom: behind each tee first its branch, then what goes on."""
    rows: list[_Row] = []

    def follow(line: list[dict[str, Any]], depth: int, before: int | None) -> None:
        for station in line:
            rows.append(_Row(station, depth, before))
            before = len(rows) - 1
            branch = [row for row in solution.branches if row["branch_of"] == station["name"]]
            if branch:
                follow(branch, depth + 1, before)

    follow(list(solution.stations), 0, None)
    return rows


def _is_dense(station: dict[str, Any]) -> bool:
    """Whether the fluid is one dense phase there."""
    return station["phase"] in ("liquid", "supercritical")


def _mark(kind: str) -> str:
    return _MARKS.get(kind, "v" if kind.endswith("restrictor") else ".")


def flow_path(solution: Solution, *, units: Units = "laboratory", axes: Axes | None = None) -> Axes:
    """The path of the stream from the supply to its ends, with the state behind each part; a branch stands to the right of its line.

    A whole line is one dense phase, a dashed one is not; columns are bars, pumps squares, injectors and detectors diamonds, and what
    lets the pressure down a triangle.

    Parameters
    ----------
    solution : Solution
        The solution.
    units : {"laboratory", "SI"}, keyword-only
        The units of the numbers.
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
    >>> solution = dp.solve("tests/methods/packed.toml")
    >>> axes = dp.plot.flow_path(solution, axes=Figure().subplots())
    >>> [text.get_text() for text in axes.texts][:4]
    ['supply cylinder', 'liquid', 'suction line', 'liquid']
    """
    rows = _rows(solution)
    axes = new(axes, 8.0, 0.9 + 0.24 * len(rows))
    axes.set_axis_off()
    deepest = max(row.depth for row in rows)
    words = _STEP * deepest + 0.3
    axes.set_xlim(-0.2, words + 9.0)
    axes.set_ylim(len(rows) - 0.5, -1.8)
    columns = {column.name for column in solution.columns}
    for place, row in enumerate(rows):
        _draw_line(axes, rows, place)
        _draw_mark(axes, row, place, is_column=row.station["name"] in columns)
        axes.text(words, place, row.station["name"], va="center", color=INK, fontsize=LABEL)
        axes.text(words + 7.1, place, row.station["phase"], va="center", color=INK, fontsize=LABEL)
    _write_numbers(axes, [row.station for row in rows], words, units)
    return axes


def _draw_line(axes: Axes, rows: list[_Row], place: int) -> None:
    """The line that leads to a row, from its tee sideways if a branch begins there."""
    row = rows[place]
    if row.before is None:
        return
    start = rows[row.before]
    x, x_before = _STEP * row.depth, _STEP * start.depth
    # A part changes the state on its way: what comes to it is what left the part before.
    style = "-" if _is_dense(start.station) else DASHED
    corner = place - 0.5 if x != x_before else place
    axes.plot([x_before, x_before, x, x], [row.before, corner, corner, place], color=INK, linewidth=1.6, linestyle=style, zorder=1)


def _draw_mark(axes: Axes, row: _Row, place: int, *, is_column: bool) -> None:
    x = _STEP * row.depth
    if is_column:
        axes.plot([x, x], [place - 0.36, place + 0.36], color=ACCENT, linewidth=7.0, solid_capstyle="butt", zorder=2)
        return
    axes.plot([x], [place], marker=_mark(row.station["kind"]), markersize=6.0, color=INK, markerfacecolor="white", zorder=3)


def _write_numbers(axes: Axes, stations: list[dict[str, Any]], words: float, units: Units) -> None:
    """The columns of numbers, each under its quantity; rows are ruled lightly."""
    for place in range(len(stations)):
        axes.plot([words, words + 8.8], [place + 0.5, place + 0.5], color=WASH, linewidth=0.6, zorder=0)
    for quantity, (right, form) in _QUANTITIES.items():
        values = [float(station[quantity]) for station in stations]
        numbers, unit = measured(quantity, values, units)
        heading = label(quantity, unit).replace("mass flow rate", "mass flow").replace(" [", "\n[")
        axes.text(words + right, -1.1, heading, ha="right", va="center", color=SHADE, fontsize=LABEL)
        for place, value in enumerate(numbers):
            axes.text(words + right, place, format(value, form), ha="right", va="center", color=INK, fontsize=LABEL)
