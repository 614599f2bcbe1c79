"""Restrictors, regulators and valves against a library of fluid mechanics, closed forms and independent computations."""

import pickle
from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.linalg import solve_banded
from scipy.optimize import brentq

import densepath as dp

fluids = pytest.importorskip("fluids")

OUTSIDE = 1.013e5
HOT = (373.15, 200e5, OUTSIDE)


@pytest.fixture(scope="module")
def nitrogen() -> dp.Fluid:
    return dp.Fluid("nitrogen")


@pytest.mark.parametrize(("inlet", "outlet"), [(3e5, 1e5), (4e5, 3e5), (6e5, 4e5)])
def test_isothermal_flow_of_a_gas_is_that_of_fluids(nitrogen: dp.Fluid, inlet: float, outlet: float) -> None:
    """Nitrogen at a few bar is an ideal gas within 0.1 %, and keeps one Reynolds number along the tube."""
    diameter, length, temperature = 1e-3, 1.0, 300.0
    flow = dp.LinearRestrictor(diameter=diameter, length=length).flow(nitrogen, temperature, inlet, outlet)
    friction = fluids.friction_factor(Re=flow.inlet_reynolds_number, eD=0.0, Method="Haaland")
    # The law of that library divides by the inlet pressure, and so wants the density there.
    density = nitrogen.density(temperature, inlet)
    theirs = fluids.isothermal_gas(density, friction, P1=inlet, P2=outlet, L=length, D=diameter)
    assert flow.regime == "turbulent"
    assert not flow.is_choked
    assert flow.mass_flow_rate == pytest.approx(theirs, rel=2e-3)


def test_isothermal_choking_of_a_gas_is_that_of_fluids(nitrogen: dp.Fluid) -> None:
    diameter, length, temperature, inlet = 1e-3, 0.05, 300.0, 10e5
    flow = dp.LinearRestrictor(diameter=diameter, length=length).flow(nitrogen, temperature, inlet, 1e4)
    friction = fluids.friction_factor(Re=flow.inlet_reynolds_number, eD=0.0, Method="Haaland")
    theirs = fluids.compressible.P_isothermal_critical_flow(inlet, friction, diameter, length)
    assert flow.is_choked
    assert flow.exit_pressure == pytest.approx(theirs, rel=3e-3)


def test_adiabatic_choking_of_a_gas_is_that_of_fluids(nitrogen: dp.Fluid) -> None:
    """At the speed of sound a perfect gas has the temperature 2/(k + 1) of that at rest, with friction or without."""
    temperature, exponent = 300.0, 1.4
    tube = dp.LinearRestrictor(diameter=1e-3, length=0.05, heat="adiabatic").passage(nitrogen, temperature, 10e5, 1e4)
    start = float(tube.profile["velocity"][0])
    at_rest = temperature + 0.5 * start**2 / nitrogen.specific_isobaric_heat_capacity(temperature, 10e5)
    theirs = fluids.compressible.T_critical_flow(at_rest, exponent)
    assert tube.choking == "choked at the speed of sound"
    assert tube.exit.mach_number == pytest.approx(1.0, abs=1e-6)
    assert tube.exit.temperature == pytest.approx(theirs, rel=5e-3)
    hole = dp.OrificeRestrictor(diameter=1e-4, discharge_coefficient=1.0).passage(nitrogen, temperature, 5e5, 1e4)
    assert hole.exit.pressure == pytest.approx(fluids.compressible.P_critical_flow(5e5, exponent), rel=3e-3)


class Fanno:
    """A perfect gas with friction and without heat: A. H. Shapiro, Compressible Fluid Flow, vol. 1, 1953, ch. 6 (from memory).

    `fluids` has no function for this line, so that it stands here in closed form; friction factors and states at rest are those of
    `fluids`.
    """

    def __init__(self, exponent: float) -> None:
        self.exponent = exponent

    def friction_to_sound(self, mach: float) -> float:
        """f L/d up to the speed of sound, of the Darcy friction factor."""
        k, square = self.exponent, mach**2
        part = (k + 1) * square / (2 + (k - 1) * square)
        return (1 - square) / (k * square) + (k + 1) / (2 * k) * float(np.log(part))

    def temperature(self, mach: float) -> float:
        """Over that at the speed of sound."""
        return (self.exponent + 1) / (2 + (self.exponent - 1) * mach**2)

    def pressure(self, mach: float) -> float:
        """Over that at the speed of sound."""
        return float(np.sqrt(self.temperature(mach))) / mach

    def mach(self, friction: float) -> float:
        """At the distance f L/d before the speed of sound."""
        return float(brentq(lambda mach: self.friction_to_sound(mach) - friction, 1e-4, 1.0, xtol=1e-14))


