"""Numbers of other libraries go in and come out as what they are."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pandas as pd
import pint
import polars as pl
import pytest
import uncertainties
from uncertainties import unumpy

import densepath as dp
from densepath.interop import pint_unit

TEMPERATURES = np.array([280.0, 313.15, 333.15])
PRESSURES = np.array([60e5, 150e5, 200e5])
UNITS = pint.UnitRegistry()


def test_every_unit_of_the_table_is_known_to_pint() -> None:
    for _, _, unit in dp.list_quantities():
        assert UNITS.parse_units(pint_unit(unit)) is not None
    assert (1.0 * UNITS.parse_units(pint_unit("J/(kg K)"))).check("[length]**2/[time]**2/[temperature]")


def test_quantities_are_converted_and_come_back_with_their_unit(co2: dp.Fluid) -> None:
    density = co2.density(UNITS.Quantity(40.0, "degC"), 150.0 * UNITS.bar)
    assert density.units == UNITS.Unit("kg/m**3")
    assert density.magnitude == pytest.approx(co2.density(313.15, 150e5), rel=1e-14)
    assert density.to("g/mL").magnitude == pytest.approx(0.780233, abs=1e-6)
    many = co2.specific_isobaric_heat_capacity(TEMPERATURES * UNITS.kelvin, PRESSURES)
    assert many.units == UNITS.Unit("J/kg/K")
    assert (many.magnitude == co2.specific_isobaric_heat_capacity(TEMPERATURES, PRESSURES)).all()
    back = co2.pressure(313.15, density)
    assert back.to("bar").magnitude == pytest.approx(150.0, rel=1e-9)
    assert co2.compression_factor(313.15, 150.0 * UNITS.bar).dimensionless


def test_quantities_of_the_wrong_dimension_are_refused(co2: dp.Fluid) -> None:
    with pytest.raises(dp.ArgumentError, match="dimension"):
        co2.density(UNITS.Quantity(40.0, "degC"), 150.0 * UNITS.meter)
    with pytest.raises(dp.RangeError, match="did you mean"):
        co2.density(40.0, 150.0 * UNITS.bar)
    assert math.isnan(co2.density(-1.0, 150.0 * UNITS.bar, on_error="nan").magnitude)


def test_uncertainties_pass_through_to_first_order(co2: dp.Fluid) -> None:
    temperature, pressure = uncertainties.ufloat(313.15, 0.1), uncertainties.ufloat(150e5, 1e5)
    density = co2.density(temperature, pressure)
    state = co2.state(temperature=313.15, pressure=150e5)
    by_temperature = state.density * state.isobaric_expansivity * 0.1
    by_pressure = state.density * state.isothermal_compressibility * 1e5
    assert density.nominal_value == co2.density(313.15, 150e5)
    assert density.std_dev == pytest.approx(math.hypot(by_temperature, by_pressure), rel=1e-5)
    assert set(density.error_components()) == {temperature, pressure}


def test_arrays_of_uncertain_values(co2: dp.Fluid) -> None:
    temperatures = unumpy.uarray(TEMPERATURES, 0.1)
    density = co2.density(temperatures, 150e5)
    assert (unumpy.nominal_values(density) == co2.density(TEMPERATURES, 150e5)).all()
    assert (unumpy.std_devs(density) > 0.0).all()


def test_series_of_polars(co2: dp.Fluid) -> None:
    density = co2.density(pl.Series("t", TEMPERATURES), pl.Series("p", PRESSURES))
    assert isinstance(density, pl.Series)
    assert density.name == "density"
    assert (density.to_numpy() == co2.density(TEMPERATURES, PRESSURES)).all()


def test_expressions_of_polars(co2: dp.Fluid) -> None:
    frame = pl.DataFrame({"t": TEMPERATURES, "p": PRESSURES}).lazy()
    table = frame.select(co2.density(pl.col("t"), pl.col("p")), co2.speed_of_sound(pl.col("t"), 150e5)).collect()
    assert table.columns == ["density", "speed_of_sound"]
    assert (table["density"].to_numpy() == co2.density(TEMPERATURES, PRESSURES)).all()
    assert (table["speed_of_sound"].to_numpy() == co2.speed_of_sound(TEMPERATURES, 150e5)).all()


def test_frames_of_pandas(co2: dp.Fluid) -> None:
    frame = pd.DataFrame({"a": TEMPERATURES, "b": TEMPERATURES + 1.0}, index=list("xyz"))
    density = co2.density(frame, 150e5)
    assert density.loc["y", "a"] == co2.density(313.15, 150e5)
    assert pickle.loads(pickle.dumps(density)).equals(density)


def test_a_mixture_takes_them_too() -> None:
    mixture = dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1})
    density = mixture.density(UNITS.Quantity(40.0, "degC"), 150.0 * UNITS.bar)
    assert density.magnitude == pytest.approx(mixture.density(313.15, 150e5), rel=1e-12)
