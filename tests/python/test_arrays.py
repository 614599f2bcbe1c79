"""Arrays of every library broadcast, keep their labels and give the same numbers."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import dask.array as da
import numpy as np
import pandas as pd
import pytest
import xarray as xr

import densepath as dp
from densepath import ufuncs

TEMPERATURES = np.array([280.0, 313.15, 333.15, 400.0])
PRESSURES = np.array([40e5, 80e5, 150e5, 400e5])


@pytest.fixture(scope="module")
def expected(co2: dp.Fluid) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.array([co2.density(float(t), float(p)) for t, p in zip(TEMPERATURES, PRESSURES, strict=True)])


@pytest.mark.parametrize(
    "make",
    [list, tuple, np.asarray, np.ma.asarray, pd.Series, lambda x: xr.DataArray(x, dims="point"), da.from_array],
    ids=["list", "tuple", "ndarray", "masked", "Series", "DataArray", "dask"],
)
def test_every_kind_of_array_gives_the_same_bits(co2: dp.Fluid, expected: Any, make: Any) -> None:
    result = co2.density(make(TEMPERATURES), make(PRESSURES))
    assert (np.asarray(result) == expected).all()


def test_broadcasting(co2: dp.Fluid) -> None:
    grid = co2.density(TEMPERATURES[:, None], PRESSURES)
    assert grid.shape == (4, 4)
    assert grid[1, 2] == co2.density(float(TEMPERATURES[1]), float(PRESSURES[2]))
    assert co2.density(313.15, np.array([])).shape == (0,)
    assert co2.density(TEMPERATURES[::-2], 150e5)[0] == co2.density(float(TEMPERATURES[3]), 150e5)


def test_kinds_of_numbers(co2: dp.Fluid) -> None:
    whole = co2.density(300, 15_000_000)
    assert whole == co2.density(300.0, 15e6)
    assert co2.density(np.array([300]), np.array([15_000_000]))[0] == whole
    assert co2.density(np.float32(300), np.float32(15e6)) == whole
    assert isinstance(co2.density(np.float64(300), np.float64(15e6)), float)
    assert isinstance(co2.density(np.array(300.0), 15e6), float)
    single = co2.density(TEMPERATURES.astype(np.float32), PRESSURES.astype(np.float32))
    assert single.dtype == np.float64


def test_output_and_mask_of_a_ufunc(co2: dp.Fluid, expected: Any) -> None:
    out = np.zeros(4)
    ufuncs.density(co2.identity, TEMPERATURES, PRESSURES, out=out, where=np.array([True, False, True, True]))
    assert out[1] == 0.0
    assert (out[[0, 2, 3]] == expected[[0, 2, 3]]).all()
    assert ufuncs.density.nin == 3


def test_series_keep_their_index(co2: dp.Fluid, expected: Any) -> None:
    frame = pd.DataFrame({"temperature": TEMPERATURES, "pressure": PRESSURES}, index=list("abcd"))
    density = co2.density(frame["temperature"], frame["pressure"])
    assert density.name == "density"
    assert density["c"] == expected[2]
    assert co2.density(frame["temperature"], 150e5).name == "density"


def test_data_arrays_broadcast_by_name_and_carry_units(co2: dp.Fluid) -> None:
    temperature = xr.DataArray(TEMPERATURES, dims="temperature", attrs={"units": "K"})
    pressure = xr.DataArray(PRESSURES, dims="pressure", attrs={"units": "Pa"})
    density = co2.density(temperature, pressure)
    assert density.dims == ("temperature", "pressure")
    assert density.attrs["units"] == "kg/m3"
    assert density.name == "density"


def test_lazy_arrays_stay_lazy(co2: dp.Fluid) -> None:
    pressure = da.linspace(40e5, 400e5, 1000, chunks=100)
    density = co2.density(350.0, pressure)
    assert isinstance(density, da.Array)
    assert density.chunks == pressure.chunks
    assert (density.compute() == co2.density(350.0, pressure.compute())).all()
    labelled = co2.density(350.0, xr.DataArray(pressure, dims="pressure"))
    assert isinstance(labelled.data, da.Array)
    assert labelled.attrs["units"] == "kg/m3"
    assert (labelled.compute() == density.compute()).all()


def test_lazy_arrays_in_other_processes(co2: dp.Fluid) -> None:
    pressure = da.linspace(40e5, 400e5, 40, chunks=20)
    lazy = [co2.density(350.0, pressure), ufuncs.density(co2.identity, 350.0, pressure)]
    for density in lazy:
        result = density.compute(scheduler="processes", num_workers=2)
        assert (result == co2.density(350.0, pressure.compute())).all()


def test_a_lazy_array_reports_its_failures_when_computed(co2: dp.Fluid) -> None:
    pressure = da.from_array(np.array([150e5, -1.0]))
    density = co2.density(313.15, pressure)
    with pytest.raises(dp.DomainError):
        density.compute()
    assert np.isnan(co2.density(313.15, pressure, on_error="nan").compute()[1])


def test_ufuncs_pickle_by_name() -> None:
    assert pickle.loads(pickle.dumps(ufuncs.density)) is ufuncs.density


def test_threads_share_a_fluid(co2: dp.Fluid) -> None:
    pressures = np.linspace(40e5, 400e5, 20_000)
    expected = co2.density(350.0, pressures)
    with ThreadPoolExecutor(4) as pool:
        results = list(pool.map(lambda _: co2.density(350.0, pressures), range(8)))
    assert all((result == expected).all() for result in results)


def test_good_elements_leave_the_flags_of_the_processor_alone(co2: dp.Fluid) -> None:
    temperatures, pressures = np.meshgrid(np.linspace(217.0, 1000.0, 80), np.geomspace(1e3, 700e6, 80))
    fluid = ufuncs.density_status(co2.identity, temperatures, pressures) == 0
    assert fluid.sum() > 5000
    temperatures, pressures = temperatures[fluid], pressures[fluid]
    with np.errstate(all="raise", under="ignore"):
        for function in (ufuncs.density, ufuncs.specific_enthalpy, ufuncs.speed_of_sound):
            assert np.isfinite(function(co2.identity, temperatures, pressures)).all()


def test_a_list_is_read_in_place_copied_or_written_over_alike() -> None:
    co2 = dp.Fluid("carbon dioxide")
    temperature = np.linspace(260.0, 380.0, 70_001)
    whole = co2.density(temperature, 150e5)
    assert (co2.density(temperature[::3], 150e5) == whole[::3]).all()
    table = np.zeros((2, temperature.size))
    ufunc = ufuncs.density
    assert (ufunc(co2.identity, temperature, np.full_like(temperature, 150e5), out=table[1]) == whole).all()
    over = temperature.copy()
    assert (ufunc(co2.identity, over, 150e5, out=over) == whole).all()
    assert [co2.density(float(t), 150e5) for t in temperature[:3]] == whole[:3].tolist()


def test_one_density_has_the_bits_of_a_list() -> None:
    co2 = dp.Fluid("carbon dioxide")
    temperature = np.linspace(217.0, 400.0, 61)
    pressure = np.geomspace(1e4, 80e6, 41)
    table = co2.density(temperature[:, None], pressure, on_error="nan")
    single = [[co2.density(t, p, on_error="nan") for p in pressure.tolist()] for t in temperature.tolist()]
    np.testing.assert_array_equal(table, single)
    states = [co2.state(temperature=t, pressure=90e5).density for t in temperature[40:].tolist()]
    np.testing.assert_allclose(co2.density(temperature[40:], 90e5), states, rtol=1e-11)


def test_several_properties_at_once_are_those_of_single_calls() -> None:
    co2 = dp.Fluid("carbon dioxide")
    temperature = np.linspace(300.0, 340.0, 6).reshape(3, 2)
    found = co2.properties(["density", "speed_of_sound"], temperature, 150e5)
    assert list(found) == ["density", "speed_of_sound"]
    assert (found["speed_of_sound"] == co2.speed_of_sound(temperature, 150e5)).all()
    assert (found["density"] == co2.density(temperature, 150e5)).all()
    with pytest.raises(dp.DensepathError):
        co2.properties("density", [300.0, 40.0], 150e5)
    partly = co2.properties("density", [300.0, 40.0], 150e5, on_error="nan")["density"]
    assert np.isfinite(partly[0]) and np.isnan(partly[1])
