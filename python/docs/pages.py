"""Writes a page for every substance: its models with range, source and uncertainty, and how far they are from published values.

`cargo xtask pages` runs it in the environment of the Python module. The words come from the data records, the numbers from the library.
"""

from __future__ import annotations

import csv
import json
import re
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np

mpl.use("agg")
import matplotlib.pyplot as plt
from matplotlib.axes import Axes

import densepath as dp

ROOT = Path(__file__).parents[2]
RECORDS = ROOT / "crates" / "densepath-fluid" / "data" / "fluids"
MEASURED = ROOT / "crates" / "densepath-fit" / "data" / "pure"
VECTORS = ROOT / "tests" / "vectors"
MEASUREMENTS = (ROOT / "tests" / "measurements", MEASURED)
OUTPUT = Path(__file__).parent / "fluids"

INK, SHADE, ACCENT = "#16212b", "#5d7285", "#b5651d"
MARKERS = "os^Dv<>phX*"
MEGA = 1e6
# Fields of a picture side by side.
COLUMNS = 3


@dataclass(frozen=True)
class Published:
    """A published value and what the library gives for it."""

    quantity: str
    source: str
    temperature: float
    pressure: float
    deviation: float


def records() -> Iterator[dict[str, Any]]:
    """Every data record, by name."""
    for path in sorted(RECORDS.glob("*.json")):
        yield json.loads(path.read_text("utf-8")) | {"file": path.stem}


def cite(source: dict[str, Any]) -> str:
    """Authors, journal, year and a link."""
    text = f"{source['authors']}, {source['journal']} ({source['year']})"
    doi = source.get("doi")
    return f"{text}, [doi {doi}](https://doi.org/{doi})" if doi else text


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table in Markdown."""
    head = list(head)
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def span(valid: dict[str, float]) -> str:
    """A range in words."""
    text = f"{valid['T_min / K']:g} to {valid['T_max / K']:g} K"
    pressure = valid.get("p_max / Pa")
    return f"{text}, to {pressure / MEGA:g} MPa" if pressure else text


def blocks(record: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every model of a record with the subject in words."""
    for key, block in record.items():
        if isinstance(block, dict) and "source" in block:
            yield key.replace("_", " "), block


def models(record: dict[str, Any]) -> str:
    """The table of models."""
    rows = ([subject, block.get("name", ""), span(block["valid"]) if "valid" in block else "", cite(block["source"])] for subject, block in blocks(record))
    return table(["subject", "model", "range", "source"], rows)


def uncertainties(record: dict[str, Any]) -> str:
    """What the sources state, in their words."""
    notes = [(subject, block["uncertainty"]["note"]) for subject, block in blocks(record) if isinstance(block.get("uncertainty"), dict)]
    judged = record.get("judged_uncertainty")
    if judged:
        notes.append(("density, speed of sound and heat capacity elsewhere", f"{judged['note']} {judgement(judged)}"))
    return "\n".join(f"- {subject}: {note}" for subject, note in notes)


def judgement(judged: dict[str, Any]) -> str:
    """What this project judges of every property, phase by phase."""
    quantities = ("density", "speed_of_sound", "specific_isobaric_heat_capacity")

    def figures(regions: list[dict[str, Any]]) -> str:
        return ", ".join(f"{percent(region['relative'])} {region.get('phase', 'otherwise')}" for region in regions)

    return "; ".join(f"{quantity.replace('_', ' ')} {figures(judged[quantity])}" for quantity in quantities) + "."


def comparisons(record: dict[str, Any]) -> str:
    """What comparisons of this project bound where the authors' figures could not be read."""
    known = record.get("equation_of_state", {}).get("uncertainty", {}).get("compared", [])
    names = {"pressure": "vapour pressure"}
    rows = (
        [names.get(c["quantity"], c["quantity"].replace("_", " ") + " of the boiling liquid"), c["against"], span(c), percent(c["largest"])]
        for c in known
    )
    return table(["quantity", "against", "range", "largest"], rows) if known else ""


