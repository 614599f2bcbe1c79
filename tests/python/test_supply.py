"""What a pump is fed with and what it does: suction lines, gas, geometry, waveforms, cooling, barrels, blends, cautions.

(C) marks numbers of an independent computation with CoolProp 8.0.0.
"""

from __future__ import annotations

import pickle
from typing import Any

import numpy as np
import pytest

import densepath as dp

CO2 = dp.Fluid("carbon dioxide")
BAR = 1e5
MILLILITRE = 1e-6
PER_MINUTE = 1.0 / 60.0


def state(degc: float, bar: float) -> dp.State:
    return CO2.state(temperature=degc + 273.15, pressure=bar * BAR)


def test_the_losses_of_a_line_are_told_apart_and_add_up() -> None:
    supply = dp.Cylinder(volume=40e-3, mass=20.0).supply(CO2, 293.15)
    line = dp.SuctionLine(
        pressure_drop=0.7 * BAR,
        filter_pressure_drop=0.5 * BAR,
        purifier_pressure_drop=0.3 * BAR,
        height=1.0,
        accelerated_length=2.0,
        acceleration=3.0,
    )
    feed = line.feed(supply, 278.15)
    parts = [
        feed.flow_pressure_drop,
        feed.filter_pressure_drop,
        feed.purifier_pressure_drop,
        feed.lift_pressure_drop,
        feed.acceleration_pressure_drop,
    ]
    assert feed.pressure_drop == pytest.approx(sum(parts), rel=1e-14)
    assert parts[:3] == pytest.approx([0.7 * BAR, 0.5 * BAR, 0.3 * BAR])
    assert parts[3] == pytest.approx(supply.density * 9.80665)
    assert parts[4] == pytest.approx(supply.density * 6.0)
    assert feed.state.pressure == pytest.approx(supply.pressure - feed.pressure_drop)
    assert pickle.loads(pickle.dumps(line)) == line and pickle.loads(pickle.dumps(feed)) == feed
    # (C) 1.5 bar of losses: 13.8726 K; a head at 12 degC is told of.
    alone = dp.SuctionLine(pressure_drop=1.5 * BAR)
    assert alone.feed(supply, 278.15).temperature_margin == pytest.approx(13.8726, rel=1e-5)
    assert alone.feed(supply, 285.15).notices[0].code == "suction_margin"
    with pytest.raises(dp.ArgumentError):
        dp.SuctionLine(pressure_drop=1.0, acceleration=1.0)
    with pytest.raises(dp.FlowError):
        alone.feed(supply, 300.0)


def test_a_supply_of_gas_is_condensed_or_boosted() -> None:
    vapour = dp.Cylinder(volume=40e-3, mass=20.0, withdrawal="vapour").supply(CO2, 293.15)
    made = dp.condense(vapour, 278.15, 5e-5)
    # (C) 197 724.6 J/kg
    assert made.heat_flow_rate == pytest.approx(5e-5 * 197724.6439, rel=1e-7)
    assert made.subcooling == pytest.approx(15.0)
    with pytest.raises(dp.ConvergenceError):
        dp.condense(vapour, 295.0, 5e-5)
    gas = CO2.state(temperature=293.15, pressure=20e5)
    # (C) 393.3066 K
    assert dp.boost(gas, 50e5, 0.6, 5e-5).outlet.temperature == pytest.approx(393.306555, rel=1e-7)
    with pytest.raises(dp.FlowError):
        dp.boost(gas, 10e5, 0.6, 5e-5)


def test_helium_comes_with_a_caution() -> None:
    plain, padded = (dp.Cylinder(volume=40e-3, mass=28.0, helium_padded=padded) for padded in (False, True))
    told = padded.content(CO2, 293.15)
    assert told.liquid_mass == plain.content(CO2, 293.15).liquid_mass
    assert "helium" in told.notices[0].text and not plain.content(CO2, 293.15).notices


def test_a_purge_and_a_pump_that_holds_gas() -> None:
    assert dp.purge_volume(1e-6, 2e-6, 0.01) == pytest.approx(1e-6 + 2e-6 * np.log(100.0))
    found = dp.priming(CO2.saturation(temperature=278.15).vapour, 1.0, 150e5)
    # (C) 98.915 bar; half of the gas stays at each stroke.
    assert found.highest_pressure == pytest.approx(9891530.4, rel=1e-6)
    assert not found.primes and found.strokes == 8.0


