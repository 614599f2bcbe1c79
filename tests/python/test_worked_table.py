"""Every worked example of supply, pumps, blending, programs and safety is met, or is an exception with its reason.

The rows were computed apart from this library, with CoolProp 8.0.0 and arithmetic; every state of carbon dioxide behind them is compared
with CoolProp here once more.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import CoolProp.CoolProp as cp
import numpy as np
import pytest

import densepath as dp
from densepath.units import BAR, MICROMETRE, MILLILITRE, from_celsius, to_celsius

TABLE = json.loads((Path(__file__).parents[1] / "published" / "worked.json").read_text(encoding="utf-8"))
ROWS: list[dict[str, Any]] = TABLE["rows"]
CO2 = dp.Fluid("carbon dioxide")
METHANOL = dp.Fluid("methanol")
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
GRAM, MILLIGRAM = 1e-3, 1e-6
MICROLITRE = 1e-9
PER_MINUTE = 1.0 / MINUTE

# States of one phase by temperature and pressure, and temperatures of saturation, that the rows rest on.
STATES: set[tuple[float, float]] = set()
SATURATIONS: set[float] = set()


def state(degc: float, bar: float) -> dp.State:
    STATES.add((from_celsius(degc), bar * BAR))
    return CO2.state(temperature=from_celsius(degc), pressure=bar * BAR)


def saturation(degc: float) -> dp.Saturation:
    SATURATIONS.add(from_celsius(degc))
    return CO2.saturation(temperature=from_celsius(degc))


FEED = (5.0, 57.3)
# Where 3 mL/min are counted.
COUNTED = (5.0, 150.0)


def flow(millilitres_per_minute: float = 3.0) -> float:
    return state(*COUNTED).density * millilitres_per_minute * MILLILITRE * PER_MINUTE


def cylinder(degc: float, mass: float = 30.0) -> dp.CylinderContent:
    if degc < to_celsius(CO2.critical_point().temperature):
        saturation(degc)
    return dp.Cylinder(volume=40e-3, mass=mass).content(CO2, from_celsius(degc))


def suction(cylinder_degc: float = 20.0, head_degc: float = 5.0) -> dp.Suction:
    supply = saturation(cylinder_degc).liquid
    saturation(head_degc)
    return dp.SuctionLine(pressure_drop=1.5 * BAR).feed(supply, from_celsius(head_degc))


def stroke(bar: float, clearance: float, way: str, field: str) -> float:
    pump = dp.ReciprocatingPump(head_temperature=from_celsius(5.0), mass_flow_rate=1e-5, clearance_ratio=clearance)
    state(5.0, bar)
    compression = getattr(pump.stroke(state(*FEED), bar * BAR), way)
    value = float(getattr(compression, field))
    return to_celsius(value) if field == "temperature" else value


def bookkeeping(bar: float) -> float:
    pump = dp.ReciprocatingPump(head_temperature=from_celsius(5.0), mass_flow_rate=1e-5)
    return 100.0 * pump.stroke(state(*FEED), bar * BAR).bookkeeping_error


def mass_flow(counted_at: str, bar: float, head_degc: float = 5.0) -> float:
    state(40.0, bar), state(head_degc, bar)
    pump = dp.ReciprocatingPump(
        head_temperature=from_celsius(head_degc), volume_flow_rate=3 * MILLILITRE * PER_MINUTE, counted_at=counted_at
    )
    delivered = pump.delivered_mass_flow_rate(state(head_degc, FEED[1]), bar * BAR, from_celsius(40.0), bar * BAR)
    return delivered / (GRAM * PER_MINUTE)


def change(one: float, other: float) -> float:
    return 100.0 * (other / one - 1.0)


def duty(degc: float, field: str, *, vapour: bool = False) -> float:
    """Of 10 mL/min counted at 5 degC and 150 bar, from a cylinder at a temperature."""
    found = saturation(degc)
    cold = state(5.0, found.pressure / BAR)
    pump = dp.ReciprocatingPump(head_temperature=from_celsius(5.0), mass_flow_rate=1e-5)
    supply = found.vapour if vapour else found.liquid
    return float(getattr(pump.head_duty(supply, cold, 150 * BAR, flow(10.0)), field))


def barrel(millilitres: float, degc: float, bar: float = 200.0) -> tuple[dp.State, dp.Precompression]:
    pump = dp.SyringePump(barrel_volume=millilitres * MILLILITRE, barrel_temperature=from_celsius(degc), set_pressure=bar * BAR)
    pressure = saturation(20.0).pressure
    # At 20 degC the barrel holds the saturated liquid itself.
    filled = saturation(20.0).liquid if degc == 20.0 else pump.fill(CO2, pressure)
    state(degc, bar)
    return filled, pump.precompress(filled)


def column_flow(bar: float) -> float:
    """Mass flow rate of 2 cm/s in 50 um at 100 degC."""
    return state(100.0, bar).density * 0.02 * math.pi / 4 * (50 * MICROMETRE) ** 2


def run_time(split: float) -> float:
    pump = dp.SyringePump(
        barrel_volume=50 * MILLILITRE, barrel_temperature=from_celsius(20.0), set_pressure=200 * BAR, reserve_fraction=0.1
    )
    return pump.run_time(state(20.0, 200.0), column_flow(200.0) * (1.0 + split)) / HOUR


def ramp_displacement(millilitres: float) -> float:
    pump = dp.SyringePump(barrel_volume=1e-3, barrel_temperature=from_celsius(20.0), set_pressure=200 * BAR)
    rate = pump.displacement_rate(state(20.0, 100.0), millilitres * MILLILITRE, 5 * BAR * PER_MINUTE, 0.0)
    return rate / (MICROLITRE * PER_MINUTE)


def blended(percent: float, bar: float = 150.0, head_degc: float = 5.0) -> dp.Blend:
    total, share = 3 * MILLILITRE * PER_MINUTE, percent / 100.0
    state(head_degc, bar)
    return dp.blend(
        {
            CO2: ((1.0 - share) * total, from_celsius(head_degc), bar * BAR),
            METHANOL: (share * total, from_celsius(22.0), bar * BAR),
        }
    )


def blend(percent: float, field: str) -> float:
    made = blended(percent)
    if field == "flow":
        return made.mass_flow_rate / (GRAM * PER_MINUTE)
    shares = made.mass_fraction if field == "mass" else made.amount_fraction
    return float(shares["methanol"])


def blend_density(percent: float) -> float:
    return blended(percent).fluid.density(from_celsius(40.0), 150 * BAR) / 1e3


def mixture_density(amount_fraction: float) -> float:
    mixture = dp.Fluid({"carbon dioxide": 1.0 - amount_fraction, "methanol": amount_fraction})
    return mixture.density(from_celsius(40.0), 150 * BAR) / 1e3


def oven_flow(percent: float) -> float:
    return blend(percent, "flow") / blend_density(percent)


def ideal_oven_flow(percent: float) -> float:
    state(40.0, 150.0)
    return blended(percent).additive_volume_flow_rate(from_celsius(40.0), 150 * BAR) / (MILLILITRE * PER_MINUTE)


def salt() -> float:
    """20 mmol/L of ammonium formate, 63.06 g/mol, in a fifth of 3 mL/min, all that is left after a minute."""
    made = blended(20.0)
    kept = made.residue(1, 20.0, from_celsius(22.0), 150 * BAR, time=MINUTE, molar_mass=63.06e-3)
    return kept / MILLIGRAM


def water_fraction() -> float:
    """A twentieth of the modifier is water, by volume."""
    total = 3 * MILLILITRE * PER_MINUTE
    modifier = (from_celsius(22.0), 150 * BAR)
    made = dp.blend(
        {
            CO2: (0.8 * total, from_celsius(5.0), 150 * BAR),
            METHANOL: (0.19 * total, *modifier),
            dp.Fluid("water"): (0.01 * total, *modifier),
        }
    )
    return made.amount_fraction["water"]


def delay(microlitres: float, millilitres_per_minute: float) -> float:
    """When a step that is told at once arrives behind a volume: where a delayed ramp begins."""
    volume, rate = microlitres * MICROLITRE, millilitres_per_minute * MILLILITRE * PER_MINUTE
    told = dp.delayed_ramp([1e6], delay=volume / rate, time_constant=0.0)
    return 1e6 - float(told[0])


def mixer_lag() -> float:
    """35 % in 4 min behind a mixed volume of 200 uL at 3 mL/min, long after the start, in %."""
    time_constant = 200 * MICROLITRE / (3 * MILLILITRE * PER_MINUTE)
    late = 1e3
    return 35.0 / (4 * MINUTE) * (late - float(dp.delayed_ramp([late], delay=0.0, time_constant=time_constant)[0]))


def fastest_rise(bar: float) -> float:
    return dp.fastest_pressure_rise(state(40.0, bar), 5 * MILLILITRE, flow()) / (BAR * PER_MINUTE)


def storage_ratio(bar: float) -> float:
    volume = 10.0 * math.pi / 4 * (50 * MICROMETRE) ** 2
    stored = dp.storage_mass_flow_rate(state(100.0, bar), volume, 10 * BAR * PER_MINUTE)
    return stored / column_flow(bar)


def density_ramp(density: float) -> float:
    """Rise of the pressure of a schedule of 0.01 g/mL each minute around a density, at 100 degC."""
    half = 0.0005
    schedule = dp.density_schedule(
        CO2, [0.0, 2 * half * MINUTE], [from_celsius(100.0)] * 2, [density - 10 * half, density + 10 * half], tolerance=1e-6
    )
    state(100.0, schedule.points.pressure[0] / BAR)
    pressures = [float(pressure) for pressure in schedule.points.pressure]
    return (pressures[-1] - pressures[0]) / (2 * half * MINUTE) / (BAR * PER_MINUTE)


def hold_up() -> float:
    column = dp.OpenTubularColumn(diameter=50 * MICROMETRE, length=10.0, film_thickness=1e-7, film_diffusion_coefficient=1e-11)
    return column.hold_up_volume / (0.02 * math.pi / 4 * (50 * MICROMETRE) ** 2)


def fast_compression(field: str) -> float:
    _, found = barrel(50.0, 20.0)
    return found.temperature_rise if field == "temperature_rise" else 100.0 * found.density_deficit


def gas(grams_per_minute: float) -> float:
    return grams_per_minute * GRAM * PER_MINUTE / state(20.0, 1.01325).density


def room(grams_per_minute: float, changes: float) -> float:
    return 1e6 * dp.room_exposure(60.0, changes / HOUR, gas_volume_flow_rate=gas(grams_per_minute)).steady_fraction


def room_time(grams_per_minute: float, changes: float) -> float | None:
    found = dp.room_exposure(60.0, changes / HOUR, gas_volume_flow_rate=gas(grams_per_minute)).time_to_exposure_limit
    return None if found is None else found / MINUTE


def release() -> float:
    found = dp.room_exposure(60.0, 0.0, gas_volume_flow_rate=0.0, mass=30.0).fraction_after_release
    assert found is not None
    return 100.0 * found


def mass_for_share(percent: float) -> float:
    """The share of the room filled with gas."""
    return percent / 100.0 * 60.0 * state(20.0, 1.01325).density


def gas_at_oxygen() -> float:
    """The share of gas at which the oxygen of clean air, as the library counts it, is down to 19.5 %."""
    air = dp.room_exposure(1e12, 1.0, gas_volume_flow_rate=1e-30)
    clean = air.oxygen_fraction / (1.0 - air.steady_fraction)
    return 100.0 * (1.0 - 0.195 / clean)


SHUT_IN = {5.0: 57.3, -10.0: 60.0, 20.0: 57.4}


def shut_in(degc: float, end_degc: float) -> float:
    warmed = dp.blocked_in(state(degc, SHUT_IN[degc]), from_celsius(end_degc)).warmed
    return state(end_degc, warmed.pressure / BAR).pressure / BAR


def shut_in_slope(degc: float) -> float:
    slope = dp.blocked_in(state(degc, SHUT_IN[degc]), from_celsius(degc + 1.0)).pressure_coefficient
    assert slope is not None
    return slope / BAR


def headspace() -> float:
    found = saturation(5.0)
    vessel = CO2.state(temperature=from_celsius(5.0), density=0.8 * found.liquid.density + 0.2 * found.vapour.density)
    return dp.blocked_in(vessel, from_celsius(40.0)).warmed.pressure / BAR


def full_cylinder(degc: float) -> float:
    return state(degc, cylinder(degc).state.pressure / BAR).pressure / BAR


def transferred(field: str) -> float:
    """From 250 x 4.6 mm of 5 um at 3 mL/min and 150 bar behind it to 150 x 3.0 mm of 1.8 um at 2 mL/min, at 40 degC."""
    make: dict[str, Any] = {"interparticle_porosity": 0.40, "total_porosity": 0.70, "wall_temperature": from_celsius(40.0)}
    long = dp.PackedColumn(diameter=4.6e-3, length=0.25, particle_diameter=5e-6, **make)
    short = dp.PackedColumn(diameter=3.0e-3, length=0.15, particle_diameter=1.8e-6, **make)
    inlet = state(40.0, 176.81)
    mean = 0.5 * (inlet.density + long.outlet(inlet, flow()).state.density)
    # The table means the density at both ends; the library that along the column.
    low, high = 250.0, 450.0
    for _ in range(50):
        at = 0.5 * (low + high)
        end = short.outlet(CO2.state(temperature=from_celsius(40.0), pressure=at * BAR), flow(2.0)).state
        both = 0.5 * (CO2.density(from_celsius(40.0), at * BAR) + end.density)
        low, high = (at, high) if both < mean else (low, at)
    state(40.0, end.pressure / BAR), state(40.0, at)
    return {"outlet density": end.density, "pressure drop": at - end.pressure / BAR, "outlet pressure": end.pressure / BAR}[field]


def pinhole() -> float:
    hole = dp.OrificeRestrictor(diameter=5 * MICROMETRE, discharge_coefficient=0.6)
    state(40.0, 150.0)
    return hole.mass_flow_rate(CO2, from_celsius(40.0), 150 * BAR, 1.01325 * BAR) / (MILLIGRAM * PER_MINUTE)


def modifier_error() -> float:
    """1 % of 5 % of modifier with a slope of ln k of -0.20 for each %."""
    law = dp.RetentionLaw(
        {"constant": 1.0, "modifier": -20.0}, temperature=(300.0, 320.0), density=(600.0, 900.0), modifier_fraction=(0.0, 0.5)
    )
    ratio = law.retention_factor(313.15, 780.0, 0.0505) / law.retention_factor(313.15, 780.0, 0.05)
    return 100.0 * (ratio - 1.0)


COMPUTED: dict[str, Any] = {
    "saturation_pressure": lambda degc: saturation(degc).pressure / BAR,
    "liquid_density": lambda degc: saturation(degc).liquid.density,
    "vapour_density": lambda degc: saturation(degc).vapour.density,
    "cylinder_liquid_mass": lambda degc: cylinder(degc).liquid_mass,
    "cylinder_heel": lambda degc: cylinder(degc, 20.0).heel,
    "liquid_full_temperature": lambda: to_celsius(cylinder(20.0).liquid_full_temperature or math.nan),
    "subcooling": lambda **at: suction(**at).temperature_margin,
    "pressure_margin": lambda **at: suction(**at).pressure_margin / BAR,
    "flashed_mass": lambda: suction().vapour_fraction_uncooled,
    "flashed_volume": lambda: suction().void_fraction_uncooled,
    "flashed_mass_percent": lambda: 100.0 * suction().vapour_fraction_uncooled,
    "flashed_volume_percent": lambda: 100.0 * suction().void_fraction_uncooled,
    "stroke": stroke,
    "bookkeeping": bookkeeping,
    "mass_flow": mass_flow,
    "head_error": lambda: change(mass_flow("delivery", 150.0), mass_flow("delivery", 150.0, 6.0)),
    "pressure_change": lambda: change(mass_flow("delivery", 150.0), mass_flow("delivery", 300.0)),
    "duty": duty,
    "vapour_duty": lambda: duty(20.0, "feed_cooling", vapour=True),
    "barrel_mass": lambda millilitres, degc: barrel(millilitres, degc)[1].mass / GRAM,
    "barrel_travel": lambda millilitres, degc: barrel(millilitres, degc)[1].displaced_volume / MILLILITRE,
    "column_mass_flow": lambda bar: column_flow(bar) / (MILLIGRAM * PER_MINUTE),
    "head_flow": lambda bar: column_flow(bar) / state(20.0, bar).density / (MICROLITRE * PER_MINUTE),
    "ramp_displacement": ramp_displacement,
    "run_time": run_time,
    "blend": blend,
    "blend_at": lambda bar, head_degc=5.0: blended(20.0, bar, head_degc).amount_fraction["methanol"],
    "blend_density": blend_density,
    "mixture_density": mixture_density,
    "oven_flow": oven_flow,
    "ideal_oven_flow": ideal_oven_flow,
    "salt": salt,
    "water_fraction": water_fraction,
    "attenuation": lambda: dp.ripple_attenuation(1.0 / (2.0 * math.pi * 4.0), 4.0),
    "delay": delay,
    "mixer_lag": mixer_lag,
    "fastest_rise": fastest_rise,
    "storage_ratio": storage_ratio,
    "density_ramp": density_ramp,
    "density": lambda degc, bar: state(degc, bar).density,
    "hold_up": hold_up,
    "fast_compression": fast_compression,
    "room": room,
    "room_time": room_time,
    "release": release,
    "mass_for_share": mass_for_share,
    "gas_at_oxygen": gas_at_oxygen,
    "shut_in": shut_in,
    "shut_in_slope": shut_in_slope,
    "headspace": headspace,
    "full_cylinder": full_cylinder,
    "stored": lambda millilitres: dp.stored_energy(state(40.0, 400.0), millilitres * MILLILITRE).energy / 1e3,
    "hammer": lambda: dp.pressure_hammer(state(*FEED), 0.5).pressure_rise / BAR,
    "vent_vapour": lambda: 100.0 * dp.vapour_in_vent(METHANOL, from_celsius(20.0)).volume_fraction,
    "heated": lambda: dp.heated_shut_in(state(*FEED), 50 * MILLILITRE, 10.0).pressure_rate / BAR,
    "relief": lambda: dp.heated_shut_in(state(*FEED), 50 * MILLILITRE, 10.0).relief_volume_flow_rate
    / (MILLILITRE * PER_MINUTE),
    "consumption": lambda: flow() * 8 * HOUR,
    "days": lambda: (30.0 - cylinder(20.0).heel) / (flow() * 8 * HOUR),
    "isopycnic": lambda degc: state(degc, CO2.isopycnic(from_celsius(degc), state(40.0, 150.0).density) / BAR).pressure / BAR,
    "transferred": transferred,
    "rating": lambda: dp.tube_rating(0.25e-3, 1.5875e-3, 115e6).pressure / BAR,
    "pinhole": pinhole,
    "modifier_error": modifier_error,
}


def computed(row: dict[str, Any]) -> float | None:
    value = COMPUTED[row["do"]](**row["arguments"])
    return None if value is None else float(value)


def half_digit(text: str) -> float:
    """Half a unit of the last digit printed."""
    decimals = len(text.partition(".")[2])
    return 0.5 * 10.0**-decimals


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_a_row_is_met_or_an_exception(row: dict[str, Any]) -> None:
    assert row["source"]
    if "do" not in row:
        assert row["reason"] == "users_concentration"
        return
    found, value = computed(row), row["value"]
    relative, absolute = TABLE["tolerances"].get(row["tolerance"], 0.0), 0.0
    if row["tolerance"] == "printed":
        value, absolute = float(row["value"]), half_digit(row["value"]) * (1.0 + 1e-9)
    if "reason" in row:
        assert row["reason"] in TABLE["reasons"]
        # An exception says what the library answers instead.
        assert found != pytest.approx(value, rel=relative, abs=absolute)
        assert f"{found / value - 1.0:+.1e}" == row["outcome"]
    elif value is None:
        assert found is None
    else:
        assert found == pytest.approx(value, rel=relative, abs=absolute)


def test_every_state_of_carbon_dioxide_behind_the_rows_is_that_of_coolprop() -> None:
    for row in ROWS:
        if "do" in row:
            computed(row)
    assert len(STATES) > 40 and len(SATURATIONS) >= 7
    peer = cp.AbstractState("HEOS", "CO2")
    for temperature, pressure in sorted(STATES):
        own = CO2.state(temperature=temperature, pressure=pressure)
        peer.update(cp.PT_INPUTS, pressure, temperature)
        told = {
            "density": peer.rhomass(),
            "specific_isobaric_heat_capacity": peer.cpmass(),
            "specific_isochoric_heat_capacity": peer.cvmass(),
            "speed_of_sound": peer.speed_sound(),
            "isothermal_compressibility": peer.isothermal_compressibility(),
            "isobaric_expansivity": peer.isobaric_expansion_coefficient(),
            "dynamic_viscosity": peer.viscosity(),
        }
        for name, value in told.items():
            # CoolProp carries other digits of constants into the viscosity, see test_coolprop.
            relative = 3e-6 if name == "dynamic_viscosity" else 1e-6
            assert getattr(own, name) == pytest.approx(value, rel=relative), (temperature, pressure, name)
    for temperature in sorted(SATURATIONS):
        if temperature >= CO2.critical_point().temperature:
            continue
        own_pair = CO2.saturation(temperature=temperature)
        for quality, phase in ((0.0, own_pair.liquid), (1.0, own_pair.vapour)):
            peer.update(cp.QT_INPUTS, quality, temperature)
            assert own_pair.pressure == pytest.approx(peer.p(), rel=1e-7)
            assert phase.density == pytest.approx(peer.rhomass(), rel=1e-6)
    # Differences of enthalpy and entropy, which count from another zero there, over all states.
    pairs = sorted(STATES)
    values = []
    for temperature, pressure in pairs:
        own = CO2.state(temperature=temperature, pressure=pressure)
        peer.update(cp.PT_INPUTS, pressure, temperature)
        values.append((own.specific_enthalpy - peer.hmass(), own.specific_entropy - peer.smass()))
    spread = np.ptp(np.array(values), axis=0)
    assert spread[0] < 0.1 and spread[1] < 1e-3


def test_the_table_is_whole() -> None:
    cases = {row["id"].partition("-")[0] for row in ROWS}
    assert len(ROWS) == len({row["id"] for row in ROWS}) == 283
    assert cases >= {f"B{number}" for number in range(1, 9)} | {"C1", "C4", "C5"} | {f"K{number}" for number in range(1, 8)}
    assert cases >= {f"L{number}" for number in range(1, 8)} | {f"X{number}" for number in range(1, 7)}
    assert {row["reason"] for row in ROWS if "reason" in row} == set(TABLE["reasons"])
    assert {row["tolerance"] for row in ROWS} - {"printed"} == set(TABLE["tolerances"])
    assert {row["do"] for row in ROWS if "do" in row} == set(COMPUTED)
