"""The numbers of the Rust interface, to the last bit: `cargo xtask test` writes them to a folder that it names."""

from __future__ import annotations

import csv
import json
import math
import os
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest

import densepath as dp
from densepath import ufuncs

METHODS = Path(__file__).parent.parent / "methods"


@pytest.fixture(scope="module")
def reference() -> Path:
    folder = os.environ.get("DENSEPATH_REFERENCE")
    if folder is None:
        pytest.skip("DENSEPATH_REFERENCE names no folder; `cargo xtask test --only python` writes one")
    return Path(folder)


def same(left: float, right: float) -> bool:
    return left == right or (math.isnan(left) and math.isnan(right))


def test_properties(reference: Path, co2: dp.Fluid) -> None:
    rows: dict[str, list[tuple[float, float, int, float]]] = defaultdict(list)
    with (reference / "values.csv").open(encoding="utf-8", newline="") as file:
        for name, temperature, pressure, status, value in csv.reader(file):
            rows[name].append((float(temperature), float(pressure), int(status), float(value)))
    assert len(rows) > 10
    for name, table in rows.items():
        temperatures, pressures, codes, values = (np.array(column) for column in zip(*table, strict=True))
        result = getattr(co2, name)(temperatures, pressures, on_error="nan")
        assert np.array_equal(result, values, equal_nan=True), name
        assert (getattr(ufuncs, f"{name}_status")(co2.identity, temperatures, pressures) == codes).all(), name
        for temperature, pressure, code, value in table[::7]:
            try:
                assert getattr(co2, name)(temperature, pressure) == value
            except dp.DensepathError as error:
                assert error.code == code


@pytest.mark.parametrize("method", ["packed", "capillary"])
def test_solutions(reference: Path, method: str) -> None:
    solution = dp.solve(METHODS / f"{method}.toml")
    assert solution.to_dict() == json.loads((reference / f"{method}.json").read_text(encoding="utf-8"))
    stations = solution.stations
    compared = 0
    with (reference / f"{method}.csv").open(encoding="utf-8", newline="") as file:
        for index, quantity, status, value in csv.reader(file):
            if quantity in stations.columns:
                assert same(stations[quantity][int(index)], float(value)), (index, quantity)
                assert (int(status) == 0) == (not math.isnan(float(value)))
                compared += 1
    assert compared == len(stations) * len(stations.units)
