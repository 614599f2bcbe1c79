"""Every call exists, answers by the names of the tables, and documents itself."""

from __future__ import annotations

import doctest
import importlib
import inspect
import math
import pkgutil
import re
import subprocess
import sys
import types
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import densepath as dp
from densepath import _core

FUNCTIONS = [name for name in _core.UFUNCS if not name.endswith(("_status", "_uncertainty"))]
QUANTITIES = {name for name, _, _ in dp.list_quantities()}
# Functions of temperature and density.
OF_DENSITY = {"pressure", "isopycnic"}


def arguments_of(name: str) -> tuple[float, float]:
    """A state of one phase below the critical temperature, as the function takes it."""
    return (298.15, 875.86) if name in OF_DENSITY else (298.15, 150e5)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_float_in_float_out(co2: dp.Fluid, name: str) -> None:
    value = getattr(co2, name)(*arguments_of(name))
    assert type(value) is float
    assert math.isfinite(value)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_way_gives_the_same_bits(co2: dp.Fluid, name: str) -> None:
    first, second = arguments_of(name)
    value = getattr(co2, name)(first, second)
    assert getattr(co2, name)([first], second)[0] == value
    assert _core.UFUNCS[name](co2.identity, first, second) == value
    if name not in OF_DENSITY:
        # A function answers by a density that is within 1e-11 of that of the state.
        assert getattr(co2.state(temperature=first, pressure=second), name) == pytest.approx(value, rel=1e-11)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_documentation_is_complete(name: str) -> None:
    text = inspect.getdoc(getattr(dp.Fluid, name))
    assert text is not None
    for heading in ("Parameters", "Returns", "Raises", "Notes", "Examples"):
        assert f"\n{heading}\n---" in text
    assert name in QUANTITIES or name == "isopycnic"


def test_a_state_has_every_property_of_the_table(co2: dp.Fluid) -> None:
    values = co2.state(temperature=313.15, pressure=150e5).to_dict()
    assert set(FUNCTIONS) - {"single_phase_margin", "isopycnic"} <= set(values)
    assert all(name in QUANTITIES for name in values if name not in ("fluid", "phase"))


def test_states_by_any_pair_agree(co2: dp.Fluid) -> None:
    state = co2.state(temperature=313.15, pressure=150e5)
    for other in (
        co2.state(temperature=313.15, density=state.density),
        co2.state(pressure=150e5, specific_enthalpy=state.specific_enthalpy),
        co2.state(pressure=150e5, specific_entropy=state.specific_entropy),
        co2.state(density=state.density, specific_internal_energy=state.specific_internal_energy),
        co2.state(specific_enthalpy=state.specific_enthalpy, specific_entropy=state.specific_entropy),
    ):
        assert other.density == pytest.approx(state.density, rel=1e-9)
        assert other.phase == "supercritical"


def test_two_phases(co2: dp.Fluid) -> None:
    state = co2.state(temperature=298.15, density=500.0)
    assert state.phase == "liquid + vapour"
    assert state.liquid is not None
    assert state.vapour is not None
    assert state.vapour_fraction is not None
    volume = state.vapour_fraction / state.vapour.density + (1 - state.vapour_fraction) / state.liquid.density
    assert 1 / volume == pytest.approx(500.0, rel=1e-12)
    with pytest.raises(dp.PhaseError):
        _ = state.speed_of_sound
    assert state.to_dict()["speed_of_sound"] is None


def test_saturation(co2: dp.Fluid) -> None:
    by_temperature = co2.saturation(temperature=293.15)
    by_pressure = co2.saturation(pressure=by_temperature.pressure)
    assert by_pressure.temperature == pytest.approx(293.15, rel=1e-10)
    assert by_temperature.liquid.density > by_temperature.vapour.density
    assert by_temperature.liquid.specific_gibbs_energy == pytest.approx(
        by_temperature.vapour.specific_gibbs_energy, rel=1e-9
    )


def test_critical_point_is_the_published_one(co2: dp.Fluid) -> None:
    """Span and Wagner 1996, doi 10.1063/1.555991, eqs. 2.3 to 2.5."""
    point = co2.critical_point()
    assert (point.temperature, point.pressure) == (304.1282, 7.3773e6)
    assert point.density == pytest.approx(467.6, abs=0.05)


def test_throttling_keeps_the_enthalpy(co2: dp.Fluid) -> None:
    before = co2.state(temperature=313.15, pressure=150e5)
    after = before.expand_to(60e5)
    assert after.pressure == pytest.approx(60e5, rel=1e-14)
    assert after.specific_enthalpy == pytest.approx(before.specific_enthalpy, rel=1e-12)


def test_dry_ice_forms_on_expansion_to_the_room(co2: dp.Fluid) -> None:
    after = co2.state(temperature=313.15, pressure=150e5).expand_to(101325.0)
    assert after.phase == "solid + vapour"
    assert after.vapour_fraction == pytest.approx(1 - after.solid_fraction, rel=1e-15)
    assert after.liquid is None
    assert after.vapour is not None
    assert after.solid is not None
    mixed = after.solid_fraction * after.solid.specific_enthalpy + after.vapour_fraction * after.vapour.specific_enthalpy
    assert mixed == pytest.approx(after.specific_enthalpy, rel=1e-9)


