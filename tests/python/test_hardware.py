"""The parts of an instrument one by one, from Python."""

from __future__ import annotations

import copy
import math
import pickle
from pathlib import Path
from typing import Any

import pytest

import densepath as dp

METHODS = Path(__file__).parent.parent / "methods"


def parts() -> list[Any]:
    return [
        dp.Tube(diameter=0.17e-3, length=1.0, roughness=1e-6, wall_temperature=313.15),
        dp.PackedColumn(
            diameter=4.6e-3, length=0.25, particle_diameter=5e-6, interparticle_porosity=0.4, total_porosity=0.7
        ),
        dp.OpenTubularColumn(diameter=50e-6, length=10.0, film_thickness=0.25e-6, film_diffusion_coefficient=1e-11),
        dp.SampleLoop(volume=20e-9, drawn_volume=25e-9),
        dp.DetectorCell(volume=8e-9, time_constant=0.1, pressure_limit=400e5),
        dp.LinearRestrictor(diameter=10e-6, length=0.2),
        dp.LinearRestrictor(diameter=10e-6, length=0.2, heat="adiabatic"),
        dp.TaperedRestrictor(inlet_diameter=30e-6, outlet_diameter=8e-6, length=0.1),
        dp.SegmentedRestrictor(stretches=((0.3, 50e-6, 50e-6), (0.05, 10e-6, 10e-6))),
        dp.OrificeRestrictor(diameter=1e-6, discharge_coefficient=0.8),
        dp.CrimpedRestrictor(equivalent_area=1e-12),
        dp.FritRestrictor(diameter=100e-6, length=0.02, pore_diameter=0.3e-6, porosity=0.4),
        dp.BackPressureRegulator(pressure=150e5, outlet_temperature=283.15),
        dp.Cylinder(volume=40e-3, mass=28.0),
        dp.ReciprocatingPump(head_temperature=278.15, volume_flow_rate=5e-8, counted_at="delivery", clearance_ratio=0.2),
        dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5),
    ]


def names(items: list[Any]) -> list[str]:
    return [type(item).__name__ for item in items]


@pytest.fixture(scope="module")
def dense(co2: dp.Fluid) -> dp.State:
    return co2.state(temperature=313.15, pressure=180e5)


@pytest.mark.parametrize("part", parts(), ids=names(parts()))
def test_parts_are_values(part: Any) -> None:
    for twin in (pickle.loads(pickle.dumps(part)), copy.deepcopy(part), type(part)(**part.to_dict())):
        assert twin == part
        assert repr(twin) == repr(part)
    for name, value in part.to_dict().items():
        assert getattr(part, name) == value
        with pytest.raises(AttributeError):
            setattr(part, name, value)
    document = type(part).__doc__
    assert document is not None
    assert all(f"\n{name} : " in document for name in part.to_dict())


def results(co2: dp.Fluid) -> list[Any]:
    inlet = co2.state(temperature=313.15, pressure=150e5)
    feed = co2.state(temperature=278.15, pressure=55e5)
    pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5, clearance_ratio=0.2)
    syringe = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5)
    return [
        dp.SampleLoop(volume=20e-9, drawn_volume=25e-9).filling(),
        dp.LinearRestrictor(diameter=10e-6, length=0.2).flow(co2, 373.15, 200e5, 1.013e5),
        dp.BackPressureRegulator(pressure=150e5).expand(inlet, 5e-5),
        dp.LinearRestrictor(diameter=10e-6, length=0.2).passage(co2, 373.15, 200e5, 1.013e5),
        dp.BackPressureRegulator(pressure=150e5).valve_size(inlet, 5e-5),
        dp.Cylinder(volume=40e-3, mass=28.0).content(co2, 293.15),
        pump.stroke(feed, 200e5),
        pump.stroke(feed, 200e5).expected,
        pump.head_duty(feed, feed, 200e5, 5e-5),
        syringe.precompress(syringe.fill(co2, 60e5)),
        dp.Tube(diameter=0.25e-3, length=1.0).outlet(inlet, 5e-5),
    ]


@pytest.mark.parametrize("place", range(11))
def test_results_are_values(co2: dp.Fluid, place: int) -> None:
    result = results(co2)[place]
    twin = pickle.loads(pickle.dumps(result))
    assert twin == result
    assert repr(twin) == repr(result)
    assert "\n" not in repr(result)
    assert set(result.units) <= set(result.to_dict())
    assert "<table" in result._repr_html_()


