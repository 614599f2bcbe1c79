"""Running an instrument: programs, pulses, cycles, signs of faults, and what can hurt.

Numbers marked (C) are independent computations with CoolProp 8.0.0, (A) independent arithmetic.
"""

from __future__ import annotations

import numpy as np
import pytest

import densepath as dp
from densepath.units import BAR, MINUTE, from_celsius

CO2 = dp.Fluid("carbon dioxide")
GRAM_PER_MINUTE = 1e-3 / 60


def state(degc: float, bar: float) -> dp.State:
    return CO2.state(temperature=from_celsius(degc), pressure=bar * BAR)


def test_rooms_and_shut_in_liquid() -> None:
    # (A) 60 m3, 0.5 changes an hour, 100 g/min: 109154 ppm, 5000 ppm after 5.16406 min.
    gas = 100 * GRAM_PER_MINUTE / CO2.density(293.15, 101325.0)
    room = dp.room_exposure(60.0, 0.5 / 3600, gas_volume_flow_rate=gas, mass=30.0)
    assert room.steady_fraction == pytest.approx(0.109154, rel=1e-4)
    assert room.time_to_exposure_limit == pytest.approx(5.16406 * MINUTE, rel=1e-4)
    assert room.fraction_after_release == pytest.approx(0.238, rel=5e-3)
    assert room.notices and room.notices[0].severity == "caution"
    assert dp.room_exposure(60.0, 6 / 3600, gas_volume_flow_rate=1e-6).fraction_after_release is None
    # (C) filled at 5 degC and 57.3 bar: 164.624 bar at 20 degC, 7.08102 bar/K at first.
    shut = dp.blocked_in(state(5.0, 57.3), 293.15, rating=150e5)
    assert shut.warmed.pressure == pytest.approx(164.624 * BAR, rel=1e-5)
    assert shut.pressure_coefficient == pytest.approx(7.08102 * BAR, rel=1e-5)
    assert [notice.code for notice in shut.notices] == ["blocked_in_liquid"]


def test_vessels_under_pressure() -> None:
    # (A) 1/16 inch outside, 0.25 mm inside, 115 MPa.
    assert dp.tube_rating(0.25e-3, 1.5875e-3, 115e6).pressure == pytest.approx(1094.3 * BAR, rel=1e-4)
    with pytest.raises(dp.DomainError):
        dp.tube_rating(1e-3, 1e-3, 115e6)
    full = state(40.0, 150.0)
    assert dp.stored_energy(full, 2e-5).energy == pytest.approx(2 * dp.stored_energy(full, 1e-5).energy, rel=1e-12)
    course = dp.let_down(full, volume=5e-6, diameter=1e-4, end_pressure=20 * BAR)
    assert course.is_complete and course.course.pressure[-1] == pytest.approx(20 * BAR, rel=5e-3)
    assert course.time == course.course.time[-1] and np.all(np.diff(course.course.mass) < 0)
    assert course.lowest_temperature == course.course.temperature.min() < 273.15
    again = dp.let_down(full, volume=5e-6, diameter=2e-4, end_pressure=20 * BAR)
    assert again.time == pytest.approx(course.time / 4, rel=1e-9)
    with pytest.raises(dp.ArgumentError):
        dp.let_down(full, volume=5e-6, diameter=1e-4, end_pressure=20 * BAR, drawn="foam")  # type: ignore[arg-type]


def test_vapours_that_burn() -> None:
    # (C) carbon dioxide saturated with methanol at 20 degC: 12.8613 %.
    vent = dp.vapour_in_vent(dp.Fluid("methanol"), 293.15)
    assert vent.volume_fraction == pytest.approx(0.128613, rel=1e-5)
    assert vent.lower_flammable_limit == 0.06 and vent.notices[0].code == "flammable"
    table = dp.flammable_substances()
    assert table.row("ethanol")["flash_point"] == 285.15
    assert set(table.name) <= {fluid.name for fluid in dp.substances()}


def test_density_programs_become_pressures() -> None:
    # (C) 10 (kg/m3)/min at 100 degC: 3.86302 bar/min at 200 and 13.0136 at 750 kg/m3.
    program = ([0.0, 55 * MINUTE], [373.15] * 2, [200.0, 750.0])
    made = dp.density_schedule(CO2, *program, tolerance=1e-6)
    rates = np.diff(made.points.pressure) / np.diff(made.points.time) * MINUTE / BAR
    assert (rates[0], rates[-1]) == pytest.approx((3.86302, 13.0136), rel=0.01)
    assert made.fastest_rise == pytest.approx(rates.max() * BAR / MINUTE)
    coarse = dp.density_schedule(CO2, *program, tolerance=1e-2)
    middle = 0.5 * (coarse.points.time[1:] + coarse.points.time[:-1])
    got = CO2.density(373.15, np.interp(middle, coarse.points.time, coarse.points.pressure))
    wanted = np.interp(middle, program[0], program[2])
    assert np.abs(got / wanted - 1).max() == pytest.approx(coarse.density_error, rel=1e-6) and coarse.density_error <= 1e-2
    with pytest.raises(dp.PhaseError):
        dp.density_schedule(CO2, [0.0, 1.0], [293.15] * 2, [900.0, 100.0])
    with pytest.raises(dp.ArgumentError):
        dp.density_schedule(CO2, [0.0, 1.0], [293.15], [900.0, 800.0])


