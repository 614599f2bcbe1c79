"""Mixtures: as fluids in every call, their phases, their critical lines, and what pumps deliver together."""

from __future__ import annotations

import copy
import json
import math
import pickle
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import CoolProp
import CoolProp.CoolProp as CP
import dask.array as da
import numpy as np
import pandas as pd
import pytest
import xarray as xr

import densepath as dp
from densepath import _core, ufuncs

VECTORS = Path(__file__).parent.parent / "vectors"
FRACTIONS = {"carbon dioxide": 0.9, "acetone": 0.1}
# Pairs whose published parameters CoolProp carries too and whose reference equations it evaluates unchanged, with the largest
# relative deviation: rounding where all equations have one gas constant, else what is left of the gas constants, which this
# library keeps for each substance alone and CoolProp mixes by amount.
COOLPROP = {
    "nitrogen": ("Nitrogen", 1e-9),
    "argon": ("Argon", 1e-9),
    "ethane": ("Ethane", 2e-6),
    "oxygen": ("Oxygen", 2e-6),
    "helium": ("Helium", 3e-6),
}


@pytest.fixture(scope="module")
def mixture() -> dp.Fluid:
    return dp.Fluid(FRACTIONS)


@pytest.fixture(scope="module")
def liquid() -> dp.Fluid:
    """A mixture with a bubble and a dew point at the temperatures of a laboratory."""
    return dp.Fluid({"carbon dioxide": 0.3, "acetone": 0.7})


def test_a_mixture_tells_what_it_is(mixture: dp.Fluid) -> None:
    assert mixture.substances == ("carbon dioxide", "acetone")
    assert mixture.amount_fractions == (0.9, 0.1)
    assert mixture.composition == FRACTIONS
    assert sum(mixture.mass_fractions) == pytest.approx(1.0, abs=1e-15)
    masses = [dp.Fluid(name).molar_mass for name in FRACTIONS]
    assert mixture.molar_mass == pytest.approx(0.9 * masses[0] + 0.1 * masses[1], rel=1e-15)
    assert mixture.mass_fractions[1] == pytest.approx(0.1 * masses[1] / mixture.molar_mass, rel=1e-15)
    assert mixture.name == "carbon dioxide + acetone"
    assert "multi-fluid" in mixture.model
    assert "acetone" in mixture.model
    assert "doi" in mixture.source
    assert repr(mixture).startswith('Fluid({"carbon dioxide": 0.9, "acetone": 0.1}, model="multi-fluid')
    assert "acetone" in mixture._repr_html_()
    values = mixture.to_dict()
    assert values["composition"] == FRACTIONS
    assert values["cas_number"] is None
    with pytest.raises(dp.MissingModelError, match="ask its substances"):
        _ = mixture.formula


def test_one_substance_alone_is_the_substance(co2: dp.Fluid) -> None:
    assert dp.Fluid({"CO2": 1.0}) == co2
    alone = dp.Fluid({"carbon dioxide": 1.0, "acetone": 0.0})
    for name in ("density", "specific_enthalpy", "specific_entropy", "speed_of_sound", "dynamic_viscosity"):
        for temperature, pressure in ((313.15, 150e5), (293.15, 10e5)):
            found, wanted = (getattr(fluid, name)(temperature, pressure) for fluid in (alone, co2))
            assert found == pytest.approx(wanted, rel=1e-12), name
    assert alone.critical_point() == co2.critical_point()
    assert alone.saturation(temperature=280.0).pressure == co2.saturation(temperature=280.0).pressure


@pytest.mark.parametrize("second", ["acetone", "nitrogen", "water", "toluene"])
def test_a_trace_changes_as_little(co2: dp.Fluid, second: str) -> None:
    traced = dp.Fluid({"carbon dioxide": 1.0 - 1e-9, second: 1e-9})
    for name in ("density", "specific_isobaric_heat_capacity", "speed_of_sound"):
        found, wanted = (getattr(fluid, name)(320.0, 200e5) for fluid in (traced, co2))
        assert found == pytest.approx(wanted, rel=1e-6), name


