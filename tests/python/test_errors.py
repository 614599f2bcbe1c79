"""Bad input gives the error of the table, with value, unit, limit and hint."""

from __future__ import annotations

import math
import pickle
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr

import densepath as dp
from densepath import ufuncs


@pytest.mark.parametrize(
    ("temperature", "pressure", "kind", "code", "quantity"),
    [
        (math.nan, 150e5, dp.DomainError, 101, "temperature"),
        (-1.0, 150e5, dp.DomainError, 101, "temperature"),
        (313.15, math.inf, dp.DomainError, 101, "pressure"),
        (313.15, 0.0, dp.DomainError, 101, "pressure"),
        (40.0, 150e5, dp.RangeError, 102, "temperature"),
        (313.15, 9e8, dp.RangeError, 102, "pressure"),
    ],
)
def test_bad_numbers(
    co2: dp.Fluid, temperature: float, pressure: float, kind: type[dp.DensepathError], code: int, quantity: str
) -> None:
    with pytest.raises(kind) as caught:
        co2.density(temperature, pressure)
    error = caught.value
    assert isinstance(error, ValueError)
    assert (error.code, error.quantity) == (code, quantity)
    assert error.unit in str(error)
    assert error.value == (temperature if quantity == "temperature" else pressure) or math.isnan(temperature)


def test_celsius_for_kelvin_is_recognised(co2: dp.Fluid) -> None:
    with pytest.raises(dp.RangeError, match="did you mean 40 degC = 313.15 K") as caught:
        co2.density(40.0, 150e5)
    assert caught.value.min == 216.592
    assert caught.value.max == 1100.0
    assert caught.value.hint is not None


def test_bar_for_pascal_is_recognised(co2: dp.Fluid) -> None:
    with pytest.raises(dp.RangeError, match="did you mean 150 bar = 1.5e7 Pa"):
        co2.density(313.15, 150.0)
    with pytest.raises(dp.PhaseError, match="did you mean 57 bar = 5.7e6 Pa"):
        co2.saturation(pressure=57.0)


def test_an_unknown_fluid_suggests_the_nearest() -> None:
    with pytest.raises(dp.UnknownFluidError, match='^no substance is called "carbon dioxyde"') as caught:
        dp.Fluid("carbon dioxyde")
    assert isinstance(caught.value, KeyError)
    assert caught.value.code == 201
    assert caught.value.hint == 'did you mean "carbon dioxide"?'


def test_arguments_of_the_wrong_kind(co2: dp.Fluid) -> None:
    calls: list[Any] = [
        lambda: dp.Fluid(44),  # type: ignore[arg-type]
        lambda: co2.density("warm", 150e5),
        lambda: co2.density([1.0, 2.0], [1.0, 2.0, 3.0]),
        lambda: co2.density(313.15, 150e5, on_error="ignore"),  # type: ignore[call-overload]
        lambda: co2.state(temperature=300.0),
        lambda: co2.state(temperature=300.0, pressure=1e5, density=2.0),
        lambda: co2.state(specific_enthalpy=1e5, specific_internal_energy=1e5),
        lambda: co2.saturation(),
        lambda: co2.saturation(temperature=300.0, pressure=1e5),
    ]
    for call in calls:
        with pytest.raises(dp.ArgumentError) as caught:
            call()
        assert caught.value.code == 104
        assert isinstance(caught.value, TypeError)
        assert isinstance(caught.value, ValueError)


def test_an_array_counts_its_failures(co2: dp.Fluid) -> None:
    pressures = np.full(500, 150e5)
    pressures[[17, 40, 499]] = 9e8
    with pytest.raises(dp.RangeError, match=r"^3 of 500, first at index 17: pressure p = 9e8 Pa is above 8e8 Pa") as caught:
        co2.density(313.15, pressures)
    assert (caught.value.failed, caught.value.index, caught.value.max) == (3, 17, 8e8)
    with pytest.raises(dp.RangeError) as caught:
        co2.density([[313.15], [40.0]], [150e5, 200e5])
    assert (caught.value.failed, caught.value.index) == (2, (1, 0))


def test_labelled_arrays_count_their_failures(co2: dp.Fluid) -> None:
    series = pd.Series([150e5, -5.0], index=["a", "b"])
    with pytest.raises(dp.DomainError, match="1 of 2, first at index 1"):
        co2.density(313.15, series)
    temperature = xr.DataArray([313.15, 40.0], dims="t")
    pressure = xr.DataArray([150e5, 200e5, 300e5], dims="p")
    with pytest.raises(dp.RangeError, match="3 of 6"):
        co2.density(temperature, pressure)


def test_rules_for_failures(co2: dp.Fluid) -> None:
    values = co2.density([313.15, 40.0], 150e5, on_error="nan")
    assert values[0] == co2.density(313.15, 150e5)
    assert np.isnan(values[1])
    assert math.isnan(co2.density(40.0, 150e5, on_error="nan"))
    with pytest.warns(dp.DensepathWarning, match="1 of 2"):
        assert np.isnan(co2.density([313.15, 40.0], 150e5, on_error="warn")[1])
    with pytest.warns(dp.DensepathWarning, match="did you mean 40 degC") as record:
        assert math.isnan(co2.density(40.0, 150e5, on_error="warn"))
    assert record[0].filename == __file__


def test_masked_elements_are_no_failures(co2: dp.Fluid) -> None:
    temperature = np.ma.array([313.15, 40.0], mask=[False, True])
    density = co2.density(temperature, 150e5)
    assert density.mask.tolist() == [False, True]


def test_ufuncs_obey_errstate(co2: dp.Fluid) -> None:
    with np.errstate(invalid="raise"), pytest.raises(FloatingPointError):
        ufuncs.density(co2.identity, 40.0, 150e5)
    with np.errstate(invalid="ignore"):
        assert np.isnan(ufuncs.density(co2.identity, 40.0, 150e5))


def test_an_unknown_identity_is_no_other_fluid(co2: dp.Fluid) -> None:
    assert ufuncs.density_status(co2.identity + 1, 313.15, 150e5) == 201
    with np.errstate(invalid="ignore"):
        assert np.isnan(ufuncs.density(co2.identity + 1, 313.15, 150e5))


def test_status_tells_the_code_of_each_element(co2: dp.Fluid) -> None:
    codes = ufuncs.density_status(co2.identity, [313.15, 40.0, np.nan], 150e5)
    assert codes.tolist() == [0, 102, 101]


def test_no_equilibrium_outside_its_range(co2: dp.Fluid) -> None:
    with pytest.raises(dp.PhaseError) as caught:
        co2.saturation(temperature=310.0)
    assert caught.value.code == 302
    assert caught.value.max == 304.1282


def test_errors_pickle_with_their_numbers(co2: dp.Fluid) -> None:
    with pytest.raises(dp.RangeError) as caught:
        co2.density([40.0], 150e5)
    copy = pickle.loads(pickle.dumps(caught.value))
    assert type(copy) is dp.RangeError
    assert (copy.code, copy.value, copy.index, str(copy)) == (102, 40.0, 0, str(caught.value))