def test_a_pump_of_known_geometry() -> None:
    make: dict[str, Any] = {"head_temperature": 278.15, "volume_flow_rate": 3 * MILLILITRE * PER_MINUTE}
    feed = state(5.0, 57.3)
    told = dp.ReciprocatingPump(
        **make, counted_at="suction", heads=2, swept_volume=50e-9, clearance_volume=10e-9, mechanical_efficiency=0.8
    )
    ratio = dp.ReciprocatingPump(**make, counted_at="suction", clearance_ratio=0.2)
    assert told.stroke(feed, 150 * BAR).expected == ratio.stroke(feed, 150 * BAR).expected
    stroke = told.stroke(feed, 150 * BAR).expected
    # (C) efficiency 0.986281
    assert stroke.volumetric_efficiency == pytest.approx(0.986281, rel=1e-6)
    flow = told.delivered_mass_flow_rate(feed, 150 * BAR, 313.15, 150 * BAR)
    assert flow == pytest.approx(3 * MILLILITRE * PER_MINUTE * feed.density * 0.986281, rel=1e-6)
    # What is swept is what is set: half of 3 mL/min over 50 uL.
    assert told.stroke_frequency(feed, stroke, flow) == pytest.approx(0.5, rel=1e-12)
    duty = told.head_duty(state(20.0, 60.0), feed, 150 * BAR, flow)
    assert duty.friction == pytest.approx(0.25 * duty.isentropic_power)
    assert duty.total == pytest.approx(duty.feed_cooling + duty.compression_cooling + duty.friction)
    slow, fast = (
        dp.ReciprocatingPump(**make, counted_at="delivery", heads=2, swept_volume=50e-9, relaxation_time=time).stroke(
            feed, 150 * BAR
        )
        for time in (1e4, 1e-4)
    )
    assert slow.isothermal_share < 1e-4 and fast.isothermal_share > 0.99
    assert pickle.loads(pickle.dumps(told)) == told
    with pytest.raises(dp.DomainError, match="swept volume"):
        dp.ReciprocatingPump(**make, counted_at="suction", heads=2, swept_volume=50e-9, clearance_volume=51e-9)
    wrong_ways: list[dict[str, Any]] = [
        {"heads": 2},
        {"heads": 2, "swept_volume": 5e-8, "clearance_volume": 1e-9, "clearance_ratio": 0.1},
    ]
    for wrong in wrong_ways:
        with pytest.raises(dp.ArgumentError):
            dp.ReciprocatingPump(**make, counted_at="suction", **wrong)
    with pytest.raises(dp.ArgumentError, match="counted"):
        dp.ReciprocatingPump(**make)


def test_the_waveform_of_a_pump() -> None:
    stroke = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5).stroke(state(5.0, 57.3), 150 * BAR).expected
    right = stroke.volume_fraction
    # Three sines of half a turn: from cos 30 degrees to 1, in the mean 3/pi.
    three = dp.pump_waveform(stroke, heads=3, motion="crank", compensated_volume_fraction=right, steps=7200)
    assert three.swing == pytest.approx(np.pi / 3 * (1 - np.cos(np.pi / 6)), rel=1e-5)
    assert np.mean(three.points.flow) == pytest.approx(1.0)
    two = dp.pump_waveform(stroke, heads=2, period=2.0, time_constant=3.0)
    # The same lag by many turns of a fine-step integration from rest.
    level, step = 0.0, 2.0 / 720
    levels = [level := level + (flow - level) * -np.expm1(-step / 3.0) for _ in range(30) for flow in two.points.flow]
    last = np.array(levels[-720:])
    assert two.damped_swing == pytest.approx(last.max() - last.min(), rel=1e-6)
    assert two.damped_swing < two.swing
    with pytest.raises(dp.ArgumentError):
        dp.pump_waveform(stroke, heads=2, motion="other")  # type: ignore[arg-type]
    with pytest.raises(dp.DomainError):
        dp.pump_waveform(stroke, heads=2, compensated_volume_fraction=2 * right)
    assert dp.ripple_attenuation(0.5, 4.0) == pytest.approx(1 / np.hypot(1, 4 * np.pi))


def test_what_cools_a_head() -> None:
    bath = dp.bath_cooling(10.0, 278.15, 5.0, 20.0)
    assert 20.0 * (bath.return_temperature - bath.supply_temperature) == pytest.approx(10.0)
    cooler = dp.thermoelectric_cooling(10.0, 278.15, 303.15, 0.8)
    assert (cooler.power, cooler.rejected) == (12.5, 22.5)
    with pytest.raises(dp.DomainError, match="perfect"):
        dp.thermoelectric_cooling(10.0, 278.15, 303.15, 20.0)


