"""Permittivity, surface tension and molar refraction of liquids from handbook tables, as the Python package `chemicals` carries them.

`python python/fitting/liquids.py` makes the coefficients anew and writes them to the data records; with `--check` it compares the stored ones
instead. The range and the exponents of each stay as they are in the record.

- Permittivity of the form `liquid`: the polynomial of the CRC Handbook, table "Permittivity (dielectric constant) of liquids", is turned to
  Kirkwood's function over the molar density of the boiling liquid, and that is fitted by powers of the temperature, relative deviations
  weighted alike.
- Surface tension of the VDI Heat Atlas: the coefficients of its table. By Sastri and Rao 1995: their formula from the boiling temperature that
  the note of the record names and its critical point, which is one power of `1 - T/T_c`. The line of Jasper 1972: fitted by such a power.
- Molar refraction: from the refractive index in the note of the record, which is that of the CRC Handbook, table "Physical constants of
  organic compounds", and the density of the equation of state at 101325 Pa, or boiling. Molar volume of a solvent: of its
  boiling liquid at 101325 Pa.

Beside the environment of the Python module it needs `chemicals` 1.5.2.
"""

from __future__ import annotations

import csv
import json
import re
import sys
from pathlib import Path
from typing import Any

import chemicals
import numpy as np

import densepath as dp

RECORDS = Path(__file__).parents[2] / "crates" / "densepath-fluid" / "data" / "fluids"
TABLES = Path(chemicals.__file__).parent
POINTS = 60
PRESSURE = 101325.0
PHYSICAL_CONSTANTS = "Physical constants of organic compounds"
BOILING = "Of the boiling liquid at 101325 Pa, from the equation of state."
# Digits of the coefficients.
DIGITS = 6
# Exponent of Sastri and Rao 1995 for substances that are neither alcohols nor acids.
SASTRI_RAO = 11.0 / 9.0


def table(name: str) -> dict[str, list[str]]:
    """The rows of a table of `chemicals` by registry number."""
    with (TABLES / name).open(encoding="utf-8", newline="") as file:
        return {row[0]: row for row in csv.reader(file, delimiter="\t")}


def kirkwood(permittivity: np.ndarray) -> np.ndarray:
    """Kirkwood's function of a relative permittivity."""
    return (permittivity - 1.0) * (2.0 * permittivity + 1.0) / (9.0 * permittivity)


def permittivity(record: dict[str, Any], row: list[str]) -> list[list[float]]:
    """The powers of A, cm3/mol, of a record from the row of the table."""
    fluid, block = dp.Fluid(record["name"]), record["relative_permittivity"]
    low = max(float(row[8]), block["valid"]["T_min / K"], fluid.saturation_range[0])
    high = min(float(row[9]), block["valid"]["T_max / K"])
    temperature = np.linspace(low, high, POINTS)
    density = np.array([fluid.saturation(temperature=t).liquid.density for t in temperature]) / fluid.molar_mass
    polynomial = sum(float(c or 0.0) * temperature**power for power, c in enumerate(row[4:8]))
    wanted = 1e6 * kirkwood(np.asarray(polynomial)) / density
    form = block["equation"]["A / (cm3/mol)"]
    exponents = [power for _, power in form["numerator"]["powers"]]
    matrix = np.array([(temperature / form["T_reducing / K"]) ** power for power in exponents]).T
    found, *_ = np.linalg.lstsq(matrix / wanted[:, None], np.ones(POINTS), rcond=None)
    missed = np.max(np.abs(matrix @ found / wanted - 1.0))
    print(f"{record['name']}: permittivity from {low:g} to {high:g} K, Kirkwood's function within {100.0 * missed:.2f} %")
    return [[round(float(c), DIGITS), power] for c, power in zip(found, exponents, strict=True)]