def published(name: str) -> list[Published]:
    """The published values kept with the tests that a temperature and a density or pressure fix."""
    found = []
    fluid = dp.Fluid(name)
    for path in sorted(VECTORS.glob("*.json")):
        document = json.loads(path.read_text("utf-8"))
        if document.get("fluid") != name:
            continue
        for test in document.get("tests", []):
            value = compare(fluid, document, test)
            if value is not None:
                found.append(value)
    return found


def compare(fluid: dp.Fluid, document: dict[str, Any], test: dict[str, Any]) -> Published | None:
    """One published value against the library; nothing where it is no property of one phase."""
    quantity = test.get("quantity", document.get("quantity"))
    if test.get("phase") == "solid" or not test["value"]:
        return None
    try:
        state = state_of(fluid, test)
        value = value_of(state, quantity)
    except (dp.DensepathError, AttributeError, KeyError):
        return None
    source = document["sources"][test["source"]]
    return Published(quantity, f"{source['author'].split(',')[0]} {source['year']}", state.temperature, state.pressure, value / test["value"] - 1.0)


def state_of(fluid: dp.Fluid, test: dict[str, Any]) -> dp.State:
    """The state of a published value."""
    if test.get("line") == "saturation":
        given = {"temperature": test["T / K"]} if "T / K" in test else {"pressure": test["p / Pa"]}
        return getattr(fluid.saturation(**given), test["phase"])
    if "p / Pa" in test:
        return fluid.state(temperature=test["T / K"], pressure=test["p / Pa"])
    density = test["rho_m / (mol/m3)"] * fluid.molar_mass if "rho_m / (mol/m3)" in test else test["rho / (kg/m3)"]
    return fluid.state(temperature=test["T / K"], density=density)


def value_of(state: dp.State, quantity: str) -> float:
    """A property by its name, molar ones too."""
    if not quantity.startswith("molar_"):
        return float(getattr(state, quantity))
    if quantity == "molar_density":
        return state.density / state.fluid.molar_mass
    return value_of(state, "specific_" + quantity.removeprefix("molar_")) * state.fluid.molar_mass


def draw(fluid: dp.Fluid, values: list[Published], path: Path) -> None:
    """The picture of a page: where liquid, vapour and the published values lie, and the deviations from these."""
    figure, (plane, deviations) = plt.subplots(1, 2, figsize=(9.0, 3.4), layout="constrained")
    draw_plane(fluid, values, plane)
    draw_deviations(values, deviations)
    figure.savefig(path, dpi=90, metadata={"Software": None})
    plt.close(figure)


def draw_plane(fluid: dp.Fluid, values: list[Published], axes: Axes) -> None:
    low, high = fluid.saturation_range
    temperatures = high - (high - low) * np.linspace(1.0, 1e-3, 60)
    try:
        axes.plot(temperatures, [fluid.saturation(temperature=t).pressure / MEGA for t in temperatures], color=INK, lw=1.4, label="vapour pressure")
        point = fluid.critical_point()
        axes.plot(point.temperature, point.pressure / MEGA, "o", color=INK, ms=5, label="critical point")
    except dp.DensepathError:
        pass
    axes.plot([v.temperature for v in values], [v.pressure / MEGA for v in values], ".", color=ACCENT, ms=4, label="published values")
    axes.set(yscale="log", xlabel="temperature [K]", ylabel="pressure [MPa]")
    axes.legend(frameon=False, fontsize=7)


def draw_deviations(values: list[Published], axes: Axes) -> None:
    kinds = defaultdict(list)
    for value in values:
        kinds[value.quantity].append(value)
    for marker, (quantity, members) in zip(MARKERS, sorted(kinds.items()), strict=False):
        sizes = [max(abs(member.deviation), 1e-9) for member in members]
        axes.plot([member.temperature for member in members], sizes, marker, ms=4, mfc="none", label=quantity.replace("_", " "))
    axes.set(yscale="log", xlabel="temperature [K]", ylabel="size of the relative deviation from published values")
    axes.yaxis.label.set_fontsize(8)
    if kinds:
        axes.legend(frameon=False, fontsize=7)


