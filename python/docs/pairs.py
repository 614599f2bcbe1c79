"""Writes a page for every pair of substances: its models with range and sources, and how far they are from the measurements.

`cargo xtask pages` runs it in the environment of the Python module. The words come from the data records, the measurements from the
data of the fits, the calculated numbers from the library.
"""

from __future__ import annotations

import csv
import json
import math
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np

mpl.use("agg")
import matplotlib.pyplot as plt
from matplotlib.axes import Axes
from pages import ACCENT, INK, MEGA, ROOT, SHADE, cite, percent, table

import densepath as dp

RECORDS = ROOT / "crates" / "densepath-fluid" / "data" / "binary"
MEASURED = ROOT / "crates" / "densepath-fit" / "data" / "pairs"
OUTPUT = Path(__file__).parent / "pairs"

KINDS = {"multi_fluid": "multi-fluid", "cubic": "cubic"}
MARKERS = "osD^v<>phdX*P8"
# Ratio of a calculated to a measured pressure from which on it is another border than the one measured.
FARTHEST = 2.5
FILLS = ("none", INK, "#b9c4cd")


@dataclass(frozen=True)
class Row:
    """One measurement: SI units, the amount fraction of the first substance."""

    quantity: str
    temperature: float
    pressure: float
    fraction: float
    value: float
    series: str
    discordant: bool


@dataclass(frozen=True)
class Deviation:
    """One measurement with what an equation gives for it, calculated over measured less one; not a number where it gives nothing. A dew
    point stands for a bubble point where the composition lies beyond the equation's critical point."""

    row: Row
    deviation: float
    is_dew: bool = False


def measurements(stem: str, names: list[str]) -> list[Row]:
    """The measurements of a pair; none where the project keeps no file."""
    path = MEASURED / f"{stem}.csv"
    if not path.exists():
        return []
    turned = not stem.startswith(names[0].replace(" ", "_"))
    with path.open(encoding="utf-8", newline="") as file:
        return [
            Row(
                row["quantity"],
                float(row["temperature"]),
                float(row["pressure"] or "nan"),
                1.0 - float(row["fraction"] or "nan") if turned else float(row["fraction"] or "nan"),
                float(row["value"] or "nan"),
                row["series"],
                row["flag"] == "discordant",
            )
            for row in csv.DictReader(file)
        ]


def liquid_density(fluid: dp.Fluid, names: list[str], row: Row) -> float:
    """The density of the phase that was measured. Many are liquids at their bubble pressure: where an equation has that pressure a little
    higher it sees bubbles already, and the liquid at its own bubble pressure is what to compare."""
    if row.fraction in (0.0, 1.0):
        saturation = dp.Fluid(names[0] if row.fraction == 1.0 else names[1]).saturation(temperature=row.temperature)
        if abs(saturation.pressure / row.pressure - 1.0) < 0.05:
            return saturation.liquid.density
    state = fluid.state(temperature=row.temperature, pressure=row.pressure)
    if state.phase == "liquid + vapour":
        return fluid.bubble_point(temperature=row.temperature).liquid.density
    return state.density


def boundary(fluid: dp.Fluid, row: Row) -> tuple[float, bool]:
    """The pressure of the boundary that was measured, and whether the equation has a dew point there: the nearest bubble point, else the
    nearest dew point, as the fits choose."""
    found = fluid.phase_boundaries(temperature=row.temperature)
    near = [b for b in found if 1.0 / FARTHEST < b.pressure / row.pressure < FARTHEST]
    chosen = [b for b in near if b.kind == "bubble"] or near
    if not chosen:
        return math.nan, False
    nearest = min(chosen, key=lambda b: abs(math.log(b.pressure / row.pressure)))
    return nearest.pressure, nearest.kind == "dew"


