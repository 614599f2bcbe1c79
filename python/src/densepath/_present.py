"""Results as tables of pandas and of HTML, and as datasets of xarray. Values are taken from results; none is computed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from ._core import MethodMap, Notice, PhaseBoundary, Saturation, Solution, State, Table, list_quantities

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

_QUANTITIES = {name: (symbol, unit) for name, symbol, unit in list_quantities()}
_CELL = "text-align:left;padding:0.15em 0.8em 0.15em 0"


def units_of(names: Iterable[str]) -> dict[str, str]:
    """The SI units of those names that are quantities."""
    return {name: _QUANTITIES[name][1] for name in names if name in _QUANTITIES}


def number(value: object) -> str:
    """A value in six significant digits, or a dash where there is none."""
    if value is None:
        return "-"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def html_table(caption: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table with a caption, in plain HTML that takes the colours of its surroundings."""
    head = "".join(f'<th style="{_CELL}">{escape(cell)}</th>' for cell in header)
    body = "".join(
        "<tr>" + "".join(f'<td style="{_CELL}">{escape(cell)}</td>' for cell in row) + "</tr>" for row in rows
    )
    return (
        f'<table style="border-collapse:collapse"><caption style="{_CELL}">{escape(caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    )


def _rows(*columns: dict[str, object]) -> list[list[str]]:
    """Quantity, symbol, one value a column, unit."""
    rows = []
    for name in columns[0]:
        if name in ("fluid", "phase"):
            continue
        symbol, unit = _QUANTITIES[name]
        values = [number(column[name]) for column in columns]
        rows.append([name.replace("_", " "), symbol, *values, "" if unit == "1" else unit])
    return rows


def notices_to_html(notices: Iterable[Notice]) -> str:
    """Notices as a list, each with its severity first."""
    items = "".join(
        f"<li><strong>{escape(notice.severity)}</strong>"
        f"{escape(f' at {notice.station}' if notice.station else '')}: {escape(notice.text)}</li>"
        for notice in notices
    )
    return f"<ul>{items}</ul>" if items else ""


def table_to_html(table: Table) -> str:
    """A table with the units under the names of its columns."""
    units = table.units
    names = table.columns
    header = [f"{name.replace('_', ' ')}{unit_in_brackets(units.get(name, '1'))}" for name in names]
    rows = [[number(row[name]) for name in names] for row in (table[i] for i in range(len(table)))]
    return html_table(table.title, header, rows)


def unit_in_brackets(unit: str) -> str:
    """A unit for a heading; nothing for the unit 1."""
    return "" if unit == "1" else f" [{unit}]"


def table_to_pandas(table: Table) -> pd.DataFrame:
    """A table as a frame."""
    import pandas as pd

    frame = pd.DataFrame({name: table[name] for name in table.columns})
    frame.attrs["units"] = table.units
    return frame


def table_to_xarray(table: Table) -> xr.Dataset:
    """A table as a dataset along the words of its first column, where they differ, or along the rows."""
    import xarray as xr

    names, units = table.columns, table.units
    words = table[names[0]] if names and names[0] not in units else ()
    dimension = names[0] if len(words) == len(table) == len(set(words)) else "row"
    columns = {name: (dimension, np.asarray(table[name]), {"units": units[name]} if name in units else {}) for name in names}
    index = {dimension: columns.pop(dimension)} if dimension in columns else {}
    return xr.Dataset(columns, coords=index, attrs={"title": table.title})


def map_to_xarray(plane: MethodMap) -> xr.Dataset:
    """A map as a dataset with its two inputs as dimensions."""
    import xarray as xr

    points, units = plane.points, plane.points.units
    across, down, *results = points.columns
    # The value across changes first.
    count = plane.across_count
    sides = {down: points[down][:: max(count, 1)], across: points[across][:count]}
    coordinates = {name: (name, values, {"units": units[name]}) for name, values in sides.items()}
    shape = tuple(len(values) for values in sides.values())
    variables = {name: (tuple(sides), points[name].reshape(shape), {"units": units[name]}) for name in results}
    return xr.Dataset(variables, coords=coordinates)


def solution_to_pandas(solution: Solution) -> pd.DataFrame:
    """The stations as a frame with their names as index."""
    frame = table_to_pandas(solution.stations)
    units = frame.attrs["units"]
    frame = frame.set_index("name")
    frame.attrs["units"] = units
    return frame


def solution_to_html(solution: Solution) -> str:
    """A solution as a heading, its notices and its tables."""
    head = (
        f"<h3>{escape(solution.title)}</h3><p>{escape(solution.fluid.name)}, {escape(solution.model)}; "
        f"delivery pressure {solution.delivery_pressure:.6g} Pa, mass flow rate {solution.mass_flow_rate:.6g} kg/s</p>"
    )
    branches = [solution.branches] if len(solution.branches) else []
    bands = [budget.rows for at in solution.detections for budget in at.bands_of_solutes[:1]]
    tables = [solution.stations, *branches, *bands, solution.duties, solution.facts]
    return head + notices_to_html(solution.notices) + "".join(table_to_html(table) for table in tables)


def state_to_html(state: State) -> str:
    """A state as a table."""
    values = state.to_dict()
    caption = f"{values['fluid']}, {values['phase']} ({state.fluid.model})"
    table = html_table(caption, ["quantity", "symbol", "value", "unit"], _rows(values))
    return table + notices_to_html(state.notices)


def record_to_html(record: Any) -> str:
    """A result as a table of its numbers, a table of its states side by side, its other tables and its notices."""
    units, values = record.units, record.to_dict()
    fields = {name: getattr(record, name) for name in values}
    plain = [
        [name.replace("_", " "), number(value), unit_in_brackets(units.get(name, "1")).strip(" []")]
        for name, value in fields.items()
        if value is None or isinstance(value, (float, str))
    ]
    parts = [html_table(type(record).__name__, ["result", "value", "unit"], plain)]
    states = {name: values[name] for name, value in fields.items() if isinstance(value, State)}
    if states:
        header = ["quantity", "symbol", *(name.replace("_", " ") for name in states), "unit"]
        parts.append(html_table("states", header, _rows(*states.values())))
    parts += [table_to_html(value) for value in fields.values() if isinstance(value, Table)]
    return "".join(parts) + notices_to_html(fields.get("notices", ()))


def state_to_pandas(state: State) -> pd.Series[Any]:
    """A state as a series."""
    import pandas as pd

    values = state.to_dict()
    series = pd.Series(values, name=str(values["fluid"]), dtype=object)
    series.attrs["units"] = units_of(values)
    return series


def pair_to_pandas(pair: Saturation | PhaseBoundary) -> pd.DataFrame:
    """Both phases of an equilibrium, one column a phase."""
    import pandas as pd

    phases = {"liquid": pair.liquid.to_dict(), "vapour": pair.vapour.to_dict()}
    frame = pd.DataFrame(phases)
    frame.attrs["units"] = units_of(phases["liquid"])
    return frame
