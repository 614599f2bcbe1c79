"""Ten thousand random states of carbon dioxide against CoolProp, which evaluates the same equation of state.

Away from the critical point two programs can agree to the rounding of the numbers. Near it the density that belongs to a temperature
and a pressure is the less determined the closer one comes: an error of one unit in the last digit of the pressure moves the density
by many. There the deviation allowed is wider, and each program is judged by how well its density returns the pressure asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import CoolProp.CoolProp as CP
import numpy as np
import pytest
from numpy.typing import NDArray

import densepath as dp

Array = NDArray[np.float64]

SEED = 20_240_607
LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE = 217.0, 400.0
LOWEST_PRESSURE, HIGHEST_PRESSURE = 1e4, 80e6
CRITICAL_TEMPERATURE, CRITICAL_DENSITY = 304.1282, 467.6

# Relative distance from the vapour pressure; much closer CoolProp refuses to choose a phase.
CLOSEST_TO_SATURATION = 1e-5

# The critical zone: the equation's own uncertainty in density is some percent there (Span and Wagner 1996).
ZONE_TEMPERATURE, ZONE_DENSITY = 0.5, 0.3
DENSITY_AWAY, DENSITY_IN_ZONE = 1e-10, 1e-7

# Largest relative deviation of a property away from the critical point and in its zone.
SAME_EQUATION = (1e-10, 2e-7)
# CoolProp carries other digits of the gas constant and of the triple point into the viscosity, up to 2e-6, and with it into the
# enhancement of the conductivity near the critical point, which goes with the inverse of the viscosity.
PROPERTIES = {
    "specific_isobaric_heat_capacity": ("cpmass", *SAME_EQUATION),
    "specific_isochoric_heat_capacity": ("cvmass", *SAME_EQUATION),
    "speed_of_sound": ("speed_sound", *SAME_EQUATION),
    "isothermal_compressibility": ("isothermal_compressibility", *SAME_EQUATION),
    "isobaric_expansivity": ("isobaric_expansion_coefficient", *SAME_EQUATION),
    "compression_factor": ("compressibility_factor", *SAME_EQUATION),
    "dynamic_viscosity": ("viscosity", 3e-6, 3e-6),
    "thermal_conductivity": ("conductivity", 3e-6, 3e-6),
}


@dataclass(frozen=True)
class Points:
    """States by temperature and pressure, with the densities of both programs; NaN where there is none."""

    temperature: Array
    pressure: Array
    is_solid: NDArray[np.bool_]
    density: Array
    reference: Array

    @property
    def is_in_zone(self) -> NDArray[np.bool_]:
        near_temperature = np.abs(self.temperature - CRITICAL_TEMPERATURE) < ZONE_TEMPERATURE
        return near_temperature & (np.abs(self.density / CRITICAL_DENSITY - 1) < ZONE_DENSITY)


def equation() -> Any:
    return CP.AbstractState("HEOS", "CO2")


def over_the_range(rng: np.random.Generator, count: int) -> tuple[Array, Array]:
    """Uniform in temperature, half of the pressures uniform and half uniform in their logarithm."""
    temperature = rng.uniform(LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE, count)
    half = count // 2
    logarithmic = np.exp(rng.uniform(np.log(LOWEST_PRESSURE), np.log(HIGHEST_PRESSURE), half))
    linear = rng.uniform(LOWEST_PRESSURE, HIGHEST_PRESSURE, count - half)
    return temperature, np.concatenate([logarithmic, linear])


def beside_saturation(rng: np.random.Generator, count: int) -> tuple[Array, Array]:
    """On both sides of the vapour pressure, from 1 % of it down to `CLOSEST_TO_SATURATION`."""
    temperature = rng.uniform(LOWEST_TEMPERATURE, 304.1, count)
    state = equation()
    pressure = np.empty(count)
    for i in range(count):
        state.update(CP.QT_INPUTS, 0, temperature[i])
        pressure[i] = state.p()
    distance = 10 ** rng.uniform(np.log10(CLOSEST_TO_SATURATION), -2, count) * rng.choice([-1, 1], count)
    return temperature, pressure * (1 + distance)


def around_the_critical_point(rng: np.random.Generator, count: int) -> tuple[Array, Array]:
    """One-phase states from 3 K down to 1e-4 K from the critical temperature, within 30 % of the critical density."""
    state = equation()
    temperature, pressure = np.empty(count), np.empty(count)
    found = 0
    while found < count:
        t = CRITICAL_TEMPERATURE + 10 ** rng.uniform(-4, np.log10(3)) * rng.choice([-1, 1])
        saturation = np.inf
        if t < CRITICAL_TEMPERATURE:
            state.update(CP.QT_INPUTS, 0, t)
            saturation = state.p()
        state.update(CP.DmassT_INPUTS, CRITICAL_DENSITY * (1 + rng.uniform(-0.3, 0.3)), t)
        if abs(state.p() / saturation - 1) > CLOSEST_TO_SATURATION:
            temperature[found], pressure[found] = t, state.p()
            found += 1
    return temperature, pressure


@pytest.fixture(scope="module")
def points(co2: dp.Fluid) -> Points:
    rng = np.random.default_rng(SEED)
    parts = [
        over_the_range(rng, 7000),
        beside_saturation(rng, 1500),
        around_the_critical_point(rng, 1500),
    ]
    temperature = np.concatenate([part[0] for part in parts])
    pressure = np.concatenate([part[1] for part in parts])
    state = equation()
    # The melting line reaches the highest pressure at 233 K.
    melting = [state.melting_line(CP.iP, CP.iT, t) if t < 240 else np.inf for t in temperature]
    is_solid = pressure > np.array(melting)
    reference = np.full_like(pressure, np.nan)
    for i in np.flatnonzero(~is_solid):
        state.update(CP.PT_INPUTS, pressure[i], temperature[i])
        reference[i] = state.rhomass()
    density = co2.density(temperature, pressure, on_error="nan")
    return Points(temperature, pressure, is_solid, density, reference)


def pressure_error(points: Points, density: Array, indices: NDArray[np.intp]) -> Array:
    """Relative deviation of the pressure that CoolProp's equation gives for a density from the pressure asked for."""
    state = equation()
    errors = np.empty(len(indices))
    for k, i in enumerate(indices):
        state.update(CP.DmassT_INPUTS, density[i], points.temperature[i])
        errors[k] = state.p() / points.pressure[i] - 1
    return errors