@pytest.mark.parametrize(("name", "reference_name", "tolerance"), [(name, *to) for name, to in COOLPROP.items()], ids=list(COOLPROP))
@pytest.mark.parametrize("fraction", [0.02, 0.4])
def test_states_of_pairs_agree_with_coolprop(name: str, reference_name: str, tolerance: float, fraction: float) -> None:
    """CoolProp 8 evaluates the same equations with the same published constants, its gas constants not normalized."""
    fluid = dp.Fluid({"carbon dioxide": 1.0 - fraction, name: fraction}, model="multi-fluid")
    CP.set_config_bool(CP.NORMALIZE_GAS_CONSTANTS, False)
    try:
        reference = CP.AbstractState("HEOS", f"CarbonDioxide&{reference_name}")
        reference.set_mole_fractions([1.0 - fraction, fraction])
        reference.specify_phase(CoolProp.iphase_gas)
        for temperature, pressure in ((320.0, 200e5), (400.0, 100e5), (350.0, 5e5)):
            state = fluid.state(temperature=temperature, pressure=pressure)
            reference.update(CoolProp.DmolarT_INPUTS, state.density / fluid.molar_mass, temperature)
            assert reference.p() == pytest.approx(pressure, rel=tolerance)
            assert reference.speed_sound() == pytest.approx(state.speed_of_sound, rel=tolerance)
            assert reference.cpmass() == pytest.approx(state.specific_isobaric_heat_capacity, rel=tolerance)
    finally:
        CP.set_config_bool(CP.NORMALIZE_GAS_CONSTANTS, True)


@pytest.mark.parametrize(
    ("substances", "kind", "code", "text"),
    [
        ({"carbon dioxide": 0.9, "acetone": 0.2}, dp.CompositionError, 103, "sum"),
        ({"carbon dioxide": 1.1, "acetone": -0.1}, dp.CompositionError, 103, "1.1"),
        ({"carbon dioxide": math.nan, "acetone": 0.1}, dp.CompositionError, 103, "NaN"),
        ({"carbon dioxide": 0.9, "phlogiston": 0.1}, dp.UnknownFluidError, 201, "phlogiston"),
        ({"carbon dioxide": 0.9, "CO2": 0.1}, dp.ArgumentError, 104, "carbon dioxide twice"),
        ({"xenon": 0.9, "water": 0.1}, dp.MissingModelError, 202, "xenon + water"),
        ({"carbon dioxide": 0.9, "air": 0.1}, dp.MissingModelError, 202, "air"),
        ({}, dp.ArgumentError, 104, ""),
        ({"carbon dioxide": "much", "acetone": 0.1}, dp.ArgumentError, 104, "str"),
        ({44: 1.0}, dp.ArgumentError, 104, "int"),
        ([0.9, 0.1], dp.ArgumentError, 104, "list"),
    ],
)
def test_what_is_no_mixture_is_refused(substances: Any, kind: type[dp.DensepathError], code: int, text: str) -> None:
    with pytest.raises(kind) as caught:
        dp.Fluid(substances)
    assert caught.value.code == code
    assert text in str(caught.value)


def test_bad_numbers_of_mixtures(mixture: dp.Fluid) -> None:
    with pytest.raises(dp.DomainError, match="pressure"):
        mixture.density(313.15, -1.0)
    with pytest.raises(dp.RangeError, match="did you mean 40 degC"):
        mixture.density(40.0, 150e5)
    with pytest.raises(dp.RangeError) as caught:
        mixture.density(313.15, [150e5, 9e9])
    assert (caught.value.code, caught.value.failed, caught.value.index) == (102, 1, 1)


def test_words_for_models(co2: dp.Fluid) -> None:
    cubic = dp.Fluid("carbon dioxide", model="cubic")
    assert cubic != co2
    assert "Peng" in cubic.model
    assert cubic.density(313.15, 150e5) != co2.density(313.15, 150e5)
    assert dp.Fluid("carbon dioxide", model="multi-fluid") == co2
    with pytest.raises(dp.ArgumentError, match='"best", "multi-fluid" or "cubic"'):
        dp.Fluid("carbon dioxide", model="PR")  # type: ignore[arg-type]


