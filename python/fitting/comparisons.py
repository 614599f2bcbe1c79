"""Bounds of the uncertainty where the authors of an equation could not be read: its largest deviation from evaluations of measurements.

`python python/fitting/comparisons.py` compares the vapour pressure with the Wagner equations of the VDI Heat Atlas (2010), or of McGarry
(1983) or Perry's handbook where it has none, and the heat capacity of the boiling liquid with the recommended values of Zabransky et al.
(1990 to 2010), and writes `compared` to the data record of each substance; with `--check` it compares the stored figures instead. All
evaluations are those that the Python package `chemicals` 1.5.2
carries, which this needs beside the environment of the Python module.
"""

from __future__ import annotations

import json
import math
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from chemicals import heat_capacity, vapor_pressure

import densepath as dp

RECORDS = Path(__file__).parents[2] / "crates" / "densepath-fluid" / "data" / "fluids"
# Lower vapour pressures than this in Pa were hardly measured.
LOWEST_PRESSURE = 1e3
# Share of the critical temperature above which the evaluations are not followed.
HIGHEST_SHARE = 0.98
POINTS = 80
# Highest reduced temperature of a heat capacity: it diverges at the critical point.
HIGHEST_OF_HEAT = 0.7

Curve = Callable[[float], float]


def wagner(row: dict[str, float], exponents: tuple[float, ...]) -> Curve:
    """`ln(p/p_c) = T_c/T sum n (1 - T/T_c)^t`."""

    def pressure(temperature: float) -> float:
        theta = max(1.0 - temperature / row["Tc"], 0.0)
        total = sum(row[key] * theta**power for key, power in zip("ABCD", exponents, strict=True))
        return row["Pc"] * math.exp(row["Tc"] / temperature * total)

    return pressure


def perry(row: dict[str, float]) -> Curve:
    """`ln p = C1 + C2/T + C3 ln T + C4 T^C5`."""
    return lambda t: math.exp(row["C1"] + row["C2"] / t + row["C3"] * math.log(t) + row["C4"] * t ** row["C5"])


def vapour_pressure(cas: str) -> tuple[str, Curve, float, float] | None:
    """The evaluation of a vapour pressure with its name and range in K."""
    carried = "as the Python package chemicals 1.5.2 carries it"
    tables = (
        (vapor_pressure.Psat_data_VDI_PPDS_3, (1.0, 1.5, 2.5, 5.0), "Tm", f"the Wagner equation of the VDI Heat Atlas 2010, {carried}"),
        (vapor_pressure.Psat_data_WagnerMcGarry, (1.0, 1.5, 3.0, 6.0), "Tmin", f"the Wagner equation of McGarry 1983, {carried}"),
    )
    for frame, exponents, lowest, name in tables:
        if cas in frame.index:
            row = frame.loc[cas].to_dict()
            return name, wagner(row, exponents), row[lowest], row["Tc"]
    frame = vapor_pressure.Psat_data_Perrys2_8
    if cas in frame.index:
        row = frame.loc[cas].to_dict()
        return f"table 2-8 of Perry's Chemical Engineers' Handbook, 8th edition, {carried}", perry(row), row["Tmin"], row["Tmax"]
    return None


def heat_capacity_of_liquid(cas: str) -> tuple[str, Curve, float, float] | None:
    """The recommended molar heat capacity of a boiling liquid, J/(mol K), with its name and range in K."""
    name = "the recommended values of Zabransky et al. 1990 to 2010, as the Python package chemicals 1.5.2 carries them"
    for table in (heat_capacity.zabransky_dict_iso_s, heat_capacity.zabransky_dict_const_s):
        if cas in table:
            spline = table[cas]
            pieces = getattr(spline, "models", (spline,))

            def value(temperature: float, pieces: Any = pieces) -> float:
                piece = next((piece for piece in pieces if temperature <= piece.Tmax), pieces[-1])
                return float(piece.calculate(temperature))

            return name, value, pieces[0].Tmin, pieces[-1].Tmax
    for table in (heat_capacity.zabransky_dict_iso_p, heat_capacity.zabransky_dict_const_p):
        if cas in table:
            polynomial = table[cas]
            return name, polynomial.calculate, polynomial.Tmin, polynomial.Tmax
    return None