def test_what_is_drawn_beyond_the_loop_goes_to_drain() -> None:
    """Fact of the trade (common practice, no source): 25 uL drawn into a 20 uL loop inject 20 uL."""
    filling = dp.SampleLoop(volume=20e-9, drawn_volume=25e-9).filling()
    assert filling.injected_volume == pytest.approx(20e-9, rel=1e-12)
    assert filling.excess_volume == pytest.approx(5e-9, rel=1e-12)


def test_restrictor(co2: dp.Fluid) -> None:
    """Independent computation with CoolProp 8.0.0 and scipy 1.17.1: 11.67 mg/min viscous, 11.57 mg/min in full."""
    restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)
    ends = (373.15, 200e5, 1.013e5)
    full = restrictor.mass_flow_rate(co2, *ends)
    assert restrictor.viscous_mass_flow_rate(co2, *ends) * 60e6 == pytest.approx(11.67, abs=0.005)
    assert full * 60e6 == pytest.approx(11.57, abs=0.005)
    assert restrictor.length_for(full, co2, *ends) == pytest.approx(0.2, rel=1e-6)
    assert restrictor.diameter_for(full, co2, *ends) == pytest.approx(10e-6, rel=1e-6)
    assert restrictor.flow(co2, *ends).is_choked
    narrow = dp.LinearRestrictor(diameter=9e-6, length=0.2).mass_flow_rate(co2, *ends)
    long = dp.LinearRestrictor(diameter=10e-6, length=0.3).mass_flow_rate(co2, *ends)
    assert narrow < full
    assert long < full
    with pytest.raises(dp.FlowError) as caught:
        restrictor.mass_flow_rate(co2, 373.15, 1e5, 2e5)
    assert caught.value.code == 503


def test_regulator_and_its_heater(dense: dp.State) -> None:
    bare = dp.BackPressureRegulator(pressure=150e5).expand(dense, 5e-5)
    assert bare.outlet == bare.adiabatic
    assert bare.outlet.phase == "solid + vapour"
    assert bare.heater_duty is None
    assert {notice.code for notice in bare.notices} >= {"solid_forms"}
    heated = dp.BackPressureRegulator(pressure=150e5, outlet_temperature=283.15).expand(dense, 5e-5)
    assert heated.outlet.temperature == pytest.approx(283.15, rel=1e-9)
    assert heated.heater_duty == pytest.approx(
        5e-5 * (heated.outlet.specific_enthalpy - dense.specific_enthalpy), rel=1e-9
    )


def test_the_column_of_a_method_alone_gives_the_same(dense: dp.State) -> None:
    solution = dp.solve(METHODS / "packed.toml")
    inlet = solution.station("preheater")
    column = dp.PackedColumn(
        diameter=4.6e-3, length=0.25, particle_diameter=5e-6, interparticle_porosity=0.4, total_porosity=0.7
    )
    outlet = column.outlet(inlet.state, inlet.mass_flow_rate)
    assert outlet.state == solution.station("column").state
    assert solution.column is not None
    assert outlet.hold_up_time is not None
    assert outlet.hold_up_time == solution.column.hold_up_time
    assert outlet.time_variance is None
    followed = column.outlet(inlet.state, inlet.mass_flow_rate, retention_factor=2.0, diffusion_coefficient=1e-8)
    assert followed.solute_time == pytest.approx(3.0 * outlet.hold_up_time, rel=1e-6)
    assert followed.time_variance is not None
    assert len(followed.profile) > 2
    with pytest.raises(dp.ArgumentError):
        column.outlet(inlet.state, inlet.mass_flow_rate, retention_factor=2.0)


@pytest.mark.parametrize("part", [part for part in parts() if hasattr(part, "outlet")], ids=type)
def test_streams_pass_through(part: Any, dense: dp.State) -> None:
    if isinstance(part, dp.BackPressureRegulator):
        dense = dense.fluid.state(temperature=313.15, pressure=150e5)
    slow = isinstance(part, (dp.OpenTubularColumn, dp.LinearRestrictor))
    outlet = part.outlet(dense, 2e-8 if slow else 5e-5)
    assert outlet.state.pressure <= dense.pressure
    assert outlet.mass_flow_rate == pytest.approx(2e-8 if slow else 5e-5, rel=1e-12)
    assert len(outlet.facts) > 0