def deviations(values: list[Published]) -> str:
    """Deviations by quantity and source."""
    groups: dict[tuple[str, str], list[float]] = defaultdict(list)
    for value in values:
        groups[value.quantity.replace("_", " "), value.source].append(value.deviation)
    rows = (
        [quantity, source, str(len(found)), percent(np.median(np.abs(found))), percent(np.mean(found)), percent(np.max(np.abs(found)))]
        for (quantity, source), found in sorted(groups.items())
    )
    return table(["quantity", "source", "values", "median", "bias", "largest"], rows)


def cubic(block: dict[str, Any]) -> str:
    """How far the cubic equation is from what its constants were fitted to."""
    kinds = (key for key in ("vapour_pressure", "liquid_density") if key in block)
    rows = ([key.replace("_", " "), block[key]["against"], span(block[key]), percent(block[key]["mean"]), percent(block[key]["greatest"])] for key in kinds)
    return table(["quantity", "against", "range", "mean", "largest"], rows)


def measured(name: str) -> str:
    """Deviations of an equation of this project from the measurements, paper by paper; empty for other substances."""
    path = MEASURED / f"{name}_deviations.csv"
    if not path.exists():
        return ""
    with path.open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    return table(head, rows)


def measurements(fluid: dp.Fluid, file: str) -> list[Published]:
    """The open measurements of a substance that a temperature and a pressure fix, the paper as their source."""
    found = []
    for folder in MEASUREMENTS:
        path = folder / f"{file}.csv"
        if not path.exists():
            continue
        with path.open(encoding="utf-8", newline="") as opened:
            for row in csv.DictReader(opened):
                try:
                    found.append(measurement(fluid, row))
                except (dp.DensepathError, AttributeError, ValueError):
                    # A line of two phases has no state of one, a row may lack its pressure, and a fluid the model.
                    continue
    return found


def measurement(fluid: dp.Fluid, row: dict[str, str]) -> Published:
    """One measurement against the library."""
    quantity, temperature = row["quantity"].replace(" ", "_"), float(row["T / K"])
    if quantity == "vapour_pressure":
        pressure = value = fluid.saturation(temperature=temperature).pressure
    else:
        pressure = float(row["p / Pa"])
        state = fluid.state(temperature=temperature, pressure=pressure)
        value = state.specific_isobaric_heat_capacity * fluid.molar_mass if quantity == "molar_isobaric_heat_capacity" else float(getattr(state, quantity))
    return Published(quantity, row["doi"], temperature, pressure, value / float(row["value (SI)"]) - 1.0)