def test_beyond_the_range_only_on_request(co2: dp.Fluid, mixture: dp.Fluid) -> None:
    wide = dp.Fluid("carbon dioxide", extrapolate=True)
    assert wide.extrapolates
    assert wide != co2
    assert repr(wide).endswith(", extrapolate=True)")
    with pytest.raises(dp.RangeError):
        co2.state(temperature=1200.0, pressure=1e6)
    assert wide.state(temperature=1200.0, pressure=1e6).notices[0].code == "extrapolated"
    assert wide.density([313.15, 1200.0], 1e6)[0] == co2.density(313.15, 1e6)
    twin = pickle.loads(pickle.dumps(wide))
    assert twin == wide
    assert twin.extrapolates
    assert not mixture.extrapolates


def test_a_viscosity_can_be_corrected(co2: dp.Fluid) -> None:
    thick = dp.Fluid("carbon dioxide", viscosity_factor=1.02)
    assert thick != co2
    assert thick.viscosity_factor == 1.02
    assert repr(thick).endswith(", viscosity_factor=1.02)")
    temperatures = [313.15, 333.15]
    ratio = thick.dynamic_viscosity(temperatures, 15e6) / co2.dynamic_viscosity(temperatures, 15e6)
    assert np.allclose(ratio, 1.02, rtol=1e-14)
    assert thick.density(313.15, 15e6) == co2.density(313.15, 15e6)
    assert pickle.loads(pickle.dumps(thick)) == thick
    with pytest.raises(dp.RangeError, match="20"):
        dp.Fluid("carbon dioxide", viscosity_factor=20.0)


def test_a_density_can_be_corrected(co2: dp.Fluid) -> None:
    dense = co2.with_density_factor(1.01, 313.15, 15e6)
    ratio = dense.density([313.15, 313.15], [15e6, 1e5]) / co2.density([313.15, 313.15], [15e6, 1e5])
    assert np.allclose(ratio, [1.01, 1.0], rtol=1e-4)
    assert ratio[0] == pytest.approx(1.01, rel=1e-13)
    work = dense.specific_enthalpy(313.15, 15e6) - co2.specific_enthalpy(313.15, 15e6)
    assert work == pytest.approx(15e6 * dense.volume_shift, rel=1e-9)
    assert dense.dynamic_viscosity(313.15, 15e6) == pytest.approx(co2.dynamic_viscosity(313.15, 15e6), rel=1e-11)
    assert dense != co2
    assert "specific volume plus" in dense.model
    assert dp.Fluid("carbon dioxide", volume_shift=dense.volume_shift) == dense
    assert pickle.loads(pickle.dumps(dense)) == dense
    state = dense.state(temperature=313.15, pressure=15e6)
    assert pickle.loads(pickle.dumps(state)).density == state.density
    with pytest.raises(dp.RangeError, match="2"):
        co2.with_density_factor(2.0, 313.15, 15e6)


@pytest.mark.parametrize("name", ["ethane", "propane", "n-hexane", "toluene"])
def test_densities_in_the_cubic_equation(name: str) -> None:
    """The translated cubic equation keeps within some per cent of the reference equation in the liquid and in the gas."""
    fluid, cubic = dp.Fluid(name), dp.Fluid(name, model="cubic")
    temperature = 0.85 * fluid.critical_point().temperature
    boiling = fluid.saturation(temperature=temperature).pressure
    for pressure, tolerance in ((1.5 * boiling, 0.05), (0.3 * boiling, 0.03)):
        assert cubic.density(temperature, pressure) == pytest.approx(fluid.density(temperature, pressure), rel=tolerance)


def test_a_mixture_is_a_value(mixture: dp.Fluid, co2: dp.Fluid) -> None:
    twin = dp.Fluid({"CO2": 0.9, "propanone": 0.1}) if "propanone" in dp.Fluid("acetone").aliases else dp.Fluid(FRACTIONS)
    assert twin == mixture
    assert hash(twin) == hash(mixture)
    assert twin.identity == mixture.identity
    others = [
        dp.Fluid({"carbon dioxide": 0.8, "acetone": 0.2}),
        dp.Fluid({"acetone": 0.1, "carbon dioxide": 0.9}),
        dp.Fluid(FRACTIONS, extrapolate=True),
        co2,
    ]
    assert len({mixture, twin, *others}) == len(others) + 1