def test_notices_travel_with_states(co2: dp.Fluid) -> None:
    notices = co2.state(temperature=307.0, pressure=80e5).notices
    assert [notice.code for notice in notices] == ["near_critical"]
    assert notices[0].severity == "warning"
    assert "density" in str(notices[0])
    assert co2.state(temperature=313.15, pressure=300e5).notices == ()


def test_lines_of_a_substance(co2: dp.Fluid) -> None:
    # Of 900 kg/m3 it boils below 282.4 K and is one phase above.
    pressure = co2.isopycnic([270.0, 310.0], 900.0, on_error="nan")
    assert np.isnan(pressure[0])
    assert co2.density(310.0, pressure[1]) == pytest.approx(900.0, rel=1e-12)
    # Span and Wagner 1996, eq. 3.10: 67.30 MPa; the solid's own equation gives 67.42 MPa.
    assert co2.melting_pressure(230.0) == pytest.approx(67.42e6, rel=1e-4)
    # Independent computation with CoolProp 8.0.0.
    assert co2.pseudo_critical(313.15).pressure == pytest.approx(88.6365e5, rel=5e-6)
    assert co2.pseudo_critical(313.15, definition="density_gradient").pressure == pytest.approx(88.3593e5, rel=5e-6)
    with pytest.raises(dp.ArgumentError, match="expansivity"):
        co2.pseudo_critical(313.15, definition="viscosity")  # type: ignore[arg-type]


def test_derivatives_follow_from_the_properties(co2: dp.Fluid) -> None:
    state = co2.state(temperature=313.15, pressure=150e5)
    near = [co2.state(pressure=p, specific_enthalpy=state.specific_enthalpy).density for p in (149.9e5, 150.1e5)]
    assert state.drho_dp_h == pytest.approx((near[1] - near[0]) / 0.2e5, rel=1e-5)
    assert state.drho_dp_s == pytest.approx(state.speed_of_sound**-2, rel=1e-14)
    assert state.dp_drho_t == pytest.approx(1 / (state.density * state.isothermal_compressibility), rel=1e-12)
    assert state.dp_dt_rho == pytest.approx(state.isobaric_expansivity / state.isothermal_compressibility, rel=1e-12)
    assert state.dh_dp_t == pytest.approx(-state.joule_thomson_coefficient * state.specific_isobaric_heat_capacity, rel=1e-9)


def test_diffusion_by_every_law(co2: dp.Fluid) -> None:
    state = co2.state(temperature=313.15, pressure=100e5)
    # Independent computation of the law of Wilke and Chang with the viscosity of CoolProp 8.0.0: benzene.
    assert state.diffusion_coefficients(96e-6)["wilke_chang"] == pytest.approx(2.08601e-8, rel=1e-5)
    assert state.diffusion_coefficients(96e-6, molar_mass=78.11e-3).keys() == {"wilke_chang", "scheibel", "lusis_ratcliff", "he_yu", "schmidt_number"}


def test_the_saturation_tells_its_uncertainty() -> None:
    boiling = dp.Fluid("propan-2-ol").saturation(temperature=330.0)
    assert boiling.uncertainty("pressure") == 0.005
    assert boiling.uncertainty_basis("pressure") == "stated with the model"
    assert "VDI Heat Atlas" in dp.Fluid("argon").saturation(temperature=100.0).uncertainty_basis("pressure")
    with pytest.raises(dp.MissingModelError):
        dp.Fluid("argon").saturation(temperature=150.0).uncertainty("pressure")


@pytest.mark.parametrize("fluid", [fluid for fluid in dp.substances() if fluid.name != "air"], ids=lambda fluid: fluid.name)
def test_every_substance_tells_how_sure_its_vapour_pressure_is(fluid: dp.Fluid) -> None:
    low, high = fluid.saturation_range
    boiling = fluid.saturation(temperature=low + 0.45 * (high - low))
    assert 0.0 < boiling.uncertainty("pressure") < 0.05
    assert boiling.uncertainty_basis("pressure")


def test_uncertainty_is_told_only_where_one_is_known(co2: dp.Fluid) -> None:
    assert co2.uncertainty("density", [313.15, 350.0], 150e5).tolist() == [0.0005, 0.0005]
    assert type(co2.uncertainty("dynamic_viscosity", 313.15, 150e5)) is float
    with pytest.raises(dp.MissingModelError, match="1 of 2"):
        co2.uncertainty("density", [313.15, 304.2], [150e5, 73.8e5])
    # Beyond 30 MPa no source states it: what stands there is marked as judged.
    assert co2.uncertainty("density", 313.15, 400e5) > 0.0005
    assert "judged" in co2.state(temperature=313.15, pressure=400e5).uncertainty_basis("density")
    with pytest.raises(dp.MissingModelError):
        co2.uncertainty("specific_entropy", 313.15, 150e5)
    with pytest.raises(dp.ArgumentError):
        co2.uncertainty("colour", 313.15, 150e5)