def largest(values: Iterator[float]) -> float:
    """The largest size, rounded upwards to two digits."""
    return float(f"{1.05 * max(abs(value) for value in values):.1e}")


def of_vapour_pressure(fluid: dp.Fluid) -> dict[str, Any] | None:
    """The comparison of the vapour pressure of a fluid."""
    known = vapour_pressure(fluid.cas_number)
    if known is None:
        return None
    name, curve, low, high = known
    top = HIGHEST_SHARE * min(high, fluid.critical_point().temperature)
    lowest = max(low, fluid.saturation_range[0])
    if fluid.saturation(temperature=lowest).pressure < LOWEST_PRESSURE:
        lowest = fluid.saturation(pressure=LOWEST_PRESSURE).temperature
    found = (fluid.saturation(temperature=t).pressure / curve(t) - 1.0 for t in np.linspace(lowest, top, POINTS))
    return {"quantity": "pressure", "against": name, "T_min / K": math.ceil(lowest), "T_max / K": math.floor(top), "largest": largest(found)}


def of_heat_capacity(fluid: dp.Fluid) -> dict[str, Any] | None:
    """The comparison of the heat capacity of the boiling liquid of a fluid."""
    known = heat_capacity_of_liquid(fluid.cas_number)
    if known is None:
        return None
    name, curve, low, high = known
    lowest, top = max(low, fluid.saturation_range[0]), min(high, HIGHEST_OF_HEAT * fluid.critical_point().temperature)
    if top - lowest < 20.0:
        return None
    molar = fluid.molar_mass

    def deviation(t: float) -> float:
        return molar * fluid.saturation(temperature=t).liquid.specific_isobaric_heat_capacity / curve(t) - 1.0

    found = (deviation(t) for t in np.linspace(lowest + 1e-3, top - 1e-3, POINTS))
    return {
        "quantity": "specific_isobaric_heat_capacity",
        "against": name,
        "T_min / K": math.ceil(lowest),
        "T_max / K": math.floor(top),
        "largest": largest(found),
    }


def comparisons(record: dict[str, Any]) -> list[dict[str, Any]]:
    """What is compared of a substance: what its authors are not known to state."""
    stated = record["equation_of_state"]["uncertainty"]
    fluid = dp.Fluid(record["name"])
    wanted = [("vapour_pressure", of_vapour_pressure), ("specific_isobaric_heat_capacity", of_heat_capacity)]
    found = (compare(fluid) for key, compare in wanted if not stated.get(key))
    return [comparison for comparison in found if comparison]


def put(text: str, found: list[dict[str, Any]]) -> str:
    """The text of a record with the comparisons behind the coverage factor of the uncertainty of its equation."""
    start = text.index('"uncertainty"', text.index('"coexistence_guess"'))
    line = re.compile(r'\n( *)"coverage_factor": [0-9.]+,?')
    match = line.search(text, start)
    assert match
    indent = match[1]
    lines = ",\n".join(f"{indent}  {json.dumps(comparison, ensure_ascii=False)}" for comparison in found)
    rest = re.sub(rf'\A\n{indent}"compared": \[\n.*?\n{indent}\],?', "", text[match.end() :], count=1, flags=re.DOTALL)
    head = text[: match.end()].rstrip(",")
    more = "," if rest.lstrip().startswith('"') else ""
    return f'{head},\n{indent}"compared": [\n{lines}\n{indent}]{more}{rest}'


def main() -> None:
    """Writes the comparisons of every substance with an equation, or compares them with what is stored."""
    check = "--check" in sys.argv[1:]
    for path in sorted(RECORDS.glob("*.json")):
        text = path.read_text("utf-8")
        record = json.loads(text)
        if "equation_of_state" not in record or record["name"] == "air":
            continue
        found = comparisons(record)
        if not found:
            continue
        for comparison in found:
            print(record["name"], comparison["quantity"], comparison["largest"], comparison["T_min / K"], comparison["T_max / K"])
        written = put(text, found)
        json.loads(written)
        if check and written != text:
            sys.exit(f"{path}: stored comparisons differ")
        if not check:
            path.write_text(written, "utf-8")


if __name__ == "__main__":
    main()