def compare(names: list[str], model: str, rows: list[Row]) -> Iterator[Deviation]:
    """Densities and bubble pressures against an equation."""
    for row in rows:
        if row.quantity not in ("density", "bubble_pressure"):
            continue
        fluid = dp.Fluid({names[0]: row.fraction, names[1]: 1.0 - row.fraction}, model=model, extrapolate=True)
        is_dew = False
        try:
            if row.quantity == "density":
                deviation = liquid_density(fluid, names, row) / row.value - 1.0
            elif row.fraction in (0.0, 1.0):
                deviation = fluid.bubble_point(temperature=row.temperature).pressure / row.pressure - 1.0
            else:
                pressure, is_dew = boundary(fluid, row)
                deviation = pressure / row.pressure - 1.0
        except dp.DensepathError:
            deviation = math.nan
        yield Deviation(row, deviation, is_dew)


def symbols(rows: list[Row]) -> dict[str, dict[str, Any]]:
    """A symbol for every series, told apart by form and filling, so that no colour is needed."""
    series = sorted({row.series for row in rows})
    return {
        name: {"marker": MARKERS[place % len(MARKERS)], "mfc": FILLS[(place // len(MARKERS)) % len(FILLS)], "mec": INK, "ls": "", "ms": 4, "mew": 0.7}
        for place, name in enumerate(series)
    }


def draw(names: list[str], model: str, found: list[Deviation], rows: list[Row], sources: dict[str, Any], path: Path) -> None:
    """The picture of a page: deviations of density and bubble pressure, and the critical line."""
    figure, axes = plt.subplots(1, 3, figsize=(12.0, 5.2), layout="constrained")
    marks = symbols(rows)
    draw_deviations(axes[0], found, "density", marks, lambda row: row.pressure / MEGA, "pressure [MPa]")
    draw_deviations(axes[1], found, "bubble_pressure", marks, lambda row: row.fraction, f"amount fraction of {names[0]}")
    draw_critical_line(axes[2], names, model, rows, marks)
    handles = [mpl.lines.Line2D([], [], **mark) for mark in marks.values()]
    labels = [short(name, sources) for name in marks]
    if handles:
        figure.legend(handles, labels, loc="outside lower center", ncols=3, fontsize=9, frameon=False)
    figure.savefig(path, dpi=90, metadata={"Software": None})
    plt.close(figure)


def draw_deviations(axes: Axes, found: list[Deviation], quantity: str, marks: dict[str, dict[str, Any]], place: Any, label: str) -> None:
    groups: dict[tuple[str, bool], list[Deviation]] = defaultdict(list)
    for item in found:
        if item.row.quantity == quantity:
            groups[item.row.series, item.row.discordant].append(item)
    for (series, discordant), members in groups.items():
        style = marks[series] | ({"mec": SHADE, "alpha": 0.35} if discordant else {})
        axes.plot([place(m.row) for m in members], [100.0 * m.deviation for m in members], **style)
    axes.axhline(0.0, color=INK, lw=0.8)
    axes.set(xlabel=label, title=quantity.replace("_", " "))
    axes.set_ylabel("calculated less measured [%]", fontsize=8)
    if not groups:
        axes.text(0.5, 0.5, "no measurement kept", ha="center", va="center", transform=axes.transAxes, color=SHADE)


def draw_critical_line(axes: Axes, names: list[str], model: str, rows: list[Row], marks: dict[str, dict[str, Any]]) -> None:
    for branch in dp.critical_locus(names[0], names[1], model=model).branches:
        stable = branch.points.stable > 0.5
        axes.plot(branch.temperature, np.where(stable, branch.pressure / MEGA, np.nan), color=INK, lw=1.3)
    for row in rows:
        if row.quantity == "critical_point":
            axes.plot(row.temperature, row.pressure / MEGA, **marks[row.series])
        elif row.quantity == "critical_pressure_bound":
            # The critical pressure lies above it.
            axes.plot(row.temperature, row.pressure / MEGA, **(marks[row.series] | {"mec": ACCENT}))
            axes.annotate("", (row.temperature, 1.06 * row.pressure / MEGA), (row.temperature, row.pressure / MEGA), arrowprops={"arrowstyle": "->", "lw": 0.6, "color": ACCENT})
    axes.set(xlabel="temperature [K]", ylabel="pressure [MPa]", title="critical line; lower bounds with an arrow", xlim=(240.0, None), ylim=(0.0, 40.0))


def short(series: str, sources: dict[str, Any]) -> str:
    """A series in a few words."""
    known = sources.get(series, {})
    text = known.get("source", series)
    author = text.split(";")[0].split(",")[0]
    return f"{author[:34]}, {series}" if series.startswith("10.") else series[:60]


def by_paper(found: list[Deviation], sources: dict[str, Any]) -> str:
    """Deviations paper by paper."""
    groups: dict[tuple[str, str], list[Deviation]] = defaultdict(list)
    for item in found:
        groups[item.row.quantity, item.row.series].append(item)
    rows = []
    for (quantity, series), members in sorted(groups.items()):
        values = np.array([m.deviation for m in members])
        known = values[np.isfinite(values)]
        doi = sources.get(series, {}).get("doi")
        source = sources.get(series, {}).get("source", series or "unknown")
        cell = f"{source}, [doi {doi}](https://doi.org/{doi})" if doi else source
        left_out = sum(m.row.discordant for m in members)
        numbers = [percent(float(np.median(np.abs(known)))), percent(float(np.mean(np.abs(known)))), percent(float(np.mean(known))), percent(float(np.max(np.abs(known))))] if known.size else [""] * 4
        dews = sum(m.is_dew for m in members)
        counts = [len(members), len(values) - known.size, dews, left_out]
        rows.append([quantity.replace("_", " "), cell, *map(str, counts), *numbers])
    return table(["quantity", "source", "rows", "without a value", "by a dew point", "discordant, not fitted", "median", "mean", "bias", "largest"], rows)


def models(record: dict[str, Any]) -> str:
    """The equations that the pair has parameters for."""
    rows = []
    for key, kind in KINDS.items():
        if block := record.get(key):
            evidence = block.get("evidence")
            rows.append([kind, block["name"], box(evidence["valid"], record["substances"][0]) if evidence else "published, not compared here", cite(block["source"])])
    return table(["equation", "parameters", "box of the measurements", "source"], rows)


def box(valid: dict[str, float], first: str) -> str:
    return (
        f"{valid['T_min / K']:g} to {valid['T_max / K']:g} K, to {valid['p_max / Pa'] / MEGA:g} MPa, "
        f"amount fraction of {first} {valid['x_min']:g} to {valid['x_max']:g}"
    )


def uncertainties(record: dict[str, Any]) -> str:
    """What is stated of the uncertainty, relative."""
    names = ("density", "density_near_critical", "density_outside", "bubble_pressure", "bubble_pressure_outside")
    rows, notes = [], set()
    for key, kind in KINDS.items():
        stated = (record.get(key) or {}).get("evidence", {}) or {}
        stated = stated.get("uncertainty", {})
        if stated:
            rows.append([kind, *(percent(stated[name]) if stated.get(name) else "unknown" for name in names)])
            notes.add(stated.get("note", ""))
    if not rows:
        return "None is stated: the parameters are published, and the project keeps no measurements to compare them with."
    head = ["equation", "density", "density near critical", "density outside", "bubble pressure", "bubble pressure outside"]
    return "\n\n".join([table(head, rows), *sorted(note for note in notes if note)])


def false_limit(record: dict[str, Any]) -> list[str]:
    """Where dense mixtures of the multi-fluid equation are unstable though none part."""
    block = record.get("multi_fluid") or {}
    limit = block.get("false_limit_of_stability / Pa")
    if limit is None:
        return []
    told = f"Dense mixtures of the multi-fluid equation are unstable from {limit / MEGA:.0f} MPa on at some temperature from 220 K, which no measurement tells of: "
    told += "colder states beyond are not to be trusted"
    return [told + (", and pressures above 0.8 of it are refused unless asked for." if block.get("evidence") is None else ".")]


def page(record: dict[str, Any], sources: dict[str, Any], note: str | None) -> str:
    """A page in Markdown with a note on its measurements; its picture is written beside it."""
    names, stem = record["substances"], record["file"]
    rows = measurements(stem, names)
    kinds = [kind for key, kind in KINDS.items() if record.get(key)]
    compared = {kind: list(compare(names, kind, rows)) for kind in kinds}
    draw(names, kinds[0], compared[kinds[0]], rows, sources, OUTPUT / f"{stem}.png")
    parts = [
        f"# {names[0].capitalize()} + {names[1]}",
        "## Equations",
        models(record),
        "## Uncertainty",
        uncertainties(record),
        *false_limit(record),
        f"![Deviations of the {kinds[0]} equation and its critical line]({stem.replace(' ', '%20')}.png)",
        f"The picture shows the {kinds[0]} equation; a symbol stands for a paper, pale ones are rows that disagree with all others and were not fitted.",
    ]
    for kind in kinds:
        if compared[kind]:
            parts += [f"## Deviations of the {kind} equation, paper by paper", by_paper(compared[kind], sources)]
            if any(item.is_dew for item in compared[kind]):
                parts.append("By a dew point: so many rows for which the equation has no bubble point, mostly since the composition lies beyond its critical point; its dew point is compared.")
    if note:
        parts += ["## What stands in the way of smaller deviations", note]
    if not rows:
        parts.append("The project keeps no measurements of this pair.")
    parts.append("Written by `cargo xtask pages`; the words come from the data record and the notes beside the measurements, the calculated numbers from the library.")
    return "\n\n".join(parts) + "\n"


def heats_of_mixing() -> list[str]:
    """Excess molar enthalpies in J/mol of carbon dioxide with modifiers, by the equations that answer by default."""
    temperature, pressure, fractions = 313.15, 15e6, [0.1, 0.3, 0.5, 0.7, 0.9]

    def molar_enthalpy(amounts: dict[str, float]) -> float:
        fluid = dp.Fluid(amounts)
        return fluid.state(temperature=temperature, pressure=pressure).specific_enthalpy * fluid.molar_mass

    rows = []
    for modifier in ["methanol", "ethanol", "propan-2-ol", "acetone"]:
        alone = [molar_enthalpy({name: 1.0}) for name in ("carbon dioxide", modifier)]
        mixed = [molar_enthalpy({"carbon dioxide": 1.0 - x, modifier: x}) for x in fractions]
        rows.append([modifier, *(f"{h - (1.0 - x) * alone[0] - x * alone[1]:.0f}" for x, h in zip(fractions, mixed, strict=True))])
    return [
        "## Heats of mixing",
        f"Excess molar enthalpy in J/mol at {temperature} K and {pressure / MEGA:.0f} MPa against the amount fraction of the modifier in carbon dioxide:",
        table(["modifier", *map(str, fractions)], rows),
        "They fall out of the equations, which no calorimetric measurement has taken part in: no open table of excess enthalpies of carbon dioxide with a "
        "modifier was found (searched in November 2026), and none is compared. Measurements are in print, of which abstracts alone could "
        "be read, as of carbon dioxide with aqueous ethanol at 323.15 K, 7.64 and 15 MPa (J. Supercrit. Fluids 36, 23 (2005)). How far the values are off is not known; two fits of methanol to the same measurements differ by up to 58 J/mol here.",
    ]


def main() -> None:
    """Writes every page and the list of them."""
    OUTPUT.mkdir(exist_ok=True)
    sources = json.loads((MEASURED / "sources.json").read_text("utf-8"))
    notes = json.loads((MEASURED / "notes.json").read_text("utf-8"))
    listed = []
    for path in sorted(RECORDS.glob("*.json")):
        record = json.loads(path.read_text("utf-8")) | {"file": path.stem}
        (OUTPUT / f"{path.stem}.md").write_text(page(record, sources, notes.get(path.stem)), "utf-8")
        pair = " + ".join(record["substances"])
        listed.append([f"[{pair}]({path.stem.replace(' ', '%20')}.md)", ", ".join(kind for key, kind in KINDS.items() if record.get(key))])
        print(f"{pair}: {OUTPUT / path.stem}.md")
    _, side_by_side = (MEASURED / "scores.md").read_text("utf-8").split("# Equations side by side\n")
    parts = ["# Pairs of substances", table(["pair", "equations"], listed), "## Equations side by side", side_by_side.strip(), *heats_of_mixing()]
    (OUTPUT / "README.md").write_text("\n\n".join(parts) + "\n", "utf-8")


if __name__ == "__main__":
    sys.exit(main())