def surface_tension(record: dict[str, Any], tables: dict[str, dict[str, list[str]]]) -> tuple[list[float], list[float]] | None:
    """Coefficients in N/m and exponents of a surface tension that follows from a table or a formula."""
    block = record["surface_tension"]
    name, critical = block["name"], block["T_c / K"]
    if name.startswith("equation of the VDI"):
        numbers = [float(cell or 0.0) for cell in tables["vdi"][record["cas_number"]][4:]]
        # A + B T_r + C T_r^2 + D T_r^3 is the exponent of the table; all of these substances have B alone.
        return [numbers[0]], [numbers[1]]
    if name.startswith("corresponding states of Sastri"):
        boiling = float(re.search(r"boiling temperature ([0-9.]+) K", block["source"]["note"])[1])  # type: ignore[index]
        pressure = record["cubic"]["p_critical / Pa"]
        value = chemicals.Sastri_Rao(boiling, boiling, critical, pressure)
        return [round(value / (1.0 - boiling / critical) ** SASTRI_RAO, DIGITS)], [round(SASTRI_RAO, DIGITS)]
    if name.startswith("power law through the line of Jasper"):
        a, b, low, high = (float(cell) for cell in tables["jasper"][record["cas_number"]][2:6])
        temperature = np.linspace(max(low, block["valid"]["T_min / K"]), high, POINTS)
        line = 1e-3 * (a - b * (temperature - 273.15))
        slope, level = np.polyfit(np.log(1.0 - temperature / critical), np.log(line), 1)
        return [round(float(np.exp(level)), DIGITS)], [round(float(slope), 5)]
    return None


def refraction(record: dict[str, Any]) -> float:
    """The molar refraction in cm3/mol that gives the index which the note of a record names."""
    found = re.search(r"n_D = ([0-9.]+) at ([0-9.]+) K", record["refractivity"]["uncertainty"]["note"])
    assert found
    index, temperature = map(float, found.groups())
    fluid = dp.Fluid(record["name"])
    boiling = fluid.saturation(temperature=temperature)
    liquid = boiling.liquid if boiling.pressure > PRESSURE else fluid.state(temperature=temperature, pressure=PRESSURE)
    density = liquid.density / fluid.molar_mass
    return float(f"{1e6 * (index**2 - 1.0) / (index**2 + 2.0) / density:.6g}")


def boiling_volume(record: dict[str, Any]) -> float | None:
    """The molar volume of the boiling liquid in m3/mol; nothing for a solid that has none at the pressure of the air."""
    fluid = dp.Fluid(record["name"])
    if fluid.saturation(temperature=fluid.saturation_range[0]).pressure > PRESSURE:
        return None
    return float(f"{fluid.molar_mass / fluid.saturation(pressure=PRESSURE).liquid.density:.4g}")


def lists(numbers: list[Any]) -> str:
    """A list as the records write it."""
    return "[" + ", ".join(lists(n) if isinstance(n, list) else f"{n:g}" if float(n).is_integer() else repr(n) for n in numbers) + "]"


def put(text: str, block: str, key: str, value: str) -> str:
    """The text with the value of a key inside of a block replaced."""
    start = text.index(f'"{block}"')
    place = re.compile(rf'("{re.escape(key)}": )(\[(?:[^\[\]]|\[[^\[\]]*\])*\]|[0-9.e+-]+)')
    match = place.search(text, start)
    assert match
    return text[: match.start()] + match[1] + value + text[match.end() :]


def renewed(text: str, tables: dict[str, dict[str, list[str]]]) -> str:
    """The text of a record with both made anew."""
    record = json.loads(text)
    block = record.get("relative_permittivity")
    row = tables["permittivity"].get(record["cas_number"])
    if block and block["equation"]["form"] == "liquid" and row and row[8]:
        text = put(text, "relative_permittivity", "powers", lists(permittivity(record, row)))
    if "surface_tension" in record and (found := surface_tension(record, tables)):
        stored = record["surface_tension"]["terms / (N/m)"]
        if (stored["n"], stored["t"]) != found:
            text = put(put(text, "surface_tension", "n", lists(found[0])), "surface_tension", "t", lists(found[1]))
        print(f"{record['name']}: surface tension {found}")
    stored = record.get("refractivity")
    if stored and stored["source"]["title"] == PHYSICAL_CONSTANTS:
        text = put(text, "refractivity", "R / (cm3/mol)", repr(refraction(record)))
    if record.get("diffusion_solvent", {}).get("note") == BOILING and (volume := boiling_volume(record)):
        text = put(text, "diffusion_solvent", "V / (m3/mol)", repr(volume))
    return text


def main() -> None:
    """Writes what follows from the tables, or compares it with what is stored."""
    check = "--check" in sys.argv[1:]
    tables = {
        "permittivity": table("Electrolytes/Permittivity (Dielectric Constant) of Liquids.tsv"),
        "vdi": table("Interface/VDI PPDS surface tensions.tsv"),
        "jasper": table("Interface/Jasper-Lange.tsv"),
    }
    for path in sorted(RECORDS.glob("*.json")):
        text = path.read_text("utf-8")
        written = renewed(text, tables)
        if check and written != text:
            sys.exit(f"{path}: another result is stored")
        if written != text:
            json.loads(written)
            path.write_text(written, "utf-8")


if __name__ == "__main__":
    main()
