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
THREES = json.loads((VECTORS / "three_phases.json").read_text("utf-8"))
GAS_CONSTANT = 8.31446261815324
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


def three_name(state: dict[str, Any]) -> str:
    return f"{state['temperature']}-{state['pressure']:.6g}"


@pytest.mark.parametrize("state", THREES["binary"] + THREES["ternary"], ids=three_name)
def test_three_phases_are_equilibria_of_the_independent_library(state: dict[str, Any]) -> None:
    equation = peng_robinson(state["substances"], state["k"])
    temperature = state["temperature"] * si.KELVIN
    potentials = []
    for phase in state["phases"]:
        fractions = np.array(phase["fractions"])
        there = feos.State(equation, temperature, density=phase["molar_density"] * si.MOL / si.METER**3, composition=fractions)
        assert there.pressure() / si.PASCAL == pytest.approx(state["pressure"], rel=1e-9)
        residual = there.chemical_potential(feos.Contributions.Residual) / (GAS_CONSTANT * si.JOULE / si.MOL / si.KELVIN * temperature)
        potentials.append(residual + np.log(fractions * phase["molar_density"]))
    for other in potentials[1:]:
        assert other == pytest.approx(potentials[0], abs=1e-9)


@pytest.mark.parametrize("state", THREES["binary"], ids=three_name)
def test_three_phases_of_the_independent_library(state: dict[str, Any]) -> None:
    equation = peng_robinson(state["substances"], state["k"])
    by_density = sorted(state["phases"], key=lambda phase: phase["molar_density"])
    liquids = tuple(phase["fractions"][0] for phase in by_density[1:])
    found = feos.PhaseEquilibrium.heteroazeotrope(equation, state["temperature"] * si.KELVIN, liquids, tp_init=state["pressure"] * si.PASCAL)
    assert found.vapor.pressure() / si.PASCAL == pytest.approx(state["pressure"], rel=1e-9)
    for ours, theirs in zip(by_density, (found.vapor, found.liquid1, found.liquid2), strict=True):
        assert theirs.molefracs == pytest.approx(np.array(ours["fractions"]), abs=1e-9)
        assert theirs.density / (si.MOL / si.METER**3) == pytest.approx(ours["molar_density"], rel=1e-9)


@pytest.mark.parametrize("state", THREES["ternary"], ids=three_name)
def test_feed_parts_into_the_three_phases(state: dict[str, Any]) -> None:
    phases = np.array([phase["fractions"] for phase in state["phases"]])
    assert np.all(np.linalg.solve(phases.T, np.array(state["fractions"])) > 0.1)


def test_critical_points_of_the_independent_library() -> None:
    equation = peng_robinson(CRITICAL["substances"], [CRITICAL["k"]])
    for fraction, *expected in CRITICAL["points"]:
        amounts = np.array([1.0 - fraction, fraction]) * si.MOL
        found = feos.State.critical_point(equation, amounts, tol=1e-12, max_iter=500)
        numbers = [found.temperature / si.KELVIN, found.pressure() / si.PASCAL, found.density / (si.MOL / si.METER**3)]
        assert numbers == pytest.approx(expected, rel=1e-8)