def draw_measurements(values: list[Published], path: Path) -> None:
    """Deviations from measurements over temperature, one field for each quantity and one mark for each paper."""
    quantities = sorted({value.quantity for value in values})
    papers = sorted({value.source for value in values})
    rows = -(-len(quantities) // COLUMNS)
    size = (4.8 * min(len(quantities), COLUMNS), 3.4 * rows + 0.18 * (len(papers) / COLUMNS + 1))
    figure, fields = plt.subplots(rows, min(len(quantities), COLUMNS), figsize=size, layout="constrained", squeeze=False)
    for axes in fields.flat[len(quantities) :]:
        axes.remove()
    for axes, quantity in zip(fields.flat, quantities, strict=False):
        for index, doi in enumerate(papers):
            members = [value for value in values if (value.quantity, value.source) == (quantity, doi)]
            style = {"marker": MARKERS[index % len(MARKERS)], "color": f"C{index % 10}", "ls": "", "ms": 4, "mfc": "none"}
            axes.plot([member.temperature for member in members], [100.0 * member.deviation for member in members], **style)
        axes.axhline(0.0, color=SHADE, lw=0.8)
        axes.set(xlabel="temperature [K]", ylabel=f"deviation of the {quantity.replace('_', ' ')} [%]")
    lines = fields.flat[0].get_lines()[: len(papers)]
    figure.legend(lines, papers, loc="outside lower center", frameon=False, fontsize=8, ncols=min(len(papers), 3))
    figure.savefig(path, dpi=90, metadata={"Software": None})
    plt.close(figure)


def percent(share: float) -> str:
    """A share in percent with two digits."""
    return "0 %" if share == 0.0 else f"{100.0 * float(f'{share:.1e}'):g} %"


def title(name: str) -> str:
    """A name with a capital behind what only counts or places: n-Butane, 1,4-Dioxane, N,N-Dimethylformamide."""
    match = re.match(r"(?:(?:n|N,N|[0-9,]+)-)?", name)
    start = match.end() if match else 0
    return name[:start] + name[start].upper() + name[start + 1 :]


def facts(fluid: dp.Fluid, record: dict[str, Any]) -> str:
    """Names and fixed points."""
    lines = [f"Formula {fluid.formula}, CAS registry number {fluid.cas_number}, molar mass {1e3 * fluid.molar_mass:.6g} g/mol."]
    if record["aliases"]:
        lines.append(f"Also called {', '.join(record['aliases'])}.")
    point = fluid.critical_point()
    lines.append(f"Critical point: {point.temperature:.6g} K, {point.pressure / MEGA:.6g} MPa, {point.density:.5g} kg/m3.")
    lines.append(f"Model: {fluid.model}; from {fluid.temperature_range[0]:g} to {fluid.temperature_range[1]:g} K, to {fluid.pressure_max / MEGA:g} MPa.")
    return "\n".join(lines)


def page(record: dict[str, Any]) -> str:
    """A page in Markdown; its picture is written beside it."""
    fluid = dp.Fluid(record["name"])
    values = published(record["name"])
    parts = [f"# {title(record['name'])}", facts(fluid, record), "## Models", models(record)]
    if stated := uncertainties(record):
        parts += ["## Uncertainty, as the sources state it", stated]
    if bounds := comparisons(record):
        parts += ["## Uncertainty, as comparisons of this project bound it", bounds]
    if "cubic" in record:
        parts += ["## Deviations of the cubic equation", cubic(record["cubic"])]
    if table_of_measurements := measured(record["name"]):
        parts += ["## Deviations from measurements, paper by paper", table_of_measurements]
    if open_data := measurements(fluid, record["file"]):
        picture = f"{record['file']}_measured.png"
        draw_measurements(open_data, OUTPUT / picture)
        parts += [
            "## Deviations from open measurements",
            f"![Deviations from measurements, a mark for each paper]({picture})",
            deviations(open_data),
            "Measurements of one phase and vapour pressures from the NIST ThermoML archive, converted public copy; the source is the doi of the paper.",
        ]
    parts.append("## Deviations from published values")
    if values:
        picture = f"{record['file']}.png"
        draw(fluid, values, OUTPUT / picture)
        parts += [f"![Where the published values lie, and the deviations from them]({picture})", deviations(values)]
    else:
        parts.append("The project keeps no published values of this substance.")
    parts.append("Written by `cargo xtask pages`; the words come from the data record, the numbers from the library.")
    return "\n\n".join(parts) + "\n"


def main() -> None:
    """Writes every page and the list of them."""
    OUTPUT.mkdir(exist_ok=True)
    listed = []
    for record in records():
        (OUTPUT / f"{record['file']}.md").write_text(page(record), "utf-8")
        fluid = dp.Fluid(record["name"])
        listed.append([f"[{record['name']}]({record['file'].replace(' ', '%20')}.md)", fluid.model, f"{fluid.temperature_range[0]:g} to {fluid.temperature_range[1]:g} K"])
        print(f"{record['name']}: {OUTPUT / record['file']}.md")
    index = ["# Substances", table(["substance", "equation of state", "range"], listed)]
    (OUTPUT / "README.md").write_text("\n\n".join(index) + "\n", "utf-8")


if __name__ == "__main__":
    sys.exit(main())
