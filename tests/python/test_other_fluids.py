"""Random states of every substance with its own equation against CoolProp, which evaluates the same equations of state.

`python tests/python/test_other_fluids.py` compares ten thousand states of each and writes `tests/deviations.json`: for each property the
deviation that three quarters and ninety-nine of a hundred states stay below, and the largest. The tests compare fewer, and hold them to
what is recorded there.
"""

from __future__ import annotations

import json
import math
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import CoolProp.CoolProp as CP
import numpy as np
import pytest
from numpy.typing import NDArray

import densepath as dp

Array = NDArray[np.float64]

RECORD = Path(__file__).parent.parent / "deviations.json"
SEED = 20_241_119
STATES, RECORDED_STATES = 1_000, 10_000
LOWEST_PRESSURE = 1e3
# Relative distance from the vapour pressure; much closer CoolProp refuses to choose a phase.
CLOSEST_TO_SATURATION = 1e-5
# Kelvin around the critical point in which a density is not determined to the digits asked for.
CRITICAL_ZONE = 0.5
DENSITY = 1e-9
# A density that differs by more belongs to another phase.
WRONG_PHASE = 1e-3
# Share of the largest recorded deviation that fewer states may exceed: rounding depends on the processor and its library of functions.
MARGIN = 3.0

NAMES = {
    "carbon dioxide": "CO2",
    "nitrous oxide": "N2O",
    "sulfur hexafluoride": "SF6",
    "xenon": "Xenon",
    "ethane": "Ethane",
    "propane": "Propane",
    "n-butane": "n-Butane",
    "n-pentane": "n-Pentane",
    "n-hexane": "n-Hexane",
    "trifluoromethane": "R23",
    "1,1,1,2-tetrafluoroethane": "R134a",
    "ammonia": "Ammonia",
    "dimethyl ether": "DimethylEther",
    "nitrogen": "Nitrogen",
    "helium": "Helium",
    "argon": "Argon",
    "oxygen": "Oxygen",
    "air": "Air",
    "methanol": "Methanol",
    "ethanol": "Ethanol",
    "water": "Water",
    "acetone": "Acetone",
    "tetrahydrofuran": "Tetrahydrofuran",
    "toluene": "Toluene",
    "n-heptane": "n-Heptane",
    "cyclohexane": "CycloHexane",
}
# The other program has the viscosities that newer correlations replaced here, whose check values are met instead; the enhancement of
# the conductivity goes with the viscosity.
NEWER_TRANSPORT = {"ethane", "propane", "n-butane"}
# Equations that close their dome above the critical point stated by their authors: temperature in K.
DOME_TOP = {"methanol": 513.3796, "n-heptane": 541.226}
# Gas constant in J/(mol K) of equations whose tables are met with another one than CoolProp takes.
GAS_CONSTANT = {"ammonia": 8.314462618, "tetrahydrofuran": 8.31446261815324}
# Of the others, by which CoolProp's rounding of the temperatures of the ideal-gas terms shows most.
CALORIC, CALORIC_ROUNDED = 1e-6, {"ethanol": 5e-6}
PROPERTIES = {
    "specific_isobaric_heat_capacity": "cpmass",
    "specific_isochoric_heat_capacity": "cvmass",
    "speed_of_sound": "speed_sound",
}
# Energies differ by their zero besides; they are compared in units of R and R T_c.
ENERGIES = {"specific_enthalpy": "hmass", "specific_entropy": "smass", "specific_internal_energy": "umass"}


TRANSPORT = {"dynamic_viscosity": "viscosity", "thermal_conductivity": "conductivity"}
# Where three quarters of the states agree within this, both programs evaluate the same correlation; what is beyond belongs to another
# correlation, and is recorded apart.
SAME = 1e-4
# Deviations below this are rounding.
ROUNDING = 1e-12
# Fewer states than this in the ranges of both correlations are no comparison.
FEWEST = 100


@dataclass(frozen=True)
class Comparison:
    """Relative deviations by property, and the phases of states that differ."""

    deviations: dict[str, Array]
    wrong_phases: list[str]


