"""Every gathered row on safety is met to its digits, or is an exception with its reason."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

import densepath as dp

TABLE = json.loads((Path(__file__).parents[1] / "published" / "safety.json").read_text(encoding="utf-8"))
ROWS: list[dict[str, Any]] = TABLE["rows"]
CO2 = dp.Fluid("carbon dioxide")
ATMOSPHERE = 101325.0
FLAMMABLE = dp.flammable_substances()


def gas_density(temperature: float) -> float:
    return CO2.density(temperature, ATMOSPHERE)


def blocked(row: dict[str, Any], end: float) -> float:
    start = CO2.state(temperature=row["temperature"], pressure=row["pressure"])
    return dp.blocked_in(start, end).warmed.pressure


def number(text: str) -> float:
    found = re.search(r"[0-9.]+", text)
    assert found is not None
    return float(found.group())


def cylinder(row: dict[str, Any]) -> float:
    vessel = dp.Cylinder(volume=1e-3, mass=number(row["inputs"]))
    return vessel.content(CO2, row["temperature"]).state.pressure


def expansion_ratio(row: dict[str, Any]) -> float:
    gas = re.search(r"and ([0-9.]+) K", row["inputs"])
    assert gas is not None
    liquid = CO2.saturation(temperature=row["temperature"]).liquid
    return liquid.density / gas_density(float(gas.group(1)))


def sublimation(row: dict[str, Any]) -> float:
    """Of the vapour at 1 atm, as the row has it: over dry ice, whose pressure at that temperature is 0.2 % higher, it has 6 J/kg less."""
    start = CO2.state(temperature=313.15, pressure=150e5)
    # The pressure over dry ice at the temperature of the row.
    low, high = 100e3, 103e3
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if start.expand_to(middle).temperature < row["temperature"] else (low, middle)
    end = start.expand_to(low)
    solid = end.solid
    assert solid is not None and end.temperature == pytest.approx(row["temperature"], abs=1e-6)
    assert end.pressure / ATMOSPHERE == pytest.approx(1.00228, abs=1e-5)
    return CO2.state(temperature=row["temperature"], pressure=ATMOSPHERE).specific_enthalpy - solid.specific_enthalpy


COMPUTED = {
    "isochoric_pressure_derivative": lambda row: CO2.state(temperature=row["temperature"], pressure=row["pressure"]).dp_dt_rho,
    "blocked_in_pressure_after_heating": lambda row: blocked(row, row["temperature"] + number(row["inputs"])),
    "blocked_in_pressure_at_298.15K": lambda row: blocked(row, 298.15),
    "cylinder_pressure_at_filling_ratio": cylinder,
    "gas_expansion_ratio": expansion_ratio,
    "gas_flow_from_liquid_flow": lambda row: CO2.density(row["temperature"], row["pressure"]) / gas_density(293.15),
    "specific_enthalpy_of_sublimation": sublimation,
    "gas_density_relative_to_air": lambda row: gas_density(293.15) / dp.Fluid("air").density(293.15, ATMOSPHERE),
    "isenthalpic_expansion_outlet_temperature": lambda row: CO2.state(
        temperature=row["temperature"], pressure=row["pressure"]
    ).expand_to(ATMOSPHERE).temperature,
}


def half_digit(value: float) -> float:
    """Half a unit of the last of six digits, relative; five where the table keeps no more."""
    return 5e-6 if value >= 1e3 else 5e-4 if value < 10 else 2e-5


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_a_row_is_met_or_an_exception(row: dict[str, Any]) -> None:
    assert row["source"]
    check, value = row["check"], row["value"]
    if check == "computed":
        assert COMPUTED[row["quantity"]](row) == pytest.approx(value, rel=half_digit(value))
    elif check == "flammable":
        assert FLAMMABLE.row(row["substance"])[row["quantity"]] == value
    elif check in ("limit_of_a_day", "limit_of_15_minutes", "beyond_danger_to_life"):
        # Just above the limit the caution of the room says so.
        words = {
            "limit_of_a_day": "above 5000 ppm",
            "limit_of_15_minutes": "above the limit of 15 minutes",
            "beyond_danger_to_life": "dangerous to life",
        }[check]
        told = [room_caution(factor * value * 1e-6) for factor in (0.99, 1.01)]
        assert words in told[1]
        assert (words in told[0]) == (check == "beyond_danger_to_life")
    else:
        assert check in TABLE["reasons"]


def room_caution(fraction: float) -> str:
    """What is said of a room of 60 m3 that comes to a volume fraction of carbon dioxide in the long run."""
    volume, rate, background = 60.0, 1.0 / 3600.0, dp.room_exposure(60.0, 1.0, gas_volume_flow_rate=0.0).steady_fraction
    flow = (fraction - background) * volume * rate
    found = dp.room_exposure(volume, rate, gas_volume_flow_rate=flow)
    assert found.steady_fraction == pytest.approx(fraction, rel=1e-3)
    return found.notices[0].text


def test_the_table_is_whole() -> None:
    assert len(ROWS) == 63
    assert {row["check"] for row in ROWS} >= set(TABLE["reasons"])
    assert sum(row["check"] == "computed" for row in ROWS) == 45
