"""A solution as one HTML file that needs nothing else, or as Markdown: words, tables in the units of the laboratory, pictures.

The pictures need matplotlib (the extra `plot`). Values are taken from the solution; none is computed here.

>>> import densepath as dp
>>> from densepath import report
>>> report.FIGURES
('flow_path', 'pressure_enthalpy', 'pressure_density', 'path_profile', 'program_history', 'band_budget', 'chromatogram')
"""

from __future__ import annotations

import io
import tomllib
from base64 import b64encode
from collections.abc import Iterable, Sequence
from html import escape
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

from . import plot
from ._core import VERSION, BandBudget, Detection, Solution, Table, laboratory, method_inputs, model_uncertainties
from ._present import notices_to_html, number

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["FIGURES", "figures", "to_html", "to_markdown", "write"]

FIGURES = ("flow_path", "pressure_enthalpy", "pressure_density", "path_profile", "program_history", "band_budget", "chromatogram")
"""Names of the pictures, in their order."""

_CAPTIONS = {
    "flow_path": "The way of the stream with the state behind each part. Whole line: one dense phase; dashed: gas or two phases; bars are "
    "columns, squares pumps, diamonds injectors and detectors, triangles let the pressure down. What branches off stands to the right.",
    "pressure_enthalpy": "The path on the plane of specific enthalpy and pressure. Grey: two phases; dashed: the line of three "
    "phases; dotted: throttling at constant enthalpy.",
    "pressure_density": "The path on the plane of density and pressure.",
    "path_profile": "Pressure, temperature and density along the path; each part takes the same width, the column is shaded.",
    "program_history": "The ends of each column over the time of the run.",
    "band_budget": "What each part adds to the variance of the band, with its share; thin lines span what the law leaves open.",
    "chromatogram": "What the detector records of one injection, without noise, each peak with the area 1; the highest is drawn as 1.",
}

_SAMPLES = 3000
"""Samples of the chromatogram."""

# Quantities of the table of stations, each with the word over its column and the form of its numbers.
_STATIONS = {
    "temperature": ("temperature", ".2f"),
    "pressure": ("pressure", ".2f"),
    "density": ("density", ".2f"),
    "dynamic_viscosity": ("viscosity", ".2f"),
    "volume_flow_rate": ("volume flow", ".4g"),
    "velocity": ("velocity", ".4g"),
    "reynolds_number": ("Re", ".4g"),
    "single_phase_margin": ("margin", ".1f"),
}

_STYLE = """
:root { color-scheme: light dark; --ink: #16212b; --shade: #5d7285; --frost: #f0f3f6; --paper: #fff; --accent: #b5651d }
@media (prefers-color-scheme: dark) {
  :root { --ink: #dde4ea; --shade: #93a5b5; --frost: #22303c; --paper: #16212b; --accent: #d98a45 }
}
@media print {
  :root { --ink: #000; --shade: #444; --frost: #f3f3f3; --paper: #fff; --accent: #000 }
  body { max-width: none; margin: 0; font-size: 11px }
  table { font-size: 8.5px; overflow: visible }
  h2 { break-after: avoid }
  details { display: none }
}
body { font: 15px/1.5 Georgia, 'Times New Roman', serif; color: var(--ink); background: var(--paper); max-width: 62rem; margin: 2rem auto; padding: 0 1.2rem }
h1 { font-size: 1.7rem; font-weight: normal; border-bottom: 2px solid var(--accent); padding-bottom: .3rem }
h2 { font-size: 1.15rem; margin: 2rem 0 .5rem }
table { border-collapse: collapse; font: 12.5px/1.45 ui-monospace, Menlo, Consolas, monospace; display: block; overflow-x: auto }
th, td { text-align: right; padding: .12rem .7rem .12rem 0; white-space: nowrap }
th:first-child, td:first-child, td.word, th.word { text-align: left }
thead th { border-bottom: 1px solid var(--ink); font-weight: 600; white-space: normal; vertical-align: bottom }
tbody tr:nth-child(even) { background: var(--frost) }
figure { margin: 1.2rem 0; break-inside: avoid }
figure img { max-width: 100%; background: #fff; padding: .4rem; border-radius: 3px }
figcaption { font-size: .85rem; color: var(--shade) }
ul.notices { list-style: none; padding: 0 }
ul.notices li { border-left: 4px solid var(--shade); padding: .15rem .7rem; margin: .35rem 0 }
ul.notices li.caution { border-color: var(--accent); border-left-width: 8px }
ul.notices li.warning { border-color: var(--ink) }
pre { background: var(--frost); padding: .8rem; overflow-x: auto; font-size: 12px }
footer { margin-top: 2.5rem; border-top: 1px solid var(--shade); font-size: .85rem; color: var(--shade) }
"""