def objects() -> dict[str, Any]:
    fluid = dp.Fluid({"carbon dioxide": 0.3, "acetone": 0.7})
    point = fluid.bubble_point(temperature=313.15)
    inside = fluid.flash(313.15, 0.5 * (point.pressure + fluid.dew_point(temperature=313.15).pressure))
    locus = dp.critical_locus("carbon dioxide", "acetone")
    made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), fluid: (1e-8, 295.15, 15e6)})
    return {
        "mixture": fluid,
        "cubic": dp.Fluid("carbon dioxide", model="cubic"),
        "wide mixture": dp.Fluid({"carbon dioxide": 0.3, "acetone": 0.7}, extrapolate=True),
        "state": fluid.state(temperature=313.15, pressure=150e5),
        "state of two phases": fluid.state(temperature=313.15, pressure=inside.pressure),
        "fluid of a phase": inside.phases[0].state.fluid,
        "bubble point": point,
        "flash": inside,
        "phase": inside.phases[1],
        "critical point": fluid.critical_point(),
        "critical locus": locus,
        "critical line": locus.branches[0],
        "phases at a temperature": dp.isothermal_phase_diagram("carbon dioxide", "ethane", 250.0),
        "blend": made,
        "notice": fluid.state(temperature=313.15, pressure=150e5).notices[:1],
    }


OBJECTS = objects()


@pytest.mark.parametrize("item", OBJECTS.values(), ids=OBJECTS.keys())
def test_a_copy_is_equal(item: Any) -> None:
    for twin in (pickle.loads(pickle.dumps(item)), copy.copy(item), copy.deepcopy(item)):
        assert twin == item
        assert repr(twin) == repr(item)
    assert item != object()


def test_pickles_mean_the_same_in_another_process(mixture: dp.Fluid) -> None:
    state = mixture.state(temperature=313.15, pressure=150e5)
    program = (
        "import pickle, sys\n"
        "fluid, state = pickle.load(sys.stdin.buffer)\n"
        "from densepath import ufuncs\n"
        "print(repr([fluid.identity, float(ufuncs.density(fluid.identity, 313.15, 150e5)), state.density]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], input=pickle.dumps((mixture, state)), capture_output=True, check=True
    )
    # A function answers by verified polynomials, within 1e-11 of the state, and by the same bits whatever was asked before.
    assert json.loads(done.stdout) == [mixture.identity, mixture.density(313.15, 150e5), state.density]


def test_a_mixture_with_other_data_is_refused(mixture: dp.Fluid) -> None:
    with pytest.raises(dp.UnknownFluidError, match="identity"):
        _core.restore_fluid(list(FRACTIONS.items()), "best", False, 1.0, 0.0, mixture.identity + 1)


def test_an_unknown_mixture_is_no_other_fluid(mixture: dp.Fluid) -> None:
    assert ufuncs.density_status(mixture.identity + 1, 313.15, 150e5) == 201


@pytest.mark.parametrize(
    "make",
    [list, np.asarray, np.ma.asarray, pd.Series, lambda x: xr.DataArray(x, dims="point"), da.from_array],
    ids=["list", "ndarray", "masked", "Series", "DataArray", "dask"],
)
def test_every_kind_of_array_gives_the_same_bits(mixture: dp.Fluid, make: Any) -> None:
    temperatures, pressures = np.array([313.15, 333.15, 400.0]), np.array([150e5, 80e5, 400e5])
    expected = [mixture.density(float(t), float(p)) for t, p in zip(temperatures, pressures, strict=True)]
    assert (np.asarray(mixture.density(make(temperatures), make(pressures))) == expected).all()


def test_fluids_broadcast_by_their_identities(mixture: dp.Fluid, co2: dp.Fluid) -> None:
    found = ufuncs.density(np.array([co2.identity, mixture.identity]), 313.15, 150e5)
    assert found.tolist() == [co2.density(313.15, 150e5), mixture.density(313.15, 150e5)]


def test_lazy_arrays_of_mixtures_in_other_processes(mixture: dp.Fluid) -> None:
    pressure = da.linspace(100e5, 400e5, 8, chunks=4)
    density = mixture.density(330.0, pressure).compute(scheduler="processes", num_workers=2)
    assert (density == mixture.density(330.0, pressure.compute())).all()


