"""The whole path of the two example methods, from Python."""

from __future__ import annotations

import copy
import json
import math
import pickle
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import densepath as dp

FOLDER = Path(__file__).parent.parent / "methods"
QUANTITIES = {name: unit for name, _, unit in dp.list_quantities()}


def document(name: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module", params=["packed", "capillary"])
def solution(request: pytest.FixtureRequest) -> dp.Solution:
    return dp.solve(FOLDER / f"{request.param}.toml")


@pytest.fixture(scope="module")
def packed() -> dp.Solution:
    return dp.solve(FOLDER / "packed.toml")


def test_path_text_and_mapping_give_the_same_solution() -> None:
    path = FOLDER / "packed.toml"
    by_path = dp.solve(path)
    for other in (dp.solve(str(path)), dp.solve(path.read_text(encoding="utf-8")), dp.solve(document("packed"))):
        assert other.stations == by_path.stations
        assert other.notices == by_path.notices


def test_stations_carry_units_and_cannot_be_written_to(solution: dp.Solution) -> None:
    stations = solution.stations
    assert len(stations) == len(stations.name) == len(stations["pressure"])
    for name, unit in stations.units.items():
        assert QUANTITIES[name] == unit
        with pytest.raises(ValueError, match="read-only"):
            stations[name][0] = 0.0
    assert stations.mass_flow_rate == pytest.approx(np.full(len(stations), solution.mass_flow_rate), rel=1e-12)
    assert stations[-1]["name"] == stations.name[-1] == solution.outlet.name  # type: ignore[union-attr]
    with pytest.raises(IndexError):
        _ = stations[len(stations)]
    with pytest.raises(KeyError):
        _ = stations["colour"]
    with pytest.raises(AttributeError, match="no column `colour`"):
        _ = stations.colour
    with pytest.raises(KeyError, match="no row"):
        stations.row("nowhere")
    assert "pressure" in dir(stations)


def test_every_station_has_its_state(solution: dp.Solution) -> None:
    for row in (solution.stations[i] for i in range(len(solution.stations))):
        station = solution.station(row["name"])
        assert station.state.pressure == station.pressure == row["pressure"]
        assert station.state.density == station.density == row["density"]
        assert (station.phase, station.kind) == (row["phase"], row["kind"])
        assert station.volume_flow_rate == pytest.approx(row["mass_flow_rate"] / row["density"], rel=1e-15)
    with pytest.raises(KeyError, match="no station"):
        solution.station("nowhere")


def test_pressure_falls_along_the_path(packed: dp.Solution) -> None:
    pressures = packed.stations.pressure[2:]
    assert (np.diff(pressures) <= 0.0).all()
    assert packed.delivery_pressure == pressures[0]
    assert packed.column is not None
    assert packed.column.pressure_drop == pytest.approx(
        packed.column.profile.pressure[0] - packed.column.profile.pressure[-1], rel=1e-9
    )
    assert packed.column.inlet.density > packed.column.outlet.density


def test_the_regulator_holds_its_pressure_whatever_the_flow() -> None:
    method = document("packed")
    flows = []
    for flow in ("1.0 mL/min", "3.0 mL/min"):
        method["part"][2]["volume_flow_rate"] = flow
        solution = dp.solve(method)
        assert solution.stations.row("regulator tube")["pressure"] == pytest.approx(150e5, rel=1e-9)
        flows.append(solution.mass_flow_rate)
    assert flows[1] > 2.5 * flows[0]


def test_bands_add_up(solution: dp.Solution) -> None:
    bands = solution.bands
    assert bands is not None
    assert bands.rows.time_variance.sum() == pytest.approx(bands.time_variance, rel=1e-12)
    assert bands.rows.share.sum() == pytest.approx(1.0, rel=1e-12)
    assert bands.apparent_plate_number == pytest.approx(bands.retention_time**2 / bands.time_variance, rel=1e-12)
    assert bands.retention_factor == pytest.approx(bands.retention_time / bands.hold_up_time - 1.0, rel=1e-12)
    assert (bands.rows.time_variance_min <= bands.rows.time_variance).all()
    assert bands.column_plate_number >= bands.apparent_plate_number
    assert len(bands.to_pandas()) == len(bands.rows)


def test_a_method_without_a_solute_has_no_bands() -> None:
    method = document("packed")
    del method["solute"]
    assert dp.solve(method).bands is None


def test_facts_name_their_units(solution: dp.Solution) -> None:
    facts = solution.facts
    for row in (facts[i] for i in range(len(facts))):
        assert QUANTITIES[row["quantity"]] == row["unit"]
    row = facts[0]
    assert solution.fact(row["part"], row["name"]) == facts.value[0] or math.isnan(row["value"])
    with pytest.raises(KeyError):
        solution.fact("nowhere", "nothing")


def test_notices_come_with_cautions_first(solution: dp.Solution) -> None:
    order = ["caution", "warning", "remark"]
    severities = [order.index(notice.severity) for notice in solution.notices]
    assert severities == sorted(severities)
    assert severities[0] == 0


def test_tables_of_pandas(solution: dp.Solution) -> None:
    frame = solution.to_pandas()
    assert frame.index.name == "name"
    assert frame.attrs["units"]["pressure"] == "Pa"
    assert frame.loc[solution.stations.name[2], "pressure"] == solution.delivery_pressure
    assert isinstance(solution.facts.to_pandas(), pd.DataFrame)
    assert solution.stations.to_dict()["name"] == list(solution.stations.name)


def test_reports(solution: dp.Solution) -> None:
    text = str(solution)
    assert solution.title in text
    assert max(len(line) for line in text.splitlines()) <= 120
    assert "\n" not in repr(solution)
    content = solution.to_dict()
    assert content == json.loads(solution.to_json())
    assert content["delivery_pressure / Pa"] == solution.delivery_pressure
    html = solution._repr_html_()
    assert html.count("<table") >= 4
    assert "caution" in html
    assert "[kg/m3]" in html
    assert solution.scenario is not None
    assert solution.scenario.startswith("Invented")


def test_copies_are_equal_to_the_last_bit(solution: dp.Solution) -> None:
    pieces: list[Any] = [
        solution,
        solution.stations,
        solution.profile,
        solution.outlet,
        solution.station(solution.stations.name[-1]).state,
        solution.bands,
        solution.column,
    ]
    for piece in pieces:
        for twin in (pickle.loads(pickle.dumps(piece)), copy.deepcopy(piece)):
            assert twin == piece
            assert repr(twin) == repr(piece)
    again = pickle.loads(pickle.dumps(solution))
    assert again.stations == solution.stations
    assert again.to_json() == solution.to_json()


def test_threads_solve_side_by_side(packed: dp.Solution) -> None:
    with ThreadPoolExecutor(4) as pool:
        solutions = list(pool.map(dp.solve, [packed.document] * 4))
    assert all(solution.stations == packed.stations for solution in solutions)


@pytest.mark.parametrize(
    ("change", "kind", "code", "words"),
    [
        (lambda method: method.update(fluid="carbon dioxyde"), dp.UnknownFluidError, 201, "carbon dioxide"),
        (lambda method: method["part"][7].update(diametre="4.6 mm"), dp.DocumentError, 602, "did you mean `diameter`"),
        (lambda method: method["part"][2].pop("counted_at"), dp.DocumentError, 605, '"normal"'),
        (lambda method: method["part"][11].update(pressure="150"), dp.DocumentError, 604, "part[11].pressure"),
        (lambda method: method["part"].pop(2), dp.DocumentError, 606, "pump"),
    ],
)
def test_bad_documents_are_refused(change: Any, kind: type[dp.DensepathError], code: int, words: str) -> None:
    method = document("packed")
    change(method)
    with pytest.raises(kind) as caught:
        dp.solve(method)
    assert caught.value.code == code
    assert words in str(caught.value)
    assert "line " not in str(caught.value)


def test_a_text_is_refused_with_its_line(packed: dp.Solution) -> None:
    with pytest.raises(dp.DocumentError, match=r"^line \d+, "):
        dp.solve(packed.document.replace('"150 bar"', '"150"'))
    with pytest.raises(dp.DocumentError, match="line 2") as caught:
        dp.solve("document = 1\ntitle\n")
    assert caught.value.code == 601


def test_an_error_in_a_part_names_it() -> None:
    method = document("packed")
    method["part"][0]["mass"] = "-28 kg"
    with pytest.raises(dp.DomainError) as caught:
        dp.solve(method)
    error = caught.value
    assert (error.code, error.element, error.quantity, error.value, error.unit) == (590, "supply cylinder", "mass", -28.0, "kg")
    assert isinstance(error.__cause__, dp.DomainError)
    assert error.__cause__.code == 101


def test_warm_feed_at_the_pump_is_refused() -> None:
    method = document("packed")
    method["part"][2]["head_temperature"] = "30 degC"
    with pytest.raises(dp.DensepathError) as caught:
        dp.solve(method)
    assert caught.value.element == "pump"
    assert caught.value.hint is not None


def test_sources_of_the_wrong_kind() -> None:
    with pytest.raises(dp.DocumentError, match="cannot read no/such/method.toml") as caught:
        dp.solve("no/such/method.toml")
    assert caught.value.code == 610
    for source in (7, {"title": object()}, {1: "one"}):
        with pytest.raises(dp.ArgumentError):
            dp.solve(source)  # type: ignore[arg-type]


def test_many_methods_are_what_each_is_alone() -> None:
    text = (FOLDER / "packed.toml").read_text(encoding="utf-8")
    documents = [text.replace('"150 bar"', f'"{bar} bar"') for bar in (140, 150, 160)]
    alone = [dp.solve(document) for document in documents]
    changes = {("regulator", "pressure"): np.array([140e5, 150e5, 160e5]), ("column", "total_porosity"): [0.7] * 3}
    by_changes = dp.solve_many(FOLDER / "packed.toml", changes)
    for one, other, changed in zip(alone, dp.solve_many(documents), by_changes, strict=True):
        assert one.stations == other.stations
        assert one.delivery_pressure == other.delivery_pressure
        assert changed.delivery_pressure == pytest.approx(one.delivery_pressure, rel=1e-12)
    assert pickle.loads(pickle.dumps(by_changes[0])).stations == by_changes[0].stations
    faulty = {("column", "length"): [0.25, 100.0]}
    with pytest.raises(dp.FlowError):
        dp.solve_many(text, faulty)
    good, bad = dp.solve_many(text, faulty, raises=False)
    assert isinstance(good, dp.Solution)
    assert isinstance(bad, dp.FlowError)
    with pytest.raises(dp.DocumentError, match="nobody"):
        dp.solve_many(text, {("nobody", "length"): [1.0]})
    with pytest.raises(dp.ArgumentError):
        dp.solve_many(text, {("column", "length"): [1.0], ("regulator", "pressure"): [1e7, 2e7]})
    assert dp.solve_many([]) == []
