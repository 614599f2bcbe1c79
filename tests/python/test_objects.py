"""Objects are values: equal, hashed, copied and pickled to the last bit, and immutable."""

from __future__ import annotations

import copy
import pickle
from typing import Any

import pandas as pd
import pytest

import densepath as dp
from densepath import _core, ufuncs


def objects() -> dict[str, Any]:
    co2 = dp.Fluid("carbon dioxide")
    state = co2.state(temperature=313.15, pressure=150e5)
    two = co2.state(temperature=298.15, density=500.0)
    return {
        "fluid": co2,
        "critical point": co2.critical_point(),
        "state by temperature and pressure": state,
        "state by temperature and density": two,
        "state by pressure and enthalpy": co2.state(pressure=60e5, specific_enthalpy=-2e5),
        "state by pressure and entropy": co2.state(pressure=60e5, specific_entropy=-1.5e3),
        "expanded state": state.expand_to(60e5),
        "liquid of two phases": two.liquid,
        "vapour of two phases": two.vapour,
        "saturation by temperature": co2.saturation(temperature=280.0),
        "saturation by pressure": co2.saturation(pressure=40e5),
        "saturated liquid": co2.saturation(temperature=280.0).liquid,
        "saturated vapour": co2.saturation(pressure=40e5).vapour,
        "solid": state.expand_to(101325.0).solid,
        "state of solid and vapour": state.expand_to(101325.0),
        "property table": dp.PropertyTable(co2, ["density"], temperature=(310.0, 312.0), pressure=(15e6, 16e6)),
        "notice": co2.state(temperature=307.0, pressure=80e5).notices[0],
    }


@pytest.mark.parametrize("item", objects().values(), ids=objects().keys())
def test_a_copy_is_equal(item: Any) -> None:
    for twin in (pickle.loads(pickle.dumps(item)), copy.copy(item), copy.deepcopy(item)):
        assert twin == item
        assert repr(twin) == repr(item)
        if type(item).__hash__ is not None:
            assert hash(twin) == hash(item)
    assert item != object()


@pytest.mark.parametrize("item", objects().values(), ids=objects().keys())
def test_objects_are_frozen(item: Any) -> None:
    with pytest.raises(AttributeError):
        item.temperature = 1.0
    with pytest.raises(AttributeError):
        item.text = ""


@pytest.mark.parametrize("fluid", dp.substances(), ids=[fluid.name for fluid in dp.substances()])
def test_every_substance_is_a_value(fluid: dp.Fluid) -> None:
    assert pickle.loads(pickle.dumps(fluid)) == fluid == dp.Fluid(fluid.name)
    temperature = max(fluid.temperature_range[0] * 1.02, min(300.0, fluid.temperature_range[1]))
    state = fluid.state(temperature=temperature, pressure=1e5)
    assert pickle.loads(pickle.dumps(state)) == state
    assert ufuncs.density(fluid.identity, temperature, 1e5) == pytest.approx(state.density, rel=1e-11)
    assert len({other.identity for other in dp.substances()}) == len(dp.substances())


def test_a_fluid_with_other_data_is_refused(co2: dp.Fluid) -> None:
    with pytest.raises(dp.UnknownFluidError):
        _core.restore_fluid([("carbon dioxide", 1.0)], "best", False, 1.0, 0.0, co2.identity + 1)


def test_all_names_mean_one_fluid(co2: dp.Fluid) -> None:
    assert dp.Fluid("CO2") == co2
    assert len({dp.Fluid("co2"), co2, *dp.substances()}) == len(dp.substances())


def test_tables_of_pandas(co2: dp.Fluid) -> None:
    state = co2.state(temperature=313.15, pressure=150e5)
    series = state.to_pandas()
    assert series["density"] == state.density
    assert series.attrs["units"]["density"] == "kg/m3"
    frame = co2.saturation(temperature=280.0).to_pandas()
    assert list(frame.columns) == ["liquid", "vapour"]
    assert frame.attrs["units"]["speed_of_sound"] == "m/s"
    assert isinstance(pd.DataFrame([fluid.to_dict() for fluid in dp.substances()]), pd.DataFrame)