def adiabatic(fluid: dp.Fluid, length: float, inlet: float, outlet: float) -> Any:
    return dp.LinearRestrictor(diameter=1e-3, length=length, heat="adiabatic").passage(fluid, 300.0, inlet, outlet)


def friction_of(fluid: dp.Fluid, flow: Any) -> float:
    """f L/d with the friction factors of `fluids` along the tube, where the viscosity follows the temperature a little."""
    profile = flow.profile
    viscosities = fluid.dynamic_viscosity(profile["temperature"], profile["pressure"])
    numbers = 4 * flow.mass_flow_rate / (np.pi * 1e-3 * viscosities)
    factors = [fluids.friction_factor(Re=float(reynolds), eD=0.0, Method="Haaland") for reynolds in numbers]
    return float(np.trapezoid(factors, profile["position"])) / 1e-3


@pytest.mark.parametrize(("name", "exponent"), [("nitrogen", 1.4), ("helium", 5 / 3)])
@pytest.mark.parametrize("length", [0.05, 0.4])
def test_choked_flow_without_heat_is_that_of_fanno(name: str, exponent: float, length: float) -> None:
    """Mass flow, choking length, Mach number and the whole exit of a thin gas, with the friction factors and rests of `fluids`."""
    fluid, inlet, line = dp.Fluid(name), 6e5, Fanno(exponent)
    flow = adiabatic(fluid, length, inlet, 1e4)
    assert flow.choking == "choked at the speed of sound"
    friction = friction_of(fluid, flow)
    mach = line.mach(friction)
    assert flow.inlet.mach_number == pytest.approx(mach, rel=5e-3)
    assert line.friction_to_sound(flow.inlet.mach_number) == pytest.approx(friction, rel=1e-2)
    assert flow.exit.mach_number == pytest.approx(1.0, abs=1e-6)
    sound = fluid.speed_of_sound(300.0, inlet)
    area = 0.25 * np.pi * 1e-3**2
    assert flow.mass_flow_rate == pytest.approx(area * fluid.density(300.0, inlet) * mach * sound, rel=5e-3)
    assert flow.exit.pressure == pytest.approx(inlet / line.pressure(mach), rel=8e-3)
    heat_capacity = fluid.specific_isobaric_heat_capacity(300.0, inlet)
    rests = [fluids.T_stagnation_ideal(end.temperature, end.velocity, heat_capacity) for end in (flow.inlet, flow.exit)]
    # What expands by some bar cools a little of itself, 0.2 K/bar for nitrogen.
    assert rests[1] == pytest.approx(rests[0], rel=5e-3)
    assert flow.exit.temperature == pytest.approx(fluids.T_critical_flow(rests[0], exponent), rel=5e-3)
    # Of the pressure at rest, the line leaves what it has at the speed of sound.
    at_rest = [
        fluids.P_stagnation(end.pressure, end.temperature, rest, exponent)
        for end, rest in zip((flow.inlet, flow.exit), rests, strict=True)
    ]
    lost = mach * line.temperature(mach) ** ((exponent + 1) / (2 * (exponent - 1)))
    assert at_rest[1] / at_rest[0] == pytest.approx(lost, rel=1.5e-2)


@pytest.mark.parametrize("outlet", [5e5, 3e5])
def test_slower_flow_without_heat_is_that_of_fanno(nitrogen: dp.Fluid, outlet: float) -> None:
    """Before the speed of sound, two places of one line lie as far apart as the tube is long."""
    line, length, inlet = Fanno(1.4), 0.4, 6e5
    flow = adiabatic(nitrogen, length, inlet, outlet)
    assert flow.choking == "not choked"
    friction = friction_of(nitrogen, flow)

    def short(mach: float) -> float:
        behind = line.mach(line.friction_to_sound(mach) - friction)
        return line.pressure(behind) / line.pressure(mach) - outlet / inlet

    mach = float(brentq(short, 0.02, line.mach(friction) * (1 - 1e-9)))
    assert flow.inlet.mach_number == pytest.approx(mach, rel=5e-3)
    assert flow.exit.mach_number == pytest.approx(line.mach(line.friction_to_sound(mach) - friction), rel=5e-3)
    sound, area = nitrogen.speed_of_sound(300.0, inlet), 0.25 * np.pi * 1e-3**2
    assert flow.mass_flow_rate == pytest.approx(area * nitrogen.density(300.0, inlet) * mach * sound, rel=5e-3)