def test_pump(co2: dp.Fluid) -> None:
    feed = co2.state(temperature=278.15, pressure=55e5)
    pump = dp.ReciprocatingPump(
        head_temperature=278.15,
        volume_flow_rate=5e-8,
        counted_at="delivery",
        clearance_ratio=0.2,
        isothermal_share=0.5,
    )
    delivered = pump.delivered_mass_flow_rate(feed, 200e5, 313.15, 180e5)
    assert delivered == pytest.approx(5e-8 * co2.density(278.15, 200e5), rel=1e-12)
    stroke = pump.stroke(feed, 200e5)
    assert stroke.isothermal.temperature == pytest.approx(278.15, rel=1e-12)
    assert stroke.isothermal.temperature < stroke.expected.temperature < stroke.isentropic.temperature
    duty = pump.head_duty(feed, feed, 200e5, delivered)
    assert duty.feed_cooling == 0.0
    with pytest.raises(dp.FlowError, match="not liquid"):
        pump.stroke(co2.state(temperature=278.15, pressure=20e5), 200e5)


def test_a_flow_needs_its_counting() -> None:
    for keywords in (
        {"volume_flow_rate": 5e-8},
        {},
        {"mass_flow_rate": 5e-5, "volume_flow_rate": 5e-8},
        {"volume_flow_rate": 5e-8, "counted_at": "somewhere"},
    ):
        with pytest.raises(dp.ArgumentError, match="counted_at"):
            dp.ReciprocatingPump(head_temperature=278.15, **keywords)  # type: ignore[arg-type]


def test_cylinder(co2: dp.Fluid) -> None:
    cylinder = dp.Cylinder(volume=40e-3, mass=28.0)
    content = cylinder.content(co2, 293.15)
    assert content.liquid_mass + content.vapour_mass == pytest.approx(28.0, rel=1e-12)
    assert content.state.pressure == pytest.approx(co2.saturation(temperature=293.15).pressure, rel=1e-12)
    assert cylinder.supply(co2, 293.15) == co2.saturation(temperature=293.15).liquid
    gas = dp.Cylinder(volume=40e-3, mass=28.0, withdrawal="vapour").supply(co2, 293.15)
    assert gas.phase == "vapour"
    assert content.liquid_full_temperature is not None
    full = cylinder.content(co2, content.liquid_full_temperature + 1.0)
    assert full.filling == "liquid only"
    assert any(notice.severity == "caution" or notice.severity == "warning" for notice in full.notices)
    with pytest.raises(dp.ArgumentError, match="withdrawal"):
        dp.Cylinder(volume=40e-3, mass=28.0, withdrawal="both")


def test_syringe_pump(co2: dp.Fluid) -> None:
    pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5)
    filled = pump.fill(co2, 60e5)
    ready = pump.precompress(filled)
    assert ready.mass == pytest.approx(150e-6 * filled.density, rel=1e-12)
    assert ready.displaced_volume == pytest.approx(150e-6 * (1.0 - filled.density / ready.settled.density), rel=1e-9)
    assert ready.temperature_rise > 0.0
    assert pump.run_time(filled, 1e-6) == pytest.approx(ready.mass / 1e-6, rel=1e-12)
    with pytest.raises(dp.FlowError):
        pump.fill(co2, 20e5)


@pytest.mark.parametrize(
    ("make", "quantity"),
    [
        (lambda: dp.Tube(diameter=-1e-3, length=1.0), "diameter"),
        (lambda: dp.Tube(diameter=1e-3, length=math.nan), "length"),
        (lambda: dp.LinearRestrictor(diameter=10e-6, length=20e-6), "length"),
        (
            lambda: dp.PackedColumn(
                diameter=4.6e-3, length=0.25, particle_diameter=5e-6, interparticle_porosity=0.7, total_porosity=0.4
            ),
            "total_porosity",
        ),
        (lambda: dp.DetectorCell(volume=0.0), "volume"),
        (lambda: dp.BackPressureRegulator(pressure=-1.0), "pressure"),
    ],
)
def test_impossible_parts_are_refused(make: Any, quantity: str) -> None:
    with pytest.raises(dp.DensepathError) as caught:
        make()
    assert caught.value.quantity == quantity
    assert caught.value.code in (101, 102)
