"""Pictures of runs whose settings change in time."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from .._core import Solution, Table
from ._look import ACCENT, DASHED, DOTTED, INK, LABEL, SHADE, Units, label, measured, new, shown, unit_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Lines of each row: the column of the history, the words beside it and how it is drawn.
_Line: TypeAlias = tuple[str, str, str | tuple[int, tuple[float, float]]]
_INLET: _Line = ("inlet of the column", INK, "-")
_OUTLET: _Line = ("outlet of the column", ACCENT, DASHED)
_PUMP: _Line = ("pump", SHADE, DOTTED)
_LINES: dict[str, dict[str, _Line]] = {
    "pressure": {"delivery_pressure": _PUMP, "inlet_pressure": _INLET, "outlet_pressure": _OUTLET},
    "amount_fraction": {"inlet_modifier": _INLET, "outlet_modifier": _OUTLET},
    "density": {"inlet_density": _INLET, "outlet_density": _OUTLET},
}


def program_history(solution: Solution, *, units: Units = "laboratory", figure: Figure | None = None) -> Figure:
    """Pressure, share of modifier and density at both ends of each column over the time of a run with programs.

    Parameters
    ----------
    solution : Solution
        The solution of a method with programs.
    units : {"laboratory", "SI"}, keyword-only
        The units of the axes.
    figure : matplotlib.figure.Figure, optional
        Where to draw.

    Returns
    -------
    matplotlib.figure.Figure
        The figure, with an Axes for each quantity, side by side for several columns; that of the modifier is left out where there is none.

    Raises
    ------
    DocumentError
        For a method without injector, solute and column.

    Examples
    --------
    >>> import densepath as dp
    >>> from matplotlib.figure import Figure
    >>> from pathlib import Path
    >>> program = '[[program]]\\npart = "regulator"\\nkey = "pressure"\\ntime = ["0 min", "5 min"]\\nvalue = ["150 bar", "180 bar"]\\n'
    >>> solution = dp.solve(Path("tests/methods/packed.toml").read_text(encoding="utf-8") + program)
    >>> figure = dp.plot.program_history(solution, figure=Figure())
    >>> [axes.get_ylabel() for axes in figure.axes]
    ['pressure [bar]', 'density [kg/m3]']
    """
    histories = {column.name: solution.program_history(column=column.name) for column in solution.columns}
    modified = any(max(history.inlet_modifier) > 0.0 for history in histories.values())
    quantities = [name for name in _LINES if name != "amount_fraction" or modified]
    if figure is None:
        import matplotlib.pyplot as plt

        figure = plt.figure(figsize=(2.6 + 5.0 * len(histories), 0.6 + 1.9 * len(quantities)), layout="constrained")
    places = figure.subplots(len(quantities), len(histories), sharex=True, sharey="row", squeeze=False)
    for rows, (name, history) in zip(places.T, histories.items(), strict=True):
        time, unit = measured("time", history.time, units)
        for axes, quantity in zip(rows, quantities, strict=True):
            _draw(new(axes, 7.6, 2.0), history, quantity, time.tolist(), units)
        rows[-1].set_xlabel(label("time", unit), color=INK, fontsize=9)
        if len(histories) > 1:
            rows[0].set_title(name, loc="left", pad=18.0, color=INK, fontsize=9)
    for axes, quantity in zip(places[:, 0], quantities, strict=True):
        axes.set_ylabel(label(quantity, unit_of(quantity, units)), color=INK, fontsize=9)
    places[0, 0].legend(frameon=False, fontsize=LABEL, labelcolor=INK, ncols=3, loc="lower left", bbox_to_anchor=(0.0, 1.0))
    return figure


def _draw(axes: Axes, history: Table, quantity: str, time: list[float], units: Units) -> None:
    for name, (words, color, style) in _LINES[quantity].items():
        axes.plot(time, shown(quantity, history[name], units), color=color, linestyle=style, linewidth=1.6, label=words)