def test_a_barrel_fills_drifts_and_can_be_too_slow() -> None:
    pump = dp.SyringePump(
        barrel_volume=250e-6,
        barrel_temperature=293.15,
        set_pressure=200e5,
        reserve_fraction=0.1,
        largest_displacement=1000e-9 * PER_MINUTE,
    )
    assert pump.refill_time(10 * MILLILITRE * PER_MINUTE) == pytest.approx(0.9 * 25 * 60)
    barrel = pump.precompress(CO2.saturation(temperature=293.15).liquid)
    drift = barrel.thermal_drift(200e-6, 300.0, 0.0)
    expansivity = CO2.isobaric_expansivity(293.15 + barrel.temperature_rise, 200e5)
    assert drift == pytest.approx(200e-6 * expansivity * barrel.temperature_rise / 300.0)
    assert barrel.thermal_drift(200e-6, 300.0, 3000.0) < 1e-3 * drift
    # (C) 1785.82 uL/min of 250 mL at 100 bar for 5 bar/min: more than the piston gives.
    with pytest.raises(dp.FlowError) as refused:
        pump.displacement_rate(state(20.0, 100.0), 250e-6, 5 * BAR * PER_MINUTE, 0.0)
    assert refused.value.code == 505 and refused.value.value == pytest.approx(1785.82e-9 * PER_MINUTE, rel=1e-5)
    assert pump.displacement_rate(state(20.0, 100.0), 50e-6, 5 * BAR * PER_MINUTE, 0.0) == pytest.approx(
        357.164e-9 * PER_MINUTE, rel=1e-5
    )


def test_a_pressure_cannot_rise_faster_than_the_pumps_fill() -> None:
    here, flow = state(40.0, 150.0), 2.93214e-3 * PER_MINUTE
    limit = dp.fastest_pressure_rise(here, 5e-6, flow)
    assert dp.require_pressure_rise(here, 5e-6, flow, 0.9 * limit) == 0.9 * limit
    with pytest.raises(dp.FlowError) as refused:
        dp.require_pressure_rise(here, 5e-6, flow, 1.1 * limit)
    assert refused.value.code == 505 and refused.value.max == limit


def test_how_sure_a_blend_is_and_what_it_leaves() -> None:
    flow = 3 * MILLILITRE * PER_MINUTE
    feeds = {"carbon dioxide": (0.8 * flow, 278.15, 15e6), "methanol": (0.2 * flow, 295.15, 15e6)}
    made = dp.blend(feeds)
    budget = made.mass_fraction_budget("methanol", relative_flow=[0.01, 0.0], temperature=[0.0, 0.0], pressure=[0.0, 0.0])
    w = made.mass_fraction["methanol"]
    assert budget.standard_uncertainty == pytest.approx(w * (1 - w) * 0.01)
    assert list(budget.shares.by_flow) == [budget.standard_uncertainty, 0.0]
    with pytest.raises(dp.ArgumentError):
        made.mass_fraction_budget("water", relative_flow=[0.0, 0.0], temperature=[0.0, 0.0], pressure=[0.0, 0.0])
    # 20 mM of a formate of 63.06 g/mol in a fifth of 3 mL/min, counted at the pump: 0.757 mg/min.
    left = made.residue(1, 20.0, 295.15, 15e6, time=60.0, molar_mass=0.06306)
    assert left == pytest.approx(20.0 * 0.2 * flow * 0.06306 * 60.0, rel=1e-12)


def test_vent_and_waste() -> None:
    stages = dp.decompress(state(40.0, 150.0), 5e-5, pressures=[20e5, 101325.0], temperatures=[293.15, 293.15])
    hour = dp.waste(stages, 3600.0)
    assert hour.gas_mass == pytest.approx(0.18)
    assert hour.gas_volume == pytest.approx(0.18 / CO2.density(293.15, 101325.0), rel=1e-9)
    assert hour.liquid_mass == 0.0
    with pytest.raises(dp.DomainError):
        dp.waste([], 1.0)


def test_cautions_come_with_what_is_dangerous() -> None:
    liquid = state(5.0, 57.3)
    # (C) 7.08102 bar/K; 1.91134 mL/min; 2.43418 bar
    heated = dp.heated_shut_in(liquid, 50e-6, 10.0)
    assert heated.relief_volume_flow_rate == pytest.approx(1.91134 * MILLILITRE * PER_MINUTE, rel=1e-5)
    assert dp.pressure_hammer(liquid, 0.5).pressure_rise == pytest.approx(2.43418 * BAR, rel=1e-5)
    warmer = dp.blocked_in(liquid, 278.15 + 0.01).warmed
    heat = (warmer.specific_internal_energy - liquid.specific_internal_energy) * liquid.density * 50e-6
    assert heated.pressure_rate == pytest.approx((warmer.pressure - liquid.pressure) / (heat / 10.0), rel=1e-3)
    # A whole cylinder let out is told of, however little the vent gives.
    room = dp.room_exposure(60.0, 6 / 3600, gas_volume_flow_rate=1e-9, mass=30.0)
    assert [notice.code for notice in room.notices] == ["asphyxiation"]
    assert "dangerous to life" in room.notices[0].text
    assert room.fraction_after_release == pytest.approx(0.238, abs=1e-3)
