"""The published check values and the independently computed examples, from the files that all languages share."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import Any

import pytest

import densepath as dp

FOLDER = Path(__file__).parent.parent / "vectors"
STATE_PROPERTIES = [
    "density",
    "specific_enthalpy",
    "specific_entropy",
    "specific_internal_energy",
    "specific_isobaric_heat_capacity",
    "specific_isochoric_heat_capacity",
    "speed_of_sound",
    "dynamic_viscosity",
    "thermal_conductivity",
    "relative_permittivity",
]
# Density in kg/m3 that stands for the limit of zero density.
THIN = 1e-9


OTHER_FLUIDS = sorted(path.stem for kind in ("state", "transport") for path in FOLDER.glob(f"{kind}_of_*.json"))


def read(name: str) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return content


def published(names: list[str]) -> list[Any]:
    """Every check of the files on states, but for those on the melting line and beyond the range."""
    found = []
    for name in names:
        vectors = read(name)
        for check in vectors["tests"]:
            if check.get("line") != "melting" and "beyond_range" not in check["flags"]:
                quantity = check.get("quantity") or vectors["quantity"]
                found.append(pytest.param(vectors["fluid"], quantity, check, id=check["id"]))
    return found


def state_of(fluid: dp.Fluid, check: dict[str, Any]) -> dp.State:
    temperature = check.get("T / K")
    if check.get("line") == "saturation":
        saturation = fluid.saturation(temperature=temperature, pressure=check.get("p / Pa"))
        # For the temperature and the pressure either phase will do.
        return saturation.vapour if check.get("phase") == "vapour" else saturation.liquid
    if "rho_m / (mol/m3)" in check:
        density = max(check["rho_m / (mol/m3)"] * fluid.molar_mass, THIN)
        return fluid.state(temperature=temperature, density=density)
    if "rho / (kg/m3)" in check:
        return fluid.state(temperature=temperature, density=max(check["rho / (kg/m3)"], THIN))
    return fluid.state(temperature=temperature, pressure=check["p / Pa"])


def assert_agrees(check: dict[str, Any], value: float) -> None:
    """To the printed digit; both decimals are themselves rounded to binary."""
    assert abs(value - check["value"]) <= check["u"] + 4 * sys.float_info.epsilon * abs(check["value"])


@pytest.mark.parametrize(("name", "quantity", "check"), published(STATE_PROPERTIES))
def test_published_properties(name: str, quantity: str, check: dict[str, Any]) -> None:
    assert_agrees(check, getattr(state_of(dp.Fluid(name), check), quantity))


def value_of(state: dp.State, quantity: str) -> float:
    """A property of a state, or one per amount of substance that the library gives per mass."""
    if not quantity.startswith("molar_"):
        value: float = getattr(state, quantity)
        return value
    if quantity == "molar_density":
        return state.density / state.fluid.molar_mass
    return value_of(state, "specific_" + quantity.removeprefix("molar_")) * state.fluid.molar_mass


@pytest.mark.parametrize(("name", "quantity", "check"), published(OTHER_FLUIDS))
def test_published_properties_of_other_fluids(name: str, quantity: str, check: dict[str, Any]) -> None:
    assert_agrees(check, value_of(state_of(dp.Fluid(name), check), quantity))


@pytest.mark.parametrize(("name", "quantity", "check"), published(["saturation_pressure", "surface_tension"]))
def test_published_saturation(name: str, quantity: str, check: dict[str, Any]) -> None:
    assert_agrees(check, getattr(dp.Fluid(name).saturation(temperature=check["T / K"]), quantity))


def isenthalpic() -> list[Any]:
    """The expansions that end above the pressure of the triple point, at 517950 Pa.

    Below it the border of the solid comes from another equation in the examples than here, which shifts the results by more than
    the tolerance.
    """
    examples = read("worked_expansion")
    return [
        pytest.param(example, result, examples["tolerances"][result["tolerance"]]["relative"], id=f"{example['id']}-{i}")
        for example in examples["examples"]
        if example["case"] == "isenthalpic" and example["inputs"]["outlet pressure / Pa"] > 517950.0
        for i, result in enumerate(example["results"])
    ]


@pytest.mark.parametrize(("example", "result", "relative"), isenthalpic())
def test_expansions(co2: dp.Fluid, example: dict[str, Any], result: dict[str, Any], relative: float) -> None:
    inputs = example["inputs"]
    before = co2.state(temperature=inputs["temperature / K"], pressure=inputs["pressure / Pa"])
    after = before.expand_to(inputs["outlet pressure / Pa"])
    value = getattr(after, result["output"])
    assert math.isclose(value, result["value"], rel_tol=relative)