def random_states(rng: np.random.Generator, reference: Any, fluid: dp.Fluid, count: int) -> tuple[Array, Array]:
    """Over the range that both programs know, a quarter of it within some percent of the vapour pressure."""
    equation = fluid.models
    lowest, highest = equation.temperature_min[0], min(equation.temperature_max[0], reference.Tmax())
    pressure_max = min(equation.pressure_max[0], reference.pmax())
    temperature = np.where(
        rng.random(count) < 0.5,
        rng.uniform(lowest, highest, count),
        np.exp(rng.uniform(math.log(lowest), math.log(highest), count)),
    )
    pressure = np.exp(rng.uniform(math.log(LOWEST_PRESSURE), math.log(pressure_max), count))
    if fluid.name == "air":
        return temperature, pressure
    for i in np.flatnonzero((rng.random(count) < 0.5) & (temperature < reference.T_critical() - CRITICAL_ZONE)):
        saturation = fluid.saturation(temperature=temperature[i]).pressure
        if saturation > 1.1 * LOWEST_PRESSURE:
            pressure[i] = saturation * (1 + rng.choice([-1, 1]) * 10 ** rng.uniform(math.log10(CLOSEST_TO_SATURATION), -1))
    return temperature, pressure


def compare(name: str, count: int, seed: int) -> Comparison:
    fluid, reference = dp.Fluid(name), CP.AbstractState("HEOS", NAMES[name])
    temperature, pressure = random_states(np.random.default_rng(seed), reference, fluid, count)
    critical = sorted([reference.T_critical(), fluid.critical_point().temperature, DOME_TOP.get(name, reference.T_critical())])
    in_zone = (temperature > critical[0] - CRITICAL_ZONE) & (temperature < critical[-1] + CRITICAL_ZONE)
    scale = GAS_CONSTANT.get(name, reference.gas_constant()) / reference.gas_constant()
    specific = reference.gas_constant() / reference.molar_mass()
    values = {q: getattr(fluid, q)(temperature, pressure, on_error="nan") for q in ("density", *PROPERTIES, *ENERGIES)}
    found: dict[str, list[float]] = {quantity: [] for quantity in values}
    wrong = []
    for i in np.flatnonzero(np.isfinite(values["density"]) & ~in_zone):
        try:
            reference.update(CP.PT_INPUTS, pressure[i] / scale, temperature[i])
        except ValueError:
            # Its solver gives up on a few states of air and helium.
            continue
        density = reference.rhomass()
        found["density"].append(abs(values["density"][i] / density - 1))
        if found["density"][-1] > WRONG_PHASE:
            wrong.append(f"T = {temperature[i]!r} K, p = {pressure[i]!r} Pa")
        # What it tells after a search by pressure is less exact than after a density is given.
        reference.update(CP.DmassT_INPUTS, density, temperature[i])
        for quantity, reader in PROPERTIES.items():
            expected = getattr(reference, reader)() * (math.sqrt(scale) if quantity == "speed_of_sound" else scale)
            found[quantity].append(abs(values[quantity][i] / expected - 1))
        for quantity, reader in ENERGIES.items():
            unit = specific if quantity == "specific_entropy" else specific * critical[0]
            found[quantity].append((values[quantity][i] / scale - getattr(reference, reader)()) / unit)
    deviations = {quantity: np.array(numbers) for quantity, numbers in found.items()}
    for quantity in ENERGIES:
        deviations[quantity] = np.abs(deviations[quantity] - np.median(deviations[quantity]))
    return Comparison(deviations, wrong)


def compare_transport(name: str, count: int, seed: int) -> dict[str, Array]:
    """Relative deviations of viscosity and conductivity where both programs give them; none where one of them has no model."""
    fluid, reference = dp.Fluid(name), CP.AbstractState("HEOS", NAMES[name])
    temperature, pressure = random_states(np.random.default_rng(seed), reference, fluid, count)
    critical = reference.T_critical()
    far = np.abs(temperature - critical) > CRITICAL_ZONE
    density = fluid.density(temperature, pressure, on_error="nan")
    found: dict[str, Array] = {}
    for quantity, reader in TRANSPORT.items():
        try:
            values = getattr(fluid, quantity)(temperature, pressure, on_error="nan")
        except dp.DensepathError:
            continue
        deviations = []
        for i in np.flatnonzero(np.isfinite(values) & far):
            try:
                reference.update(CP.DmassT_INPUTS, density[i], temperature[i])
                deviations.append(abs(values[i] / getattr(reference, reader)() - 1))
            except ValueError:
                # No model, or outside its range.
                continue
        if len(deviations) >= FEWEST * count // RECORDED_STATES:
            found[quantity] = np.array(deviations)
    return found


def transport_record(name: str) -> dict[str, dict[str, Any]]:
    """What is recorded of the transport properties of a substance."""
    keys = {"dynamic_viscosity": "VISCOSITY", "thermal_conductivity": "CONDUCTIVITY"}
    found: dict[str, dict[str, Any]] = {}
    for quantity, deviations in compare_transport(name, RECORDED_STATES, SEED).items():
        same = bool(np.quantile(deviations, 0.75) < SAME)
        label = "the same correlation" if same else "another correlation"
        source = CP.get_BibTeXKey(NAMES[name], keys[quantity])
        found[quantity] = {"states": int(deviations.size), "against": label, "of": source, **summary(deviations)}
    return found


