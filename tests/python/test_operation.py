"""Running an instrument: programs, pulses, cycles, signs of faults, and what can hurt.

Numbers marked (C) are independent computations with CoolProp 8.0.0, (A) independent arithmetic.
"""

from __future__ import annotations

import pickle
import tomllib
from pathlib import Path
from typing import Any

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
    with pytest.raises(dp.StoppedError):
        dp.let_down(full, volume=5e-6, diameter=1e-4, end_pressure=20 * BAR, time_limit=0.0)


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


def test_the_cycle_of_a_method_uses_up_what_its_stations_say() -> None:
    """Times against the stations and the bands; consumption against 2.93214 g/min and 1.40743 kg in 8 h: independent computation with
    CoolProp 8.0.0 of 3 mL/min counted at 5 degC and 150 bar."""
    text = Path("tests/methods/packed.toml").read_text(encoding="utf-8")
    document = tomllib.loads(text)
    pump = next(part for part in document["part"] if part["name"] == "pump")
    del pump["volume_flow_rate"], pump["counted_at"]
    pump["mass_flow_rate"] = "2.93214 g/min"
    solution = dp.solve(document)
    cycle = solution.cycle(8 * 3600.0, equilibration_volumes=0.0)
    assert cycle.uses.row("carbon dioxide")["per_run"] == pytest.approx(1.40743, rel=1e-5)
    assert cycle.uses.row("carbon dioxide")["per_day"] == pytest.approx(3 * 1.40743, rel=1e-5)
    assert (cycle.cycle_time, cycle.runs_per_day, cycle.equilibration_time) == (8 * 3600.0, 3.0, 0.0)
    duties = {f"{part}: {purpose}": heat for part, purpose, heat in zip(*(solution.duties[name] for name in solution.duties.columns[:3]), strict=True)}
    assert duties
    for name, heat in duties.items():
        assert cycle.uses.row(name)["per_run"] == pytest.approx(heat * 8 * 3600.0, rel=1e-12)
    # Volume over volume flow rate, part by part: mixer of 200 uL, loop of 10 uL and tubes of 0.17 mm between pump and column.
    before = {"mixer": 200e-9, "loop": 10e-9, "injector tube": 0.3 * np.pi / 4 * 0.17e-3**2, "preheater": 1.0 * np.pi / 4 * 0.17e-3**2}
    volumes = sum(volume * solution.station(name).density for name, volume in before.items()) / solution.mass_flow_rate
    again = solution.cycle(240.0, handling_time=20.0)
    assert again.dwell_time == pytest.approx(volumes, rel=5e-3)
    assert solution.column is not None
    assert again.column_time == solution.column.hold_up_time
    assert again.equilibration_time == pytest.approx(again.dwell_time + 10 * again.column_time, rel=1e-14)
    assert again.cycle_time == pytest.approx(260.0 + again.equilibration_time, rel=1e-14)
    assert pickle.loads(pickle.dumps(again)) == again
    with pytest.raises(dp.DomainError):
        solution.cycle(0.0)


def test_a_program_uses_up_the_integral_of_its_flow() -> None:
    """Flow from 2 to 4 g/min in 5 min, then held to 10 min: 35 g, and 2 g in a minute of rest."""
    document = tomllib.loads(Path("tests/methods/packed.toml").read_text(encoding="utf-8"))
    pump = next(part for part in document["part"] if part["name"] == "pump")
    del pump["volume_flow_rate"], pump["counted_at"]
    pump["mass_flow_rate"] = "2 g/min"
    document["program"] = [
        {"part": "pump", "key": "mass_flow_rate", "time": ["0 min", "5 min"], "value": ["2 g/min", "4 g/min"]}
    ]
    cycle = dp.solve(document).cycle(600.0, handling_time=60.0, equilibration_volumes=0.0)
    assert cycle.uses.row("carbon dioxide")["per_run"] == pytest.approx(37e-3, rel=1e-9)
    assert cycle.runs_per_day == pytest.approx(86400.0 / 660.0)


def test_cycles_and_stacked_injections() -> None:
    assert dp.cycle_time(300.0, handling_time=60.0, equilibration_volume=5e-6, volume_flow_rate=3e-6 / 60) == pytest.approx(460.0)
    stacked = dp.stacked_injections([100.0, 180.0, 120.0], [1.0, 6.25, 1.44], gap=2.0)
    assert (stacked.window, stacked.interval, stacked.on_the_way) == pytest.approx((94.0, 96.0, 2.0))
    assert stacked.injections_per_day == pytest.approx(900.0)
    with pytest.raises(dp.ArgumentError):
        dp.stacked_injections([1.0], [1.0, 2.0])


