"""Tables of properties: within their stated error, and the same bytes for every language."""

from __future__ import annotations

import numpy as np
import pytest

import densepath as dp


@pytest.fixture(scope="module")
def table(co2: dp.Fluid) -> dp.PropertyTable:
    return dp.PropertyTable(
        co2, ["density", "dynamic_viscosity"], temperature=(310.0, 330.0), pressure=(12e6, 30e6), tolerance=1e-6
    )


def test_values_are_within_the_stated_error(co2: dp.Fluid, table: dp.PropertyTable) -> None:
    random = np.random.default_rng(20261126)
    temperature, pressure = random.uniform(310.0, 330.0, 20_000), random.uniform(12e6, 30e6, 20_000)
    for name in table.properties:
        error = np.abs(table.value(name, temperature, pressure) / getattr(co2, name)(temperature, pressure) - 1.0)
        assert error.max() <= table.largest_error(name) <= 1e-6


def test_shapes_and_failures(table: dp.PropertyTable) -> None:
    grid = table.value("density", [[310.0], [320.0]], [15e6, 20e6, 25e6])
    assert grid.shape == (2, 3)
    assert grid[1, 2] == table.value("density", 320.0, 25e6)
    with pytest.raises(dp.errors.RangeError) as caught:
        table.value("density", [320.0, 300.0, 400.0], 15e6)
    assert (caught.value.index, caught.value.failed, caught.value.value) == (1, 2, 300.0)
    assert (caught.value.min, caught.value.max) == (310.0, 330.0)
    with pytest.warns(dp.errors.DensepathWarning, match="outside of the table"):
        assert np.isnan(table.value("density", 300.0, 15e6, on_error="warn"))
    with pytest.raises(dp.errors.MissingModelError):
        table.value("speed_of_sound", 320.0, 15e6)
    with pytest.raises(dp.errors.ArgumentError):
        table.value("density", [310.0, 320.0], [15e6, 16e6, 17e6])


def test_what_it_tells(co2: dp.Fluid, table: dp.PropertyTable) -> None:
    assert table.fluid == co2.name and table.model == co2.model
    assert table.properties == ("density", "dynamic_viscosity")
    assert table.temperature == (310.0, 330.0) and table.pressure == (12e6, 30e6)
    assert table.rectangle_count > 1


def test_no_table_where_there_can_be_none(co2: dp.Fluid) -> None:
    with pytest.raises(dp.errors.ConvergenceError, match="border"):
        dp.PropertyTable(co2, ["density"], temperature=(280.0, 300.0), pressure=(3e6, 9e6))
    with pytest.raises(dp.errors.ArgumentError):
        dp.PropertyTable(co2, [], temperature=(310.0, 320.0), pressure=(12e6, 30e6))
    with pytest.raises(dp.errors.DomainError):
        dp.PropertyTable(co2, ["density"], temperature=(320.0, 310.0), pressure=(12e6, 30e6))


def test_damaged_bytes_are_refused(table: dp.PropertyTable) -> None:
    data = bytearray(table.to_bytes())
    data[len(data) // 2] ^= 1
    with pytest.raises(dp.errors.DocumentError, match="checksum|coefficients|rectangle|polynomial"):
        dp.PropertyTable.from_bytes(bytes(data))