def test_threads_share_a_mixture(mixture: dp.Fluid) -> None:
    pressures = np.linspace(100e5, 400e5, 50)
    expected = mixture.density(330.0, pressures)
    fresh = dp.Fluid({"carbon dioxide": 0.85, "acetone": 0.15})
    with ThreadPoolExecutor(4) as pool:
        results = list(pool.map(lambda _: (mixture.density(330.0, pressures), fresh.critical_point()), range(8)))
    assert all((density == expected).all() for density, _ in results)
    assert {point.temperature for _, point in results} == {fresh.critical_point().temperature}


def test_states_by_any_pair_agree(mixture: dp.Fluid) -> None:
    state = mixture.state(temperature=320.0, pressure=150e5)
    for other in (
        mixture.state(temperature=320.0, density=state.density),
        mixture.state(pressure=150e5, specific_enthalpy=state.specific_enthalpy),
        mixture.state(pressure=150e5, specific_entropy=state.specific_entropy),
    ):
        assert other.temperature == pytest.approx(320.0, rel=1e-9)
        assert other.density == pytest.approx(state.density, rel=1e-8)


def test_throttling_keeps_the_enthalpy(mixture: dp.Fluid) -> None:
    before = mixture.state(temperature=330.0, pressure=150e5)
    after = before.expand_to(20e5)
    assert after.specific_enthalpy == pytest.approx(before.specific_enthalpy, rel=1e-9)
    assert after.phase == "liquid + vapour"
    assert sum(share for share, _ in after.phases) == pytest.approx(1.0, abs=1e-12)