def test_solid_is_refused_and_nothing_else(points: Points) -> None:
    assert points.temperature.size == 10_000
    np.testing.assert_array_equal(np.isnan(points.density), points.is_solid)
    assert points.is_solid.sum() > 100


def test_density(points: Points) -> None:
    fluid = ~points.is_solid
    limit = np.where(points.is_in_zone, DENSITY_IN_ZONE, DENSITY_AWAY)
    deviation = np.abs(points.density / points.reference - 1)
    disagree = np.flatnonzero(fluid & (deviation > limit))
    # Where the densities differ by more, ours must solve the equation: one step of Newton's method from it stays within the limit,
    # and it returns the pressure at least as well as CoolProp's own density does.
    ours = pressure_error(points, points.density, disagree)
    theirs = pressure_error(points, points.reference, disagree)
    assert np.all(np.abs(ours) <= np.abs(theirs))
    state = equation()
    for k, i in enumerate(disagree):
        state.update(CP.DmassT_INPUTS, points.density[i], points.temperature[i])
        step = abs(ours[k]) * points.pressure[i] * state.isothermal_compressibility()
        assert step <= limit[i], f"T = {points.temperature[i]!r} K, p = {points.pressure[i]!r} Pa"
    assert disagree.size <= 20


def test_density_returns_the_pressure(co2: dp.Fluid, points: Points) -> None:
    """Everywhere, the critical zone and the neighbourhood of saturation included: that of a state to rounding, that of a function as
    nearly as its density, which is within 1e-11 of that of the state.
    """
    fluid = np.flatnonzero(~points.is_solid)
    states = [co2.state(temperature=points.temperature[i], pressure=points.pressure[i]) for i in fluid]
    solved = np.full_like(points.density, np.nan)
    solved[fluid] = [state.density for state in states]
    assert np.max(np.abs(pressure_error(points, solved, fluid))) < 1e-11
    assert np.max(np.abs(points.density[fluid] / solved[fluid] - 1)) < 1e-11


@pytest.mark.parametrize("name", PROPERTIES)
def test_property(co2: dp.Fluid, points: Points, name: str) -> None:
    reader, away, in_zone = PROPERTIES[name]
    computed = getattr(co2, name)(points.temperature, points.pressure, on_error="nan")
    limit = np.where(points.is_in_zone, in_zone, away)
    state = equation()
    for i in np.flatnonzero(~points.is_solid):
        state.update(CP.DmassT_INPUTS, points.density[i], points.temperature[i])
        expected = getattr(state, reader)()
        # Ours is of the pressure asked for, CoolProp's of the pressure of the density, which is within 1e-11.
        stiffness = 1 / (points.pressure[i] * state.isothermal_compressibility()) if name == "compression_factor" else 0.0
        assert abs(computed[i] / expected - 1) <= limit[i] + 1e-11 * stiffness, f"T = {points.temperature[i]!r} K, p = {points.pressure[i]!r} Pa"


@pytest.mark.parametrize(("name", "reader", "limit"), [("specific_enthalpy", "hmass", 1e-6), ("specific_entropy", "smass", 1e-8)])
def test_energy_differs_by_its_zero_only(co2: dp.Fluid, points: Points, name: str, reader: str, limit: float) -> None:
    """Limits in J/kg and J/(kg K)."""
    fluid = np.flatnonzero(~points.is_solid)
    computed = getattr(co2, name)(points.temperature[fluid], points.pressure[fluid])
    state = equation()
    difference = np.empty(fluid.size)
    for k, i in enumerate(fluid):
        state.update(CP.DmassT_INPUTS, points.density[i], points.temperature[i])
        difference[k] = computed[k] - getattr(state, reader)()
    assert np.ptp(difference) < limit


def test_saturation(co2: dp.Fluid) -> None:
    state = equation()
    for temperature in np.linspace(LOWEST_TEMPERATURE, 304.0, 200):
        saturation = co2.saturation(temperature=temperature)
        state.update(CP.QT_INPUTS, 0, temperature)
        assert saturation.pressure == pytest.approx(state.p(), rel=1e-9)
        assert saturation.liquid.density == pytest.approx(state.saturated_liquid_keyed_output(CP.iDmass), rel=1e-7)
        assert saturation.vapour.density == pytest.approx(state.saturated_vapor_keyed_output(CP.iDmass), rel=1e-7)
