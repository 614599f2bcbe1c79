"""Equilibria of many states at once: each row is what the call for one state gives."""

from __future__ import annotations

import numpy as np
import pytest

import densepath as dp


@pytest.fixture(scope="module")
def mixture() -> dp.Fluid:
    return dp.Fluid({"carbon dioxide": 0.6, "acetone": 0.4})


def test_saturations_are_those_of_single_calls(co2: dp.Fluid) -> None:
    temperatures = np.linspace(220.0, 304.0, 90)
    table = co2.saturations(temperature=temperatures)
    one = [co2.saturation(temperature=float(t)) for t in temperatures]
    assert (table.temperature == temperatures).all()
    assert (table.pressure == [pair.pressure for pair in one]).all()
    assert (table.liquid_density == [pair.liquid.density for pair in one]).all()
    assert (table.vapour_specific_enthalpy == [pair.vapour.specific_enthalpy for pair in one]).all()
    assert (table.liquid_specific_entropy == [pair.liquid.specific_entropy for pair in one]).all()
    assert set(table.why) == {""}
    back = co2.saturations(pressure=table.pressure)
    assert back.temperature == pytest.approx(temperatures, rel=1e-9)
    assert table.units["vapour_density"] == "kg/m3"


@pytest.mark.parametrize("kind", ["bubble", "dew"])
def test_borders_are_those_of_single_calls(mixture: dp.Fluid, kind: str) -> None:
    many, single = getattr(mixture, f"{kind}_points"), getattr(mixture, f"{kind}_point")
    temperatures = [290.0, 310.0, 330.0]
    table = many(temperature=temperatures)
    points = [single(temperature=t) for t in temperatures]
    assert (table.pressure == [point.pressure for point in points]).all()
    assert (table.vapour_density == [point.vapour.density for point in points]).all()
    for phase in ("liquid", "vapour"):
        for name in mixture.substances:
            assert (table[f"{phase}: {name}"] == [getattr(point, phase).fluid.composition[name] for point in points]).all()
    pressures = [20e5, 30e5]
    assert (many(pressure=pressures).temperature == [single(pressure=p).temperature for p in pressures]).all()


def test_flashes_are_those_of_single_calls(mixture: dp.Fluid) -> None:
    temperature, pressure = [310.0, 310.0, 310.0], [5e5, 30e5, 150e5]
    table = mixture.flashes(temperature, pressure)
    expected = [(i, phase) for i in range(3) for phase in mixture.flash(temperature[i], pressure[i]).phases]
    assert table.point.tolist() == [i for i, _ in expected]
    assert table.phase == tuple(phase.phase for _, phase in expected)
    assert (table.density == [phase.density for _, phase in expected]).all()
    assert (table.amount_fraction == [phase.fraction for _, phase in expected]).all()
    assert (table.acetone == [phase.composition["acetone"] for _, phase in expected]).all()
    whole = np.bincount(table.point.astype(int), table.amount_fraction * table.acetone)
    assert whole == pytest.approx([0.4] * 3, abs=1e-9)


def test_a_failure_keeps_to_its_row(co2: dp.Fluid, mixture: dp.Fluid) -> None:
    temperatures = [280.0, 310.0, 290.0, -1.0]
    table = co2.saturations(temperature=temperatures, on_error="nan")
    assert (np.isnan(table.pressure) == [False, True, False, True]).all()
    assert table.why[0] == "" and "310 K" in table.why[1] and "-1 K" in table.why[3]
    with pytest.raises(dp.PhaseError) as caught:
        co2.saturations(temperature=temperatures)
    assert (caught.value.index, caught.value.failed) == (1, 2)
    with pytest.warns(dp.DensepathWarning, match="310 K"):
        co2.saturations(temperature=temperatures, on_error="warn")
    flashed = mixture.flashes([310.0, 10.0], [150e5, 150e5], on_error="nan")
    assert flashed.point.tolist() == [0.0, 1.0]
    assert flashed.phase[1] == "" and flashed.why[1]


def test_wrong_lists_are_refused(co2: dp.Fluid) -> None:
    for arguments in ({}, {"temperature": [280.0], "pressure": [40e5]}):
        with pytest.raises(dp.ArgumentError):
            co2.saturations(**arguments)
    with pytest.raises(dp.ArgumentError, match="as many pressures"):
        co2.flashes([280.0, 290.0], [40e5])
    with pytest.raises(dp.ArgumentError, match="on_error"):
        co2.saturations(temperature=[280.0], on_error="ignore")  # type: ignore[arg-type]
    assert len(co2.saturations(temperature=[])) == 0


def test_tables_become_datasets(co2: dp.Fluid) -> None:
    table = co2.saturations(temperature=[280.0, 290.0])
    dataset = table.to_xarray()
    assert dataset.sizes == {"row": 2}
    assert dataset.pressure.attrs["units"] == "Pa"
    assert (dataset.pressure.values == table.pressure).all()
    solution = dp.solve("tests/methods/packed.toml")
    stations = solution.to_xarray()
    assert float(stations.pressure.sel(name="column")) == solution.station("column").state.pressure
    assert solution.bands is not None
    assert list(solution.bands.to_xarray().part.values) == list(solution.bands.rows.part)


def test_a_map_becomes_a_dataset_of_two_dimensions() -> None:
    across, down = (("regulator", "pressure"), [120e5, 130e5, 150e5]), (("preheater", "wall_temperature"), [310.0, 320.0])
    plane = dp.map_method("tests/methods/packed.toml", across=across, down=down, outputs=[("column", "hold_up_time")])
    dataset = plane.to_xarray()
    assert dataset.sizes == {"preheater: wall_temperature": 2, "regulator: pressure": 3}
    found = dataset["column: hold_up_time"].sel({"preheater: wall_temperature": 320.0, "regulator: pressure": 130e5})
    assert float(found) == plane.points["column: hold_up_time"][4]
    assert found.attrs["units"] == "s"