def figures(solution: Solution) -> dict[str, Figure]:
    """The pictures of a solution by the names in `FIGURES`; those of bands and peaks only where there are bands, and that of the run in time
    only where the method has programs.

    Parameters
    ----------
    solution : Solution
        The solution.

    Returns
    -------
    dict of str to matplotlib.figure.Figure
        Figures that belong to no window.

    Examples
    --------
    >>> import densepath as dp
    >>> from densepath import report
    >>> drawn = report.figures(dp.solve("tests/methods/packed.toml"))
    >>> list(drawn)
    ['flow_path', 'pressure_enthalpy', 'pressure_density', 'path_profile', 'band_budget', 'chromatogram']
    """
    from matplotlib.figure import Figure

    def figure(height: float) -> Figure:
        return Figure(figsize=(8.0, height), layout="constrained")

    rows = len(solution.stations) + len(solution.branches)
    drawn = {"flow_path": figure(0.6 + 0.24 * rows), "pressure_enthalpy": figure(5.0), "pressure_density": figure(5.0)}
    for name, picture in drawn.items():
        getattr(plot, name)(solution, axes=picture.subplots())
    drawn["path_profile"] = plot.path_profile(solution, figure=figure(7.0))
    if _runs_in_time(solution):
        drawn["program_history"] = plot.program_history(solution, figure=figure(6.0))
    if solution.bands is not None:
        drawn["band_budget"] = figure(0.9 + 0.42 * len(solution.bands.rows))
        plot.band_budget(solution, axes=drawn["band_budget"].subplots())
        drawn["chromatogram"] = figure(3.2)
        end = 1.3 * max(bands.time for bands in solution.bands_of_solutes)
        record = solution.chromatogram(0.0, end, _SAMPLES / end)
        plot.chromatogram(record, axes=drawn["chromatogram"].subplots())
    return drawn


def _runs_in_time(solution: Solution) -> bool:
    """Whether settings change during the run, and a band meets what they do."""
    followed = any(detection.bands_of_solutes for detection in solution.detections)
    return followed and "program" in tomllib.loads(solution.document)


def _image(picture: Figure, caption: str) -> str:
    """A picture inside the page itself."""
    buffer = io.BytesIO()
    picture.savefig(buffer, format="svg", metadata={"Date": None})
    data = b64encode(buffer.getvalue()).decode("ascii")
    text = escape(caption)
    return f'<figure><img alt="{text}" src="data:image/svg+xml;base64,{data}"><figcaption>{text}</figcaption></figure>'


def _table(header: Sequence[str], rows: Iterable[Sequence[str]], words: Iterable[int] = (0,)) -> str:
    """A table; `words` are the columns that are aligned to the left."""
    left = set(words)

    def line(cells: Sequence[str], tag: str) -> str:
        marks = (' class="word"' if place in left else "" for place in range(len(cells)))
        return "".join(f"<{tag}{mark}>{escape(cell)}</{tag}>" for mark, cell in zip(marks, cells, strict=True))

    body = "".join(f"<tr>{line(row, 'td')}</tr>" for row in rows)
    return f"<table><thead><tr>{line(header, 'th')}</tr></thead><tbody>{body}</tbody></table>"


