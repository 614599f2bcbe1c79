"""The reference numbers of mixtures, computed anew by the independent library."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import feos
import numpy as np
import pytest
import si_units as si

VECTORS = Path(__file__).parents[1] / "vectors" / "mixtures"
STATES = json.loads((VECTORS / "flashes.json").read_text("utf-8"))["states"]
CRITICAL = json.loads((VECTORS / "critical_points.json").read_text("utf-8"))["with_rounded_constants"]


def peng_robinson(substances: list[list[float]], k: list[float]) -> Any:
    names = [feos.Identifier(name=str(place)) for place in range(len(substances))]
    # The molar mass takes no part in amounts and molar densities.
    pure = [feos.PureRecord(name, 100.0, tc=t, pc=p, acentric_factor=omega) for name, (t, p, omega) in zip(names, substances, strict=True)]
    binary = [feos.BinaryRecord(names[i], names[j], k_ij=k[i + j - 1]) for j in range(len(names)) for i in range(j)]
    return feos.EquationOfState.peng_robinson(feos.Parameters.from_records(pure, binary))


@pytest.mark.parametrize("state", STATES, ids=lambda state: f"{state['temperature']}-{state['pressure']}")
def test_phases_of_the_independent_library(state: dict[str, Any]) -> None:
    equation = peng_robinson(state["substances"], state["k"])
    amounts = np.array(state["fractions"]) * si.MOL
    found = feos.PhaseEquilibrium.tp_flash(equation, state["temperature"] * si.KELVIN, state["pressure"] * si.PASCAL, amounts, tol=1e-12, max_iter=500)
    for name, phase in (("vapour", found.vapor), ("liquid", found.liquid)):
        assert phase.molefracs == pytest.approx(np.array(state[name]["fractions"]), abs=1e-8)
        assert phase.density / (si.MOL / si.METER**3) == pytest.approx(state[name]["molar_density"], rel=1e-8)


def test_critical_points_of_the_independent_library() -> None:
    equation = peng_robinson(CRITICAL["substances"], [CRITICAL["k"]])
    for fraction, *expected in CRITICAL["points"]:
        amounts = np.array([1.0 - fraction, fraction]) * si.MOL
        found = feos.State.critical_point(equation, amounts, tol=1e-12, max_iter=500)
        numbers = [found.temperature / si.KELVIN, found.pressure() / si.PASCAL, found.density / (si.MOL / si.METER**3)]
        assert numbers == pytest.approx(expected, rel=1e-8)