def summary(deviations: Array) -> dict[str, float]:
    """Three figures, rounded upwards to two digits."""
    figures = {"q75": np.quantile(deviations, 0.75), "q99": np.quantile(deviations, 0.99), "max": np.max(deviations)}
    return {key: float(f"{1.05 * value + 1e-17:.1e}") for key, value in figures.items()}


def record() -> dict[str, Any]:
    recorded: dict[str, Any] = json.loads(RECORD.read_text(encoding="utf-8"))
    return recorded


@pytest.mark.parametrize("name", NAMES)
def test_states_agree_with_an_independent_implementation(name: str) -> None:
    comparison = compare(name, STATES, SEED + 1)
    assert not comparison.wrong_phases
    recorded = record()["fluids"][name]
    for quantity, deviations in comparison.deviations.items():
        assert deviations.size > 0.5 * STATES
        assert np.max(deviations) <= MARGIN * recorded[quantity]["max"], quantity


@pytest.mark.parametrize("name", [name for name in NAMES if name not in NEWER_TRANSPORT])
def test_transport_properties_stay_where_they_are_recorded(name: str) -> None:
    recorded = record()["transport"].get(name, {})
    found = compare_transport(name, STATES, SEED + 1)
    assert found.keys() == recorded.keys()
    for quantity, deviations in found.items():
        assert np.max(deviations) <= MARGIN * recorded[quantity]["max"], quantity
        assert np.quantile(deviations, 0.75) <= max(1.5 * recorded[quantity]["q75"], ROUNDING), quantity


def test_what_is_said_to_be_the_same_correlation_agrees() -> None:
    same = [entry for properties in record()["transport"].values() for entry in properties.values() if entry["against"] == "the same correlation"]
    assert len(same) > 20
    assert all(entry["q75"] < SAME for entry in same)


def test_the_record_keeps_what_is_asked() -> None:
    recorded = record()["fluids"]
    assert recorded.keys() == NAMES.keys()
    for name, properties in recorded.items():
        assert properties["density"]["max"] <= DENSITY, name
        limit = CALORIC_ROUNDED.get(name, CALORIC)
        assert all(properties[quantity]["max"] <= limit for quantity in (*PROPERTIES, *ENERGIES)), name


@pytest.mark.parametrize("name", [name for name in NAMES if name != "air"])
def test_saturation_agrees_with_an_independent_implementation(name: str) -> None:
    """Where the vapour pressure is not too small for the numbers of CoolProp's own approximation of it."""
    fluid, reference = dp.Fluid(name), CP.AbstractState("HEOS", NAMES[name])
    scale = GAS_CONSTANT.get(name, reference.gas_constant()) / reference.gas_constant()
    lowest = fluid.models.temperature_min[0]
    top = min(reference.T_critical(), fluid.critical_point().temperature)
    for temperature in np.linspace(lowest + 0.3 * (top - lowest), top - CRITICAL_ZONE * min(1.0, top / 100.0), 20):
        saturation = fluid.saturation(temperature=temperature)
        reference.update(CP.QT_INPUTS, 0, temperature)
        assert saturation.pressure == pytest.approx(scale * reference.p(), rel=2e-8)
        assert saturation.liquid.density == pytest.approx(reference.saturated_liquid_keyed_output(CP.iDmass), rel=1e-8)
        assert saturation.vapour.density == pytest.approx(reference.saturated_vapor_keyed_output(CP.iDmass), rel=2e-8)


def main() -> None:
    fluids: dict[str, dict[str, dict[str, float]]] = {}
    for name in NAMES:
        comparison = compare(name, RECORDED_STATES, SEED)
        if comparison.wrong_phases:
            sys.exit(f"{name}: {comparison.wrong_phases}")
        fluids[name] = {quantity: summary(deviations) for quantity, deviations in comparison.deviations.items()}
    header = {
        "subject": f"Deviations of {RECORDED_STATES} random states of each substance, outside {CRITICAL_ZONE} K of the critical point",
        "reference": f"CoolProp {CP.get_global_param_string('version')}",
        "units": "relative; entropies in units of the gas constant, energies of the gas constant times the critical temperature, "
        "both after the difference of the zeros is taken off",
        "fluids": fluids,
        "transport": {name: found for name in NAMES if name not in NEWER_TRANSPORT and (found := transport_record(name))},
    }
    RECORD.write_text(json.dumps(header, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