def test_how_fast_pressure_may_change() -> None:
    for bar, expected in ((100.0, 77.7045), (150.0, 373.589), (300.0, 1075.69)):  # (C) bar/min
        rise = dp.fastest_pressure_rise(state(40.0, bar), 5e-6, 2.93214 * GRAM_PER_MINUTE)
        assert rise * MINUTE / BAR == pytest.approx(expected, rel=1e-4)
        assert dp.storage_mass_flow_rate(state(40.0, bar), 5e-6, rise) == pytest.approx(2.93214 * GRAM_PER_MINUTE)


def test_gradients_arrive_late_and_smooth() -> None:
    # (A) 35 % in 4 min behind 200 uL at 3 mL/min: 0.583333 % behind in the end.
    tau = 200e-9 / (3e-6 / 60)
    time = np.array([0.0, 120.0, 240.0])
    lag = (time - dp.delayed_ramp(time, delay=0.0, time_constant=tau)) * 35.0 / 240.0
    assert lag[-1] == pytest.approx(0.583333, rel=1e-6)
    # The same from the differential equation, in fine steps.
    steps = np.linspace(0.0, 60.0, 60_001)
    out = np.zeros_like(steps)
    dt = steps[1]
    for i in range(1, len(steps)):
        entering = max(0.0, 0.5 * (steps[i] + steps[i - 1]) - 8.0)
        out[i] = out[i - 1] + (entering - out[i - 1]) * -np.expm1(-dt / tau)
    assert dp.delayed_ramp(steps, delay=8.0, time_constant=tau) == pytest.approx(out, abs=1e-3)


def test_the_pulse_of_a_pump() -> None:
    suction = state(5.0, 57.3)
    pump = dp.ReciprocatingPump(head_temperature=278.15, volume_flow_rate=3e-6 / 60, counted_at="delivery", clearance_ratio=0.2)
    stroke = pump.stroke(suction, 150 * BAR).isothermal
    flow = 2.93 * GRAM_PER_MINUTE
    cushion = {"cushion": state(40.0, 150.0), "cushion_volume": 1e-6, "resistance": 40 * BAR / flow}
    pulse = dp.pump_pulse(stroke, suction, flow, heads=2, swept_volume=50e-9, **cushion)
    assert pulse.flow_error == pytest.approx(-0.0770307, rel=1e-5)  # (C) share of the stroke that compresses
    # (C) each stroke leaves 0.986281 of what it sweeps.
    assert pulse.frequency == pytest.approx(flow / suction.density / 50e-9 / 0.986281, rel=1e-6)
    assert pulse.notices[0].code == "pulsation"
    right = dp.pump_pulse(
        stroke, suction, flow, heads=2, swept_volume=50e-9, compensated_volume_fraction=stroke.volume_fraction, **cushion
    )
    assert right.pressure_swing < 1.0 and not right.notices


def test_signs_of_faults() -> None:
    assert dp.ripple_suspect(1.0, dp.stroke_frequency(3e-6 / 60, 2, 50e-9), 2) == "every head"
    here = state(40.0, 100.0)
    error = dp.density_error(here, 0.1, 1 * BAR)
    # (C) 1.20057 % for 1 bar and 0.333979 % for 0.1 K; differences over the whole step, ours the slope.
    assert error.by_pressure / here.density == pytest.approx(0.0120057, rel=0.02)
    assert error.by_temperature / here.density == pytest.approx(0.00333979, rel=0.02)
    assert error.total == pytest.approx(np.hypot(error.by_temperature, error.by_pressure))
    lost = (CO2.density(295.15, 150e5) - CO2.density(295.15, 149.9e5)) * 3e-6
    leak = dp.leak_mass_flow_rate(CO2.state(temperature=295.15, pressure=149.95e5), 3e-6, -0.1 * BAR / 300.0)
    assert leak * 300.0 == pytest.approx(lost, rel=1e-6)
    dry = dp.mass_flow_from_gas_meter(CO2, 2.65e-5, 293.15, 101325.0)
    assert dry == pytest.approx(2.65e-5 * CO2.density(293.15, 101325.0))
    assert dp.mass_flow_from_gas_meter(CO2, 2.65e-5, 293.15, 101325.0, vapour_pressure=2339.0) < dry


def test_cycles_and_stacked_injections() -> None:
    assert dp.cycle_time(300.0, handling_time=60.0, equilibration_volume=5e-6, volume_flow_rate=3e-6 / 60) == pytest.approx(460.0)
    stacked = dp.stacked_injections([100.0, 180.0, 120.0], [1.0, 6.25, 1.44], gap=2.0)
    assert (stacked.window, stacked.interval, stacked.on_the_way) == pytest.approx((94.0, 96.0, 2.0))
    assert stacked.injections_per_day == pytest.approx(900.0)
    with pytest.raises(dp.ArgumentError):
        dp.stacked_injections([1.0], [1.0, 2.0])
