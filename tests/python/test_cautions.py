"""Cautions cannot be switched off: no argument and no key of a document silences what can hurt."""

from __future__ import annotations

import inspect
import json
import re
import tomllib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

import densepath as dp
from densepath.units import BAR, MILLILITRE, from_celsius

CO2 = dp.Fluid("carbon dioxide")
METHODS = Path(__file__).parents[1] / "methods"
CHILLED = CO2.state(temperature=from_celsius(5.0), pressure=57.3 * BAR)
DENSE = CO2.state(temperature=from_celsius(40.0), pressure=150 * BAR)
MIXTURE = dp.Fluid({"carbon dioxide": 0.78, "methanol": 0.22})
PER_HOUR = 1.0 / 3600.0


def let_down(**options: Any) -> dp.LetDownCourse:
    return dp.let_down(CHILLED, volume=5e-6, diameter=1e-4, end_pressure=20 * BAR, **options)


def expand(**options: Any) -> dp.Expansion:
    return dp.BackPressureRegulator(pressure=150 * BAR, **options).expand(DENSE, 5e-5)


# Every result of something dangerous, with each of its arguments anywhere in their range.
DANGERS: dict[str, tuple[str, Iterable[Callable[[], Any]]]] = {
    "stored energy": (
        "stored_energy",
        [
            lambda: dp.stored_energy(DENSE, 1e-12),
            lambda: dp.stored_energy(DENSE, 1.0),
            lambda: dp.stored_energy(DENSE, 1e-6, room_pressure=149 * BAR, room_temperature=400.0),
        ],
    ),
    "rating of a tube": (
        "overpressure",
        [
            lambda: dp.tube_rating(0.25e-3, 1.5875e-3, 115e6),
            lambda: dp.tube_rating(1e-6, 1.0, 1e12),
        ],
    ),
    "hammer": ("overpressure", [lambda: dp.pressure_hammer(DENSE, 0.5), lambda: dp.pressure_hammer(DENSE, 1e-9)]),
    "blocked in": (
        "blocked_in_liquid",
        [
            lambda: dp.blocked_in(CHILLED, 293.15),
            lambda: dp.blocked_in(CHILLED, 278.16),
            lambda: dp.blocked_in(CHILLED, 293.15, rating=100 * BAR),
            lambda: dp.blocked_in(CHILLED, 293.15, rating=1e15),
        ],
    ),
    "heated while blocked in": (
        "blocked_in_liquid",
        [lambda: dp.heated_shut_in(CHILLED, 50e-6, 10.0), lambda: dp.heated_shut_in(CHILLED, 1e3, 0.0)],
    ),
    "depressurisation": (
        "cold_burn",
        [
            let_down,
            lambda: let_down(wall_conductance=100.0),
            lambda: let_down(room_temperature=400.0, wall_conductance=100.0),
            lambda: let_down(discharge_coefficient=1e-6),
            lambda: let_down(drawn="vapour"),
            lambda: let_down(drawn="liquid"),
        ],
    ),
    "vent of a modifier": (
        "flammable",
        [
            lambda: dp.vapour_in_vent(dp.Fluid("methanol"), 293.15),
            lambda: dp.vapour_in_vent(dp.Fluid("methanol"), 253.15),
            lambda: dp.vapour_in_vent(dp.Fluid("methanol"), 293.15, 1e9),
            lambda: dp.vapour_in_vent(dp.Fluid("dimethyl sulfoxide"), 293.15),
        ],
    ),
    "release into a room": (
        "asphyxiation",
        [
            lambda: dp.room_exposure(60.0, 6 * PER_HOUR, gas_volume_flow_rate=0.0, mass=30.0),
            lambda: dp.room_exposure(1e9, 1e3, gas_volume_flow_rate=0.0, mass=1e-3),
        ],
    ),
    "vent into a room": (
        "asphyxiation",
        [
            lambda: dp.room_exposure(60.0, 0.5 * PER_HOUR, gas_volume_flow_rate=27e-6),
            lambda: dp.room_exposure(60.0, 0.0, gas_volume_flow_rate=1e-12),
        ],
    ),
    "cold regulator": (
        "cold_burn",
        [
            expand,
            lambda: expand(outlet_temperature=from_celsius(60.0)),
            lambda: expand(outlet_temperature=from_celsius(60.0), heater_power=1e6),
            lambda: expand(outlet_pressure=1.2 * BAR),
        ],
    ),
    "vented loop": (
        "cold_burn",
        [
            lambda: dp.SampleLoop(volume=10e-9, drawn_volume=30e-9).outlet(DENSE, 5e-5),
            lambda: dp.SampleLoop(volume=10e-9, drawn_volume=30e-9, split_ratio=1e6, open_time=1e-3).outlet(DENSE, 5e-5),
        ],
    ),
}