def fugacities(state: dp.State) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Fugacity of each substance in Pa."""
    return np.array(state.fugacity_coefficients) * state.fluid.amount_fractions * state.pressure


def test_bubble_and_dew_points(liquid: dp.Fluid) -> None:
    bubble, dew = liquid.bubble_point(temperature=313.15), liquid.dew_point(temperature=313.15)
    assert (bubble.kind, dew.kind) == ("bubble", "dew")
    assert dew.pressure < bubble.pressure
    assert bubble.liquid.fluid.amount_fractions == pytest.approx(liquid.amount_fractions, abs=1e-12)
    assert dew.vapour.fluid.amount_fractions == pytest.approx(liquid.amount_fractions, abs=1e-12)
    for point in (bubble, dew):
        assert point.liquid.density > point.vapour.density
        np.testing.assert_allclose(fugacities(point.liquid), fugacities(point.vapour), rtol=1e-7)
    assert liquid.bubble_point(pressure=bubble.pressure).temperature == pytest.approx(313.15, rel=1e-7)
    assert liquid.dew_point(pressure=dew.pressure).temperature == pytest.approx(313.15, rel=1e-7)
    borders = [border for border in liquid.phase_boundaries(temperature=313.15) if border.pressure < 100e5]
    assert [border.kind for border in borders] == ["dew", "bubble"]
    assert [border.pressure for border in borders] == pytest.approx([dew.pressure, bubble.pressure], rel=1e-7)
    assert list(bubble.to_pandas().columns) == ["liquid", "vapour"]


def test_every_dew_point_of_a_retrograde_isotherm_is_reached(mixture: dp.Fluid) -> None:
    temperature = mixture.critical_point().temperature + 5.0
    borders = mixture.phase_boundaries(temperature=temperature)
    assert [border.kind for border in borders] == ["dew", "dew"]
    assert borders[0].pressure == pytest.approx(mixture.dew_point(temperature=temperature).pressure, rel=1e-7)
    with pytest.raises(dp.DensepathError, match="no bubble point") as caught:
        mixture.bubble_point(temperature=temperature)
    assert caught.value.code == 402


def test_of_a_substance_both_are_its_saturation(co2: dp.Fluid) -> None:
    saturation = co2.saturation(temperature=280.0)
    assert co2.bubble_point(temperature=280.0).pressure == saturation.pressure
    assert co2.dew_point(pressure=saturation.pressure).temperature == pytest.approx(280.0, rel=1e-10)
    with pytest.raises(dp.PhaseError):
        co2.bubble_point(temperature=310.0)


@pytest.mark.parametrize("call", ["saturation", "bubble_point", "dew_point", "phase_boundaries"])
def test_one_variable_makes_a_boundary(co2: dp.Fluid, call: str) -> None:
    for given in ({}, {"temperature": 280.0, "pressure": 40e5}):
        with pytest.raises(dp.ArgumentError, match="temperature or pressure"):
            getattr(co2, call)(**given)


def test_the_phases_of_a_flash_balance(liquid: dp.Fluid) -> None:
    found = liquid.flash(313.15, 10e5)
    dense, thin = found.phases
    assert dense.density > thin.density
    assert (dense.phase, thin.phase) == ("liquid", "vapour")
    assert dense.fraction + thin.fraction == pytest.approx(1.0, abs=1e-12)
    for name, fraction in liquid.composition.items():
        mixed = dense.fraction * dense.composition[name] + thin.fraction * thin.composition[name]
        assert mixed == pytest.approx(fraction, abs=1e-10)
    np.testing.assert_allclose(fugacities(dense.state), fugacities(thin.state), rtol=1e-7)
    again = dp.Fluid(dense.composition)
    assert again.density(313.15, 10e5 * (1 + 1e-6)) == pytest.approx(dense.density, rel=1e-6)
    state = liquid.state(temperature=313.15, pressure=10e5)
    assert state.vapour_fraction == pytest.approx(thin.mass_fraction, rel=1e-12)
    (alone,) = liquid.flash(313.15, 150e5).phases
    assert (alone.fraction, alone.composition) == (1.0, liquid.composition)
    assert "<table" in found._repr_html_()


def test_margins(liquid: dp.Fluid, mixture: dp.Fluid) -> None:
    bubble, dew = liquid.bubble_point(temperature=313.15).pressure, liquid.dew_point(temperature=313.15).pressure
    margin = liquid.single_phase_margin(313.15, [150e5, 10e5, 0.5 * dew])
    assert margin == pytest.approx([150e5 - bubble, 10e5 - bubble, -0.5 * dew], rel=1e-6)
    assert mixture.single_phase_margin(500.0, 150e5) == math.inf
    boiling = liquid.bubble_point(pressure=40e5).temperature
    assert liquid.single_phase_temperature_margin(boiling - 10.0, 40e5) == pytest.approx(10.0, rel=1e-5)
    assert liquid.single_phase_temperature_margin(boiling + 1.0, 40e5) < 0.0


def test_critical_points_lie_on_the_critical_line(mixture: dp.Fluid) -> None:
    point = mixture.critical_point()
    assert point.stable
    assert point in mixture.critical_points()
    locus = dp.critical_locus("carbon dioxide", "acetone")
    assert locus.joined
    assert (locus.branches[0].begins, locus.branches[0].ends) == ("first substance", "second substance")
    line = locus.branches[0]
    order = np.argsort(line.amount_fraction)
    for name in ("temperature", "pressure"):
        on_line = np.interp(0.1, line.amount_fraction[order], getattr(line, name)[order])
        assert on_line == pytest.approx(getattr(point, name), rel=3e-3)
    assert line.amount_fraction[[0, -1]] == pytest.approx([0.0, 1.0], abs=2e-4)
    assert line.temperature[-1] == pytest.approx(dp.Fluid("acetone").critical_point().temperature, rel=1e-4)
    assert locus.points.units["pressure"] == "Pa"
    assert len(locus.points) == sum(len(branch.points) for branch in locus.branches)
    with pytest.raises(ValueError, match="read-only"):
        locus.temperature[0] = 0.0


def test_a_broken_critical_line_is_told() -> None:
    locus = dp.critical_locus("carbon dioxide", "water")
    assert (locus.kind, locus.joined) == ("broken", False)
    assert len(locus.branches) > 1
    assert "second substance" in {end for branch in locus.branches for end in (branch.begins, branch.ends)}
    with pytest.raises(dp.DensepathError):
        dp.critical_locus("carbon dioxide", "CO2")
    with pytest.raises(dp.MissingModelError, match="xenon"):
        dp.critical_locus("xenon", "water")


def test_a_critical_line_that_leaves_its_temperatures_is_told_as_not_known() -> None:
    locus = dp.critical_locus("carbon dioxide", "nitrogen")
    assert (locus.kind, locus.joined) == ("not known", False)
    assert "end of the temperatures" in {branch.ends for branch in locus.branches}


def test_doubts_of_mixtures_are_told(mixture: dp.Fluid) -> None:
    notices = mixture.state(temperature=313.15, pressure=150e5).notices
    assert any("acetone" in notice.text for notice in notices) or mixture.uncertainty("density", 313.15, 150e5) > 0.0


def test_what_a_mixture_lacks_is_named(mixture: dp.Fluid) -> None:
    with pytest.raises(dp.MissingModelError, match="bubble point"):
        mixture.saturation(temperature=280.0)
    with pytest.raises(dp.MissingModelError):
        _ = mixture.saturation_range


def test_mixing_heat(co2: dp.Fluid, mixture: dp.Fluid) -> None:
    found = mixture.specific_enthalpy_of_mixing(313.15, 150e5)
    parts = [dp.Fluid(name).specific_enthalpy(313.15, 150e5) for name in FRACTIONS]
    apart = float(np.dot(parts, mixture.mass_fractions))
    assert found == pytest.approx(mixture.specific_enthalpy(313.15, 150e5) - apart, abs=1.0)
    assert co2.specific_enthalpy_of_mixing(313.15, 150e5) == 0.0


def worked() -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((VECTORS / "worked_blend.json").read_text())["examples"]
    return found


@pytest.mark.parametrize("example", worked(), ids=[example["id"] for example in worked()])
def test_blends_of_the_worked_examples(example: dict[str, Any]) -> None:
    inputs = example["inputs"]
    share = inputs["set volume fraction of methanol / 1"]
    flows = {"carbon dioxide": 1.0 - share, "methanol": share}
    whole = inputs["volume_flow_rate / (m3/s)"]
    heads = {name: (inputs[f"{name} temperature / K"], inputs[f"{name} pressure / Pa"]) for name in flows}
    made = dp.blend({name: (whole * flows[name], *head) for name, head in heads.items()})
    found = {
        "mass_fraction of methanol": made.mass_fraction["methanol"],
        "amount_fraction of methanol": made.amount_fraction["methanol"],
        "mass_flow_rate": made.mass_flow_rate,
    }
    for result in example["results"]:
        if result["output"] in found:
            assert found[result["output"]] == pytest.approx(result["value"], rel=2e-5), result["output"]
    asked = dp.blend_for({name: (flows[name], *head) for name, head in heads.items()}, basis="volume", volume_flow_rate=whole)
    assert asked.feeds.volume_flow_rate == pytest.approx([whole * flow for flow in flows.values()], rel=1e-13)


def test_a_blend_is_a_fluid() -> None:
    made = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), "acetone": (1e-8, 295.15, 15e6)})
    assert made.fluid.composition == made.amount_fraction
    assert made.fluid.mass_fractions == pytest.approx(list(made.mass_fraction.values()), rel=1e-14)
    rates = [4e-8 * dp.Fluid("CO2").density(278.15, 15e6), 1e-8 * dp.Fluid("acetone").density(295.15, 15e6)]
    assert made.mass_flow_rate == pytest.approx(sum(rates), rel=1e-14)
    assert made.feeds.mass_flow_rate == pytest.approx(rates, rel=1e-14)
    table = made.sensitivities()
    warmer = dp.blend({"carbon dioxide": (4e-8, 278.16, 15e6), "acetone": (1e-8, 295.15, 15e6)})
    slope = (warmer.amount_fraction["acetone"] - made.amount_fraction["acetone"]) / 0.01
    assert table.amount_fraction_by_temperature[1] == pytest.approx(slope, rel=1e-3)
    assert "acetone" in repr(made)
    premixed = dp.blend({"carbon dioxide": (4e-8, 278.15, 15e6), made.fluid: (1e-8, 313.15, 15e6)})
    assert premixed.fluid.substances == ("carbon dioxide", "acetone")


def test_blends_that_make_no_sense() -> None:
    head = (278.15, 15e6)
    with pytest.raises(dp.DomainError, match="volume flow rate"):
        dp.blend({"carbon dioxide": (0.0, *head)})
    with pytest.raises(dp.ArgumentError):
        dp.blend({})
    with pytest.raises(dp.ArgumentError, match="three numbers"):
        dp.blend({"carbon dioxide": (1e-8, 278.15)})  # type: ignore[dict-item]
    with pytest.raises(dp.CompositionError):
        dp.blend_for({"carbon dioxide": (0.9, *head)}, basis="mass", mass_flow_rate=1e-5)
    with pytest.raises(dp.ArgumentError, match="mass_flow_rate or volume_flow_rate"):
        dp.blend_for({"carbon dioxide": (1.0, *head)}, basis="mass")
    with pytest.raises(dp.ArgumentError, match="basis"):
        dp.blend_for({"carbon dioxide": (1.0, *head)}, basis="weight", mass_flow_rate=1e-5)  # type: ignore[arg-type]


def test_the_phases_at_a_temperature_end_at_the_critical_point() -> None:
    diagram = dp.isothermal_phase_diagram("carbon dioxide", "acetone", 313.15)
    [region] = [region for region in diagram.regions if region.kind == "liquid and vapour"]
    assert (region.begins, region.ends) == ("second substance", "critical point")
    fraction = float(region.tie_lines.amount_fraction[-1])
    point = dp.Fluid({"carbon dioxide": 1.0 - fraction, "acetone": fraction}).critical_point()
    assert point.temperature == pytest.approx(313.15, rel=1e-6)
    assert point.pressure == pytest.approx(float(region.tie_lines.pressure[-1]), rel=1e-6)
    assert fraction in diagram.critical_points.amount_fraction
    lines = region.tie_lines
    middle = len(lines) // 2
    liquid = {"carbon dioxide": 1.0 - lines.amount_fraction[middle], "acetone": lines.amount_fraction[middle]}
    bubble = dp.Fluid(liquid).bubble_point(temperature=313.15)
    assert bubble.pressure == pytest.approx(lines.pressure[middle], rel=1e-7)
    assert bubble.vapour.density == pytest.approx(lines.other_density[middle], rel=1e-6)


def test_three_phases_and_azeotropes_are_told() -> None:
    water = dp.isothermal_phase_diagram("carbon dioxide", "water", 293.15)
    assert len(water.three_phase_lines.pressure) == 1
    assert sorted(region.kind for region in water.regions) == ["liquid and vapour", "liquid and vapour", "two liquids"]
    ethane = dp.isothermal_phase_diagram("carbon dioxide", "ethane", 250.0)
    [fraction] = ethane.azeotropes.amount_fraction
    assert ethane.azeotropes.other_amount_fraction[0] == pytest.approx(fraction, abs=1e-8)
    with pytest.raises(dp.RangeError):
        dp.isothermal_phase_diagram("carbon dioxide", "ethane", 20.0)


def test_the_heat_of_mixing_of_ethanol_and_water_is_given_off() -> None:
    # Exothermic at room temperature, from memory: J. A. Larkin, J. Chem. Thermodyn. 7, 137 (1975).
    mixture = dp.Fluid({"water": 0.8, "ethanol": 0.2})
    parts = zip(mixture.mass_fractions, mixture.composition, strict=True)
    apart = sum(share * dp.Fluid(name).specific_enthalpy(298.15, 1e5) for share, name in parts)
    assert mixture.specific_enthalpy(298.15, 1e5) < apart


def test_slow_waves_run_along_the_isentrope_of_the_phases_together() -> None:
    mixture = dp.Fluid({"carbon dioxide": 0.6, "methanol": 0.4})
    state = mixture.state(temperature=313.15, pressure=50e5)
    near = [mixture.state(pressure=50e5 * factor, specific_entropy=state.specific_entropy) for factor in (0.9999, 1.0001)]
    slope = (near[1].pressure - near[0].pressure) / (near[1].density - near[0].density)
    assert state.equilibrium_speed_of_sound == pytest.approx(slope**0.5, rel=1e-6)
    assert state.equilibrium_speed_of_sound < state.liquid.speed_of_sound
    one = mixture.state(temperature=313.15, pressure=150e5)
    assert one.equilibrium_speed_of_sound == one.speed_of_sound