def restrictors() -> list[Any]:
    return [
        dp.LinearRestrictor(diameter=10e-6, length=0.2),
        dp.TaperedRestrictor(inlet_diameter=30e-6, outlet_diameter=8e-6, length=0.1),
        dp.SegmentedRestrictor(stretches=[(0.3, 50e-6, 50e-6), (0.05, 10e-6, 10e-6)]),
        dp.OrificeRestrictor(diameter=1e-6, discharge_coefficient=0.8),
        dp.FritRestrictor(diameter=100e-6, length=0.02, pore_diameter=0.3e-6, porosity=0.4),
    ]


def test_a_frit_without_porosity_tells_no_time(co2: dp.Fluid) -> None:
    frit = dp.FritRestrictor(diameter=100e-6, length=0.02, permeability=1e-15)
    passage = frit.passage(co2, *HOT)
    assert passage.hold_up_time is None and passage.inlet.reynolds_number is None
    inlet = co2.state(temperature=HOT[0], pressure=HOT[1])
    outlet = frit.outlet(inlet, 2 * passage.mass_flow_rate)
    assert outlet.hold_up_time is None
    assert {"unknown", "unsteady"} <= {notice.code for notice in outlet.notices}
    known = dp.FritRestrictor(diameter=100e-6, length=0.02, permeability=1e-15, porosity=0.4).passage(co2, *HOT)
    assert known.hold_up_time is not None
    # Between all at the density of the inlet and all at that of the exit.
    plug = 0.4 * 0.25 * 3.14159 * 100e-6**2 * 0.02 / known.mass_flow_rate
    assert plug * known.exit.density < known.hold_up_time < plug * known.inlet.density


@pytest.mark.parametrize("restrictor", restrictors(), ids=lambda part: type(part).__name__)
def test_every_shape_answers_alike(co2: dp.Fluid, restrictor: Any) -> None:
    flow = restrictor.mass_flow_rate(co2, *HOT)
    passage = restrictor.passage(co2, *HOT)
    assert passage.mass_flow_rate == pytest.approx(flow, rel=1e-12)
    assert passage.exit.pressure > 0.0
    assert 0.0 < passage.uncertainty < 0.5
    assert restrictor.inlet_pressure_for(flow, co2, 373.15, OUTSIDE) == pytest.approx(200e5, rel=1e-8)
    assert restrictor.calibration_factor_for(2 * flow, co2, *HOT) == pytest.approx(2.0, rel=1e-9)
    exponent, low, high = restrictor.bore_sensitivity(0.05, co2, *HOT)
    assert low < flow < high
    assert 1.9 < exponent < 4.1
    drift = restrictor.drift(co2, [373.15, 373.15], [150e5, 200e5], OUTSIDE)
    flows = [float(value) for value in drift["mass_flow_rate"]]
    assert flows[0] < flows[1] == pytest.approx(flow, rel=1e-12)
    for name in ("length", "diameter"):
        size = getattr(restrictor, f"{name}_for", None)
        if size is not None:
            attribute = "outlet_diameter" if hasattr(restrictor, "outlet_diameter") and name == "diameter" else name
            assert size(flow, co2, *HOT) == pytest.approx(getattr(restrictor, attribute), rel=1e-9)


def test_heat_bounds_the_flow(co2: dp.Fluid) -> None:
    def linear(**keywords: Any) -> Any:
        return dp.LinearRestrictor(diameter=10e-6, length=0.2, **keywords).passage(co2, *HOT)

    held, cold = linear(), linear(heat="adiabatic")
    wall = {"outer_diameter": 375e-6, "wall_conductivity": 1.4, "outside_coefficient": 1000.0}
    block = linear(heat="jacket", temperature=373.15, **wall)
    assert held.mass_flow_rate < block.mass_flow_rate < cold.mass_flow_rate
    assert cold.exit.vapour_fraction is not None
    assert block.heat_flow_rate > 0.0
    hot = linear(heat="wall", temperature=373.15, outlet_temperature=473.15)
    assert hot.exit.temperature == pytest.approx(473.15, rel=1e-9)
    with pytest.raises(dp.ArgumentError):
        linear(heat="warm")
    with pytest.raises(dp.ArgumentError):
        linear(heat="jacket", temperature=373.15)
    with pytest.raises(dp.ArgumentError, match="outer_diameter"):
        linear(outer_diameter=375e-6)
    with pytest.raises(dp.ArgumentError, match="temperature"):
        linear(heat="adiabatic", temperature=373.15)