@pytest.mark.parametrize("danger", DANGERS)
def test_a_dangerous_result_carries_its_caution(danger: str) -> None:
    code, calls = DANGERS[danger]
    for call in calls:
        told = [notice for notice in call().notices if notice.code == code]
        assert told, danger
        assert told[0].severity == "caution"
        assert len(told[0].text) > 40


def changed(method: str, part: str, **keys: str | float | None) -> dict[str, Any]:
    """An example with keys of one part changed, or left out where the value is None."""
    document = tomllib.loads((METHODS / f"{method}.toml").read_text(encoding="utf-8"))
    section = document["room"] if part == "room" else next(entry for entry in document["part"] if entry.get("name") == part)
    for key, value in keys.items():
        section.pop(key, None)
        if value is not None:
            section[key] = value
    return document


CHANGES: list[tuple[str, dict[str, Any]]] = [
    ("pump", {"pressure_limit": "1000 bar"}),
    ("pump", {"pressure_limit": None}),
    ("regulator", {"outlet_temperature": "60 degC", "heater_power": "10 kW"}),
    ("regulator", {"outlet_temperature": None, "heater_power": None}),
    ("vent", {"leads_to": "outdoors"}),
    ("vent", {"leads_to": "room"}),
    ("vent", {"diameter": "100 mm"}),
    ("room", {"air_change_rate": "10000 1/h"}),
    ("room", {"volume": None, "air_change_rate": None}),
    ("UV cell", {"pressure_limit": None, "wavelength": None, "detector": None}),
]


@pytest.mark.parametrize(("part", "keys"), CHANGES)
@pytest.mark.parametrize("method", ["packed", "packed_modifier"])
def test_no_key_of_a_document_silences_a_caution(method: str, part: str, keys: dict[str, Any]) -> None:
    solution = dp.solve(changed(method, part, **keys))
    told = {(notice.code, notice.station) for notice in solution.notices if notice.severity == "caution"}
    wanted = {("blocked_in_liquid", "pump"), ("cold_burn", "regulator"), ("cold_burn", "loop"), ("asphyxiation", "vent")}
    if method == "packed_modifier":
        wanted.add(("flammable", "vent"))
    assert told >= wanted
    # What is written carries them too, before all else.
    written = " ".join(solution.to_text().split())
    assert all(" ".join(notice.text.split()) in written for notice in solution.notices if notice.severity == "caution")
    severities = [notice["severity"] for notice in json.loads(solution.to_json())["notices"]]
    assert severities == sorted(severities, key=["caution", "warning", "remark"].index)
    assert severities.count("caution") >= len(wanted)


SILENCE = re.compile(r"quiet|silen|suppress|mute|ignore|notice|caution|warn|verbos|acknowledg|consent|accept")


def test_no_argument_is_there_to_silence() -> None:
    seen = 0
    for name in dp.__all__:
        entry = getattr(dp, name)
        members = [entry, *(member for label, member in inspect.getmembers(entry) if not label.startswith("_"))]
        for member in members:
            try:
                parameters = inspect.signature(member).parameters
            except (TypeError, ValueError):
                continue
            # Records take the notices that they hold back from a pickle.
            given = [parameter for parameter in parameters if parameter != "notices"]
            seen += len(given)
            assert not [parameter for parameter in given if SILENCE.search(parameter)], name
    assert seen > 500


def test_no_key_is_there_to_silence() -> None:
    keys: set[str] = set()

    def gather(node: Any) -> None:
        if isinstance(node, dict):
            keys.update(node.get("properties", {}))
            for value in node.values():
                gather(value)
        elif isinstance(node, list):
            for value in node:
                gather(value)

    gather(dp.method_schema())
    assert len(keys) > 100
    assert not [key for key in keys if SILENCE.search(key)]


def test_a_result_keeps_its_cautions_when_it_is_written_and_read() -> None:
    stored = dp.stored_energy(DENSE, 20 * MILLILITRE)
    assert stored.to_dict()["notices"][0]["severity"] == "caution"
    assert "shield" in stored._repr_html_()
    assert dp.vapour_in_vent(dp.Fluid("methanol"), 293.15).to_dict()["notices"]