def packed(name: str | None = None, program: dict[str, Any] | None = None, **keys: Any) -> dict[str, Any]:
    """The packed example with keys of one part changed, or left out where the value is None, and a program."""
    document = tomllib.loads(Path("tests/methods/packed.toml").read_text(encoding="utf-8"))
    for part in document["part"]:
        if part["name"] == name:
            part.update(keys)
            for key in [key for key, value in keys.items() if value is None]:
                del part[key]
    return {**document, **({"program": [program]} if program else {})}


def ramp(time: str, *pressures: str) -> dict[str, Any]:
    return {"part": "regulator", "key": "pressure", "time": ["0 min", time], "value": list(pressures)}


HEADS = {"clearance_ratio": None, "heads": 2, "swept_volume": "50 uL", "clearance_volume": "60 uL"}


@pytest.mark.parametrize(
    ("document", "code", "words"),
    [
        (packed("pump", counted_at=None), 605, "until it is said where it is counted"),
        (packed("pump", **HEADS), 590, "swept volume must not be smaller"),
        (packed(program=ramp("0.01 min", "100 bar", "300 bar")), 505, "more than the flow of the pumps"),
        (packed(program=ramp("30 min", "150 bar", "40 bar")), 591, "does not stay one dense phase"),
    ],
    ids=["flow without convention", "swept volume below its clearance", "ramp beyond a limit", "program through the dome"],
)
def test_what_cannot_be_is_refused_by_name(document: dict[str, Any], code: int, words: str) -> None:
    with pytest.raises(dp.DensepathError, match=words) as refused:
        dp.solve(document).chromatogram(0.0, 300.0, 10.0)
    assert refused.value.code == code


def test_a_cylinder_full_of_liquid_is_told_of() -> None:
    """40 L with 30 kg are full of liquid from 22.06 degC on and hold 71.6846 bar at 25 degC (C): it can be, and is dangerous."""
    told = dp.Cylinder(volume=40e-3, mass=30.0).content(CO2, from_celsius(25.0))
    assert told.state.pressure == pytest.approx(71.6846 * BAR, rel=1e-5)
    assert {notice.code for notice in told.notices} == {"cylinder_level", "blocked_in_liquid"}
    assert told.is_liquid_full and told.liquid_full_mass == pytest.approx(28.42008, rel=1e-6)


FULL = {"mass": "30 kg", "temperature": "25 degC"}


def test_a_cylinder_full_of_liquid_feeds_no_pump_without_leave() -> None:
    """Liquid of 710.502 kg/m3 at 25 degC fills 40 L with 28.42008 kg (CoolProp 8.0.0)."""
    with pytest.raises(dp.FlowError, match=r"22\.06.* degC.*allow_liquid_full = true") as refused:
        dp.solve(packed("supply cylinder", **FULL))
    error = refused.value
    assert (error.code, error.element, error.quantity, error.value) == (590, "supply cylinder", "mass", 30.0)
    assert error.max == pytest.approx(28.42008, rel=1e-6)
    with pytest.raises(dp.FlowError, match="takes less than 28.42") as refused:
        dp.Cylinder(volume=40e-3, mass=30.0).supply(CO2, from_celsius(25.0))
    assert refused.value.code == 506


def test_with_leave_a_full_cylinder_feeds_and_keeps_its_cautions() -> None:
    solution = dp.solve(packed("supply cylinder", allow_liquid_full=True, **FULL))
    told = {(notice.code, notice.station, notice.severity) for notice in solution.notices}
    assert ("blocked_in_liquid", "supply cylinder", "caution") in told
    supply = dp.Cylinder(volume=40e-3, mass=30.0, allow_liquid_full=True).supply(CO2, from_celsius(25.0))
    assert supply.pressure == pytest.approx(71.6846 * BAR, rel=1e-5)
    for leave in ({}, {"allow_liquid_full": True}):
        with pytest.raises(dp.DensepathError, match="fills the volume given with liquid") as refused:
            dp.solve(packed("supply cylinder", mass="45 kg", temperature="25 degC", **leave))
        assert (refused.value.code, refused.value.quantity) == (590, "pressure")