def entrance_excess(points: int = 100, steps: int = 800, end: float = 0.3) -> float:
    """Pressure that laminar flow loses in the entrance of a tube beyond developed friction, in rho u^2/2, at high Reynolds number.

    Boundary-layer equations u u_x + v u_r = -p' + (r u_r)_r/r from a flat profile, in radii, mean velocities and x = z nu/(u a^2),
    by implicit finite volumes; developed flow loses 8 per unit of x.
    """
    radii, faces, width = (np.arange(points) + 0.5) / points, np.arange(points + 1) / points, 1.0 / points
    east, west = faces[1:] / (radii * width**2), faces[:-1] / (radii * width**2)
    weights = 2.0 * radii * width
    axial, radial, fall = np.ones(points), np.zeros(points + 1), 0.0
    for step in np.diff(np.concatenate([[0.0], np.geomspace(1e-6, end, steps)])):
        before = axial
        for _ in range(3):
            across = 0.25 * (radial[1:] + radial[:-1]) / width
            middle, upper, lower = axial / step + east + west, across - east, -across - west
            middle[0] += lower[0]
            middle[-1] -= upper[-1]
            bands = np.array([np.roll(upper, 1), middle, np.roll(lower, -1)])
            free, pushed = solve_banded((1, 1), bands, np.column_stack([axial * before / step, np.ones(points)])).T
            slope = (1.0 - weights @ free) / (weights @ pushed)
            axial = free + slope * pushed
            radial = np.concatenate([[0.0], -np.cumsum(radii * width * (axial - before) / step) / faces[1:]])
        fall += slope * step
    return float(2.0 * (fall - 8.0 * end))


def test_the_entrance_costs_what_the_boundary_layer_says(co2: dp.Fluid) -> None:
    restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)
    inlet = co2.state(temperature=373.15, pressure=200e5)
    facts = restrictor.outlet(inlet, 2e-8).facts
    drop = next(row["value"] for row in facts if row["name"].startswith("pressure that its entrance"))
    end = restrictor.passage(co2, 373.15, 200e5, 101325.0).inlet
    excess = 2.0 * drop / (end.density * end.velocity**2) - 1.0
    assert end.reynolds_number < 2000.0
    # The share of slow flow, 38/Re, is not in the equations of the boundary layer.
    assert excess - 38.0 / end.reynolds_number == pytest.approx(entrance_excess(), rel=0.05)


def test_a_crimp_is_what_was_measured(co2: dp.Fluid) -> None:
    area = dp.CrimpedRestrictor.equivalent_area_of(3e-8, co2, *HOT)
    assert dp.CrimpedRestrictor(equivalent_area=area).mass_flow_rate(co2, *HOT) == pytest.approx(3e-8, rel=1e-12)


def test_the_valve_of_a_regulator(co2: dp.Fluid) -> None:
    """2.932 g/min from 150 bar and 40 degC: independent computation with CoolProp 8.0.0."""
    regulator = dp.BackPressureRegulator(pressure=150e5)
    inlet = co2.state(temperature=313.15, pressure=150e5)
    size = regulator.valve_size(inlet, 2.932e-3 / 60)
    assert size.service == "flashing"
    assert size.plain_kv == pytest.approx(1.63e-5, rel=2e-3)
    assert size.mass_flux == pytest.approx(107839, rel=1e-3)
    assert size.incompressible_diameter == pytest.approx(26.0787e-6, rel=2e-4)
    low, high = regulator.flow_range(inlet, largest_kv=2 * size.kv)
    assert high == pytest.approx(2 * 2.932e-3 / 60, rel=1e-9)
    assert low == pytest.approx(high / 10, rel=1e-12)
    pressure, density = regulator.ripple(inlet, 5e-5, volume=0.5e-6, frequency=20.0)
    assert density == pytest.approx(pressure * co2.isothermal_compressibility(313.15, 150e5), rel=1e-9)
    assert regulator.dry_inlet_temperature(co2) - 273.15 == pytest.approx(83.4891, abs=0.05)
    assert regulator.inlet_temperature_for(co2, 273.15) - 273.15 == pytest.approx(111.654, abs=1e-3)