def told(quantity: str, value: float) -> str:
    """A value with its unit of the laboratory, in six significant digits."""
    shown, unit = laboratory(quantity, value)
    return f"{shown:.6g} {unit}".strip()


def _cell(quantity: str, value: float) -> str:
    """A value for a column that has its unit in the heading."""
    if value != value:
        return "-"
    return "any" if value == float("inf") else format(laboratory(quantity, value)[0], _STATIONS[quantity][1])


def _station_rows(stations: Table) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of stations."""
    units = [laboratory(quantity, 1.0)[1] for quantity in _STATIONS]
    words = [f"{word} [{unit}]" if unit else word for (word, _), unit in zip(_STATIONS.values(), units, strict=True)]
    header = ["outlet of", *words, "phase"]
    rows = [
        [row["name"], *(_cell(quantity, row[quantity]) for quantity in _STATIONS), row["phase"]]
        for row in stations
    ]
    return header, rows


def _stations(solution: Solution) -> str:
    header, rows = _station_rows(solution.stations)
    note = "<p>Margin: pressure above the one at which a second phase appears at the same temperature.</p>"
    return _table(header, rows, words=(0, len(header) - 1)) + note + _branches(solution) + f"<p>{escape(_nearest(solution))}</p>"


def _nearest(solution: Solution) -> str:
    """Which part comes nearest to a second phase in a run in time, and when."""
    if not _runs_in_time(solution):
        return ""
    found = solution.nearest_split()
    if found is None:
        return "In the run no part comes near to a second phase at any pressure."
    time, station = found
    return (
        f"In the run {station.name} comes nearest to a second phase, {time:.4g} s after the injection, with "
        f"{told('pressure', station.single_phase_margin or 0.0)} between."
    )


def _branch_rows(solution: Solution) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the stations of branches, each with the part that its branch begins at."""
    header, rows = _station_rows(solution.branches)
    return ["branch of", *header], [[str(tee), *row] for tee, row in zip(solution.branches.branch_of, rows, strict=True)]


def _branches(solution: Solution) -> str:
    if len(solution.branches) == 0:
        return ""
    header, rows = _branch_rows(solution)
    return "<h3>Branches</h3>" + _table(header, rows, words=(0, 1, len(header) - 1))


def _bands(solution: Solution) -> str:
    if solution.bands is None:
        return "<p>The method has no injection, no column or no solute: no band is followed.</p>"
    others = (
        f"<h3>{escape(at.part)}</h3><p>{_arrives(at)}</p>{_budget(at.bands_of_solutes[0])}"
        for at in solution.detections[1:]
        if at.bands_of_solutes
    )
    return _budget(solution.bands) + "".join(others)


def _arrives(at: Detection) -> str:
    """What of the injected amount arrives at a detector, and in which stream."""
    return f"{100.0 * at.injected_share:.4g} % of what is injected arrives, in {told('volume_flow_rate', at.volume_flow_rate)}."


def _budget(bands: BandBudget) -> str:
    summary = (
        f"<p>{escape(bands.solute)}: retention time {bands.retention_time:.5g} s, hold-up time {bands.hold_up_time:.5g} s, "
        f"retention factor {bands.retention_factor:.4g}; {bands.column_plate_number:.0f} plates on the column alone, "
        f"{bands.apparent_plate_number:.0f} with all parts.</p>"
    )
    rows = (
        [
            row["part"],
            *(number(float(row[name])) for name in ("time", "time_variance", "time_variance_min", "time_variance_max")),
            f"{100.0 * row['share']:.2f}",
        ]
        for row in bands.rows
    )
    header = ["part", "time [s]", "time variance [s2]", "smallest [s2]", "largest [s2]", "share [%]"]
    return summary + _table(header, rows)


