"""Random states of every other substance against CoolProp, which evaluates the same equations of state."""

from __future__ import annotations

import CoolProp.CoolProp as CP
import numpy as np
import pytest

import densepath as dp

SEED = 20_241_119
STATES = 200
HIGHEST_TEMPERATURE, HIGHEST_PRESSURE = 600.0, 6e7
LOWEST_PRESSURE = 1.5e3
# Kelvin around the critical point in which a density is not determined to the digits asked for.
CRITICAL_ZONE = 0.5
DENSITY, DERIVATIVES = 1e-9, 1e-6

# Air is a mixture that its equation treats as one substance; the two programs draw its dome differently.
NAMES = {
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
    "methanol": "Methanol",
    "ethanol": "Ethanol",
    "water": "Water",
    "acetone": "Acetone",
    "tetrahydrofuran": "Tetrahydrofuran",
    "toluene": "Toluene",
    "n-heptane": "n-Heptane",
    "cyclohexane": "CycloHexane",
}


@pytest.mark.parametrize("name", NAMES)
def test_states_agree_with_an_independent_implementation(name: str) -> None:
    fluid, reference = dp.Fluid(name), CP.AbstractState("HEOS", NAMES[name])
    random = np.random.default_rng(SEED)
    lowest = max(1.02 * reference.Tmin(), 3.0)
    temperature = random.uniform(lowest, min(reference.Tmax(), HIGHEST_TEMPERATURE), STATES)
    highest = min(reference.pmax(), HIGHEST_PRESSURE)
    pressure = np.exp(random.uniform(np.log(LOWEST_PRESSURE), np.log(highest), STATES))
    ours = [
        getattr(fluid, quantity)(temperature, pressure, on_error="nan")
        for quantity in ("density", "specific_isobaric_heat_capacity", "speed_of_sound")
    ]
    compared = 0
    for index in np.flatnonzero(np.isfinite(ours[0])):
        if abs(temperature[index] - reference.T_critical()) < CRITICAL_ZONE:
            continue
        reference.update(CP.PT_INPUTS, pressure[index], temperature[index])
        theirs = reference.rhomass(), reference.cpmass(), reference.speed_sound()
        for values, expected, limit in zip(ours, theirs, (DENSITY, DERIVATIVES, DERIVATIVES), strict=True):
            place = f"{name}, {temperature[index]} K, {pressure[index]} Pa"
            assert abs(values[index] / expected - 1.0) < limit, place
        compared += 1
    assert compared > 0.95 * STATES