def test_a_hole_has_no_reynolds_number(co2: dp.Fluid) -> None:
    hole = dp.OrificeRestrictor(diameter=1e-6, discharge_coefficient=0.8).passage(co2, *HOT)
    assert hole.exit.reynolds_number is None
    crimp = dp.CrimpedRestrictor(equivalent_area=1e-12)
    assert crimp.outlet(co2.state(temperature=373.15, pressure=200e5), 2e-8).reynolds_number is None
    assert hole.viscous_deviation is None
    linear = dp.LinearRestrictor(diameter=10e-6, length=0.2).passage(co2, *HOT)
    assert linear.viscous_deviation == pytest.approx(11.667159 / 11.570333 - 1, rel=1e-3)


def test_decompression_in_stages(co2: dp.Fluid) -> None:
    """Mass fraction of vapour and temperature in degC: independent computation with CoolProp 8.0.0."""
    inlet = co2.state(temperature=313.15, pressure=150e5)
    results = dp.decompress(inlet, 5e-5, pressures=[40e5, 20e5, 10e5])
    for result, (vapour, degc) in zip(results, [(0.337471, 5.3), (0.461952, -19.5), (0.535659, -40.1218)], strict=True):
        assert result.state.vapour_fraction == pytest.approx(vapour, rel=1e-4)
        assert result.state.temperature - 273.15 == pytest.approx(degc, abs=0.05)
    assert results[2].notices[0].code == "cold_burn"
    with pytest.raises(dp.FlowError):
        dp.decompress(inlet, 5e-5, pressures=[40e5, 50e5])


def test_what_is_collected(co2: dp.Fluid) -> None:
    """20 % of 3 mL/min: independent computation with CoolProp 8.0.0; delay of 50 uL at 2.94 mL/min by arithmetic."""
    fed, whole = 0.481543e-3 / 60, 2.82726e-3 / 60
    lost, kept, volume = dp.collect_modifier(
        293.15, 101325.0, co2, dp.Fluid("methanol"), gas_mass_flow_rate=whole - fed, modifier_mass_flow_rate=fed
    )
    assert volume * 6e7 == pytest.approx(0.289979, rel=1e-3)
    assert lost + kept == pytest.approx(fed, rel=1e-12)
    dense = co2.state(temperature=313.15, pressure=150e5)
    delay = dp.collection_delay(2.94e-6 / 60 * dense.density, [50e-9], [dense])
    assert delay == pytest.approx(1.02041, rel=1e-5)
    assert dp.make_up_flow(1e-6 / 60, 10.0) * 6e7 == pytest.approx(0.1, rel=1e-9)
    words = list(dp.gas_detectors()["word"])
    assert "flame_ionisation" in words


def test_detectors_for_gas(co2: dp.Fluid) -> None:
    """1.842 kg/m3 of carbon dioxide at 20 degC and 101325 Pa (CoolProp 8.0.0); 20 mL/min is common practice, no source."""
    flame = dp.GasDetector(detector="flame_ionisation")
    gas = flame.gas(co2, 2e-6)
    density = PropsSI("D", "T", 293.15, "P", 101325.0, "CO2")
    assert gas.gas_volume_flow_rate == pytest.approx(2e-6 / density, rel=1e-9)
    assert gas.flow_ratio == pytest.approx(2e-6 / density / (20e-6 / 60), rel=1e-9)
    assert [notice.code for notice in gas.notices] == ["detector_unsuited", "flammable", "hot_surface"]
    assert dp.GasDetector().gas(co2, 2e-6).flow_ratio is None
    wide = dp.GasDetector(flow_limit=1e-5)
    assert wide.gas(co2, 2e-6).notices == ()
    assert pickle.loads(pickle.dumps(flame)) == flame
    assert pickle.loads(pickle.dumps(gas)) == gas
    outlet = flame.outlet(co2.state(temperature=373.15, pressure=101325.0), 2e-6)
    facts = dict(zip(outlet.facts["name"], outlet.facts["value"], strict=True))
    assert facts["flow over the largest that the detector takes"] == gas.flow_ratio
    with pytest.raises(dp.ArgumentError, match="did you mean"):
        dp.GasDetector(detector="flame_ionization")


def test_what_plugs_a_tip() -> None:
    assert dp.tip_notices(373.15) == ()
    assert dp.tip_notices(373.15, melting_temperature=353.4) == ()
    (ice,) = dp.tip_notices(263.15)
    assert "water" in ice.text
    (solid,) = dp.tip_notices(313.15, solute="naphthalene", melting_temperature=353.4)
    assert "naphthalene melts at 80.3 degC" in solid.text
    with pytest.raises(dp.DomainError):
        dp.tip_notices(-1.0)