def test_every_model_tells_its_range_and_source() -> None:
    for fluid in dp.substances():
        models = fluid.models
        assert models.model[0] == fluid.model
        assert all(re.search(r"\(\d{4}\)(, doi 10\.|$)", source) for source in models.source)
        assert (models.temperature_max > models.temperature_min).all()
        assert fluid.source == models.source[0]
        assert fluid.source.split(",")[0] in fluid._repr_html_()


def test_tables() -> None:
    codes = [code for code, _, _ in dp.list_errors()]
    assert codes == sorted(set(codes))
    for _, name, meaning in dp.list_errors():
        assert issubclass(getattr(dp, name), dp.DensepathError)
        assert meaning
    assert {severity for _, severity in dp.list_notices()} == {"caution", "warning", "remark"}


def test_reprs_name_units(co2: dp.Fluid) -> None:
    state = co2.state(temperature=313.15, pressure=150e5)
    for item in (state, co2.saturation(temperature=293.15), co2.critical_point(), co2):
        assert "\n" not in repr(item)
    assert "150" not in repr(co2)
    assert "temperature = 313.15 K" in repr(state)
    html = state._repr_html_()
    assert "<table" in html
    assert "J/(kg K)" in html
    assert "Span and Wagner" in html
    assert "<td" in co2.saturation(temperature=293.15)._repr_html_()


def modules() -> list[str]:
    return ["densepath", *(module.name for module in pkgutil.walk_packages(dp.__path__, "densepath."))]


@pytest.mark.parametrize("name", [name for name in modules() if not name.endswith("__main__")])
def test_examples_of_the_python_modules_run(name: str) -> None:
    module = importlib.import_module(name)
    assert doctest.testmod(module, raise_on_error=False).failed == 0


def compiled_documents() -> list[tuple[str, str]]:
    found = []
    for name in _core.__all__:  # type: ignore[attr-defined]
        item = getattr(_core, name)
        if not (inspect.isclass(item) or inspect.isbuiltin(item)):
            continue
        found.append((name, item.__doc__ or ""))
        if inspect.isclass(item):
            members = vars(item).items()
            found += [(f"{name}.{member}", value.__doc__ or "") for member, value in members if member[0] != "_"]
    return found + [(f"ufuncs.{name}", ufunc.__doc__ or "") for name, ufunc in _core.UFUNCS.items()]


@pytest.mark.parametrize(("name", "text"), compiled_documents(), ids=[name for name, _ in compiled_documents()])
def test_examples_of_the_compiled_module_run(name: str, text: str) -> None:
    assert text.strip(), f"{name} has no documentation"
    test = doctest.DocTestParser().get_doctest(text, {}, name, None, None)
    assert doctest.DocTestRunner().run(test).failed == 0


def callables_of(module: types.ModuleType) -> Iterator[tuple[str, object]]:
    """Every public class, method and function of a module and of the public modules in it, with its name."""
    for name in getattr(module, "__all__", [name for name in dir(module) if name[0] != "_"]):
        item = getattr(module, name)
        full = f"{module.__name__}.{name}"
        if inspect.ismodule(item):
            if item.__name__.startswith("densepath."):
                yield from callables_of(item)
            continue
        if callable(item):
            yield full, item
        if inspect.isclass(item):
            for member, value in vars(item).items():
                method = value.__func__ if isinstance(value, (staticmethod, classmethod)) else value
                if member[0] != "_" and callable(method):
                    yield f"{full}.{member}", method


def test_every_class_method_and_function_has_an_example() -> None:
    without = [name for name, item in callables_of(dp) if ">>>" not in (item.__doc__ or "")]
    assert not without, "without an example: " + ", ".join(without)


def test_stubs_match_the_compiled_module() -> None:
    result = subprocess.run(
        [sys.executable, "-m", "mypy.stubtest", "densepath._core"], capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, result.stdout + result.stderr


def test_types_are_strict(tmp_path: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--untyped-calls-exclude=dask", "-p", "densepath"],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,  # beside the installed packages they would be taken for sources
    )
    assert result.returncode == 0, result.stdout + result.stderr


def test_pyright_agrees() -> None:
    project = Path(__file__).parents[2] / "python"
    command = [sys.executable, "-m", "pyright", "--project", str(project), "--pythonpath", sys.executable]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == 0 and "0 errors, 0 warnings" in result.stdout, result.stdout + result.stderr


def test_units() -> None:
    units = dp.units
    assert units.BAR == 1e5
    assert units.from_celsius(40.0) == 313.15
    assert np.allclose(units.to_celsius(np.array([273.15, 313.15])), [0.0, 40.0])
    assert units.MILLILITRE_PER_MINUTE == pytest.approx(1e-6 / 60, rel=1e-15)