def _facts(solution: Solution) -> str:
    facts = solution.facts
    rows = (
        [row["part"], row["name"], *told(row["quantity"], row["value"]).partition(" ")[::2]]
        for row in facts
    )
    return _table(["part", "result", "value", "unit"], rows, words=(0, 1, 3))


def _duties(solution: Solution) -> str:
    duties = solution.duties
    rows = (
        [row["part"], f"{row['heat_flow_rate']:.4g}", row["purpose"]]
        for row in duties
    )
    return _table(["part", "heat into the fluid [W]", "purpose"], rows, words=(0, 2))


_SET = ["of", "key", "value", "unit"]


def _inputs(solution: Solution) -> list[list[str]]:
    """What the document sets, in the units of the laboratory."""
    inputs = method_inputs(solution.document)
    stated = (row for row in inputs if row["value"] == row["value"])
    return [
        [row["of"], row["key"].replace("_", " "), *told(row["quantity"], row["value"]).partition(" ")[::2]] for row in stated
    ]


_SURE = ["of", "model", "relative standard uncertainty at the inlet of the column [%]"]


def _accuracy(solution: Solution) -> tuple[str, list[list[str]]]:
    """The model with its source, and how sure the models are at the inlet of the column."""
    fluid = solution.fluid
    _, known, unknown = model_uncertainties(solution.document)
    rows = [
        [fluid.name if of == "document" else of, key.removesuffix("_factor"), f"{100.0 * u:.2g}"] for (of, key), u in known.items()
    ]
    rows += [[fluid.name, quantity.replace("_", " "), why] for quantity, why in unknown.items()]
    return f"State of {fluid.name}: {fluid.model} ({fluid.source}).", rows


def to_html(solution: Solution, drawn: dict[str, Figure] | None = None) -> str:
    """The report of a solution as one HTML page.

    Parameters
    ----------
    solution : Solution
        The solution.
    drawn : dict of str to matplotlib.figure.Figure, optional
        Its pictures, if they are drawn already; else they are drawn.

    Returns
    -------
    str
        The page, with the pictures inside.

    Examples
    --------
    >>> import densepath as dp
    >>> from densepath import report
    >>> page = report.to_html(dp.solve("tests/methods/packed.toml"), {})  # without pictures
    >>> "<h2>Cautions, warnings and remarks</h2>" in page
    True
    """
    drawn = figures(solution) if drawn is None else drawn
    model, sure = _accuracy(solution)
    pictures = "".join(_image(picture, _CAPTIONS[name]) for name, picture in drawn.items())
    scenario = f"<p><em>{escape(solution.scenario)}</em></p>" if solution.scenario else ""
    notices = notices_to_html(solution.notices).replace("<ul>", '<ul class="notices">')
    for severity in ("caution", "warning", "remark"):
        notices = notices.replace(f"<li><strong>{severity}", f'<li class="{severity}"><strong>{severity}')
    summary = (
        f"<p>{escape(solution.fluid.name)}; the pump delivers {told('mass_flow_rate', solution.mass_flow_rate)} at "
        f"{told('pressure', solution.delivery_pressure)} (absolute). "
        f"{told('volume_flow_rate', solution.gas_volume_flow_rate)} of gas at 20 degC and 1 atm leave the instrument; the liquid "
        f"in the cylinder lasts {told('time', solution.running_time)}.</p>"
    )
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{escape(solution.title)}</title><style>{_STYLE}</style></head><body>
<h1>{escape(solution.title)}</h1>{scenario}{summary}
<h2>Cautions, warnings and remarks</h2>{notices}
<h2>Stations</h2>{_stations(solution)}
<h2>Pictures</h2>{pictures}
<h2>Band</h2>{_bands(solution)}
<h2>Heat</h2>{_duties(solution)}
<h2>Parts</h2>{_facts(solution)}
<h2>What was set</h2>{_table(_SET, _inputs(solution), words=(0, 1, 3))}
<h2>Accuracy</h2><p>{escape(model)}</p>{_table(_SURE, sure, words=(0, 1, 2))}
<details><summary>The method document</summary><pre>{escape(solution.document)}</pre></details>
<footer>densepath {VERSION}. Pressures are absolute. A calculation is no proof that an installation is safe: pressure vessels, gas
in rooms and flammable vapour are matters of local codes and of licensed practice.</footer>
</body></html>
"""


def _pipes(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table in Markdown."""
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def _shares(bands: BandBudget) -> list[list[str]]:
    """Variance and share of each part in a budget."""
    return [[row["part"], number(float(row["time_variance"])), f"{100.0 * row['share']:.2f}"] for row in bands.rows]


def to_markdown(solution: Solution) -> str:
    """The report of a solution as Markdown, without pictures: notices, stations, band, what was set.

    Parameters
    ----------
    solution : Solution
        The solution.

    Returns
    -------
    str
        The text.

    Examples
    --------
    >>> import densepath as dp
    >>> from densepath import report
    >>> text = report.to_markdown(dp.solve("tests/methods/packed.toml"))
    >>> [line for line in text.splitlines() if line.startswith("#")]
    ['# Purity check on a 4.6 mm packed column', '## Cautions, warnings and remarks', '## Stations', '## Band of invented aromatic', '## What was set', '## Accuracy']
    """
    parts = [f"# {solution.title}", solution.scenario or ""]
    parts.append(
        f"{solution.fluid.name}: {solution.model}. The pump delivers {told('mass_flow_rate', solution.mass_flow_rate)} at "
        f"{told('pressure', solution.delivery_pressure)} (absolute)."
    )
    parts.append("## Cautions, warnings and remarks")
    parts.append("\n".join(
        f"- **{notice.severity}**{f' at {notice.station}' if notice.station else ''}: {notice.text}" for notice in solution.notices
    ))
    parts += ["## Stations", _pipes(*_station_rows(solution.stations))]
    if len(solution.branches):
        parts += ["## Branches", _pipes(*_branch_rows(solution))]
    parts.append(_nearest(solution))
    for place, at in enumerate(solution.detections):
        for bands in at.bands_of_solutes[:1]:
            where, arrives = (f" at {at.part}", f" {_arrives(at)}") if place else ("", "")
            parts += [
                f"## Band of {bands.solute}{where}",
                f"Retention time {bands.retention_time:.5g} s, {bands.apparent_plate_number:.0f} plates.{arrives}",
                _pipes(["part", "time variance [s2]", "share [%]"], _shares(bands)),
            ]
    model, sure = _accuracy(solution)
    parts += ["## What was set", _pipes(_SET, _inputs(solution)), "## Accuracy", model, _pipes(_SURE, sure)]
    parts.append(f"densepath {VERSION}. A calculation is no proof that an installation is safe: keep to local codes and licensed practice.")
    return "\n\n".join(part for part in parts if part) + "\n"


def write(solution: Solution, path: str | PathLike[str], drawn: dict[str, Figure] | None = None) -> Path:
    """Writes the report of a solution to a file.

    Parameters
    ----------
    solution : Solution
        The solution.
    path : str or path
        The file; its folder must exist. A name that ends in `.md` takes Markdown, without pictures.
    drawn : dict of str to matplotlib.figure.Figure, optional
        Its pictures, if they are drawn already.

    Returns
    -------
    pathlib.Path
        The file.

    Examples
    --------
    >>> import densepath as dp
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from densepath import report
    >>> with TemporaryDirectory() as folder:
    ...     file = report.write(dp.solve("tests/methods/packed.toml"), Path(folder) / "purity_check.md")
    ...     file.name, file.read_text(encoding="utf-8").splitlines()[0]
    ('purity_check.md', '# Purity check on a 4.6 mm packed column')
    """
    file = Path(path)
    text = to_markdown(solution) if file.suffix == ".md" else to_html(solution, drawn)
    file.write_text(text, encoding="utf-8")
    return file
