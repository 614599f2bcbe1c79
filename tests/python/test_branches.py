"""Streams that divide: tables, searches and reports of methods with branches."""

from __future__ import annotations

import pickle
import tomllib
from pathlib import Path
from typing import Any

import pytest

import densepath as dp
from densepath import report

PACKED = Path(__file__).parent.parent / "methods" / "packed.toml"
SHARE = "share of the stream that the branch takes"


@pytest.fixture
def method() -> dict[str, Any]:
    """The packed method with a bleed at the outlet of the tube before its cell."""
    found = tomllib.loads(PACKED.read_text("utf-8"))
    found["part"] += [
        {"kind": "linear_restrictor", "name": "bleed", "branch_of": "cell tube", "diameter": "20 um", "length": "20 cm", "temperature": "150 degC"},
        {"kind": "vent", "name": "second vent", "branch_of": "cell tube"},
    ]
    return found


def test_a_branch_has_its_table_and_its_stations(method: dict[str, Any]) -> None:
    solution = dp.solve(method)
    assert list(solution.branches.branch_of) == ["cell tube", "cell tube"]
    assert list(solution.branches.name) == ["bleed", "second vent"]
    assert "bleed" not in solution.stations.name
    assert solution.station("bleed").mass_flow_rate == solution.branches.mass_flow_rate[0]
    ends = solution.station("vent").mass_flow_rate + solution.station("second vent").mass_flow_rate
    assert ends == pytest.approx(solution.station("pump").mass_flow_rate, rel=1e-12)
    assert pickle.loads(pickle.dumps(solution)) == solution
    assert len(dp.solve(PACKED).branches) == 0
    # The same flow as of the restrictor alone.
    tee = solution.station("cell tube").state
    alone = dp.LinearRestrictor(diameter=20e-6, length=0.2, temperature=423.15)
    assert alone.mass_flow_rate(tee.fluid, 423.15, tee.pressure, 101325.0) == pytest.approx(solution.branches.mass_flow_rate[0], rel=1e-9)


def test_the_bore_that_a_search_finds_takes_the_share_wanted(method: dict[str, Any]) -> None:
    found = dp.find_input(method, input=("bleed", "diameter"), output=("cell tube", SHARE), target=0.01, bounds=(5e-6, 40e-6), samples=5)
    (diameter,) = found.answers.input
    next(part for part in method["part"] if part["name"] == "bleed")["diameter"] = f"{float(diameter)!r} m"
    assert dp.solve(method).fact("cell tube", SHARE) == pytest.approx(0.01, rel=1e-6)


def test_a_report_shows_the_branches(method: dict[str, Any]) -> None:
    solution = dp.solve(method)
    page, text = report.to_html(solution), report.to_markdown(solution)
    assert "<h3>Branches</h3>" in page and "second vent" in page
    assert "## Branches" in text and "Branch of cell tube" in str(solution.to_text())
    assert "Branches" not in report.to_html(dp.solve(PACKED))


def test_a_branch_without_an_end_is_refused(method: dict[str, Any]) -> None:
    method["part"] = [part for part in method["part"] if part["name"] not in ("bleed", "second vent")]
    method["part"].append({"kind": "tube", "name": "lost", "branch_of": "cell tube", "diameter": "0.1 mm", "length": "1 m"})
    with pytest.raises(dp.DocumentError, match="no part that holds the pressure"):
        dp.solve(method)


def test_a_detector_on_a_branch_has_bands_and_a_chromatogram_of_its_own(method: dict[str, Any]) -> None:
    method["part"][-1] = {"kind": "gas_detector", "name": "flame", "branch_of": "cell tube", "detector": "flame_ionisation"}
    solution = dp.solve(method)
    cell, flame = solution.detections
    assert (cell.part, cell.branch_of, flame.part, flame.branch_of) == ("UV cell", None, "flame", "cell tube")
    assert cell.bands_of_solutes == solution.bands_of_solutes
    assert solution.detection("flame") == flame == pickle.loads(pickle.dumps(flame))
    # All that is injected arrives at one of the two, in the shares of the stream.
    assert cell.injected_share + flame.injected_share == pytest.approx(1.0, abs=1e-12)
    assert flame.injected_share == pytest.approx(solution.fact("cell tube", SHARE), rel=1e-12)
    assert [solution.station(name).injected_share for name in ("pump", "column", "flame")] == [None, 1.0, flame.injected_share]
    # The same column, another way behind it.
    band = flame.bands_of_solutes[0]
    assert band.retention_time == solution.bands.retention_time
    assert list(band.rows.part)[-2:] == ["cell tube", "bleed"]
    assert band.rows.time_variance.sum() == pytest.approx(band.time_variance, rel=1e-12)
    record = solution.chromatogram(0.0, 3 * band.time, 40.0, areas=[2.0], detector="flame")
    assert record.peaks.time[0] == band.time
    assert record.record.signal.sum() / 40.0 == pytest.approx(2.0, rel=1e-6)
    assert solution.chromatogram(0.0, 300.0, 10.0, detector="UV cell") == solution.chromatogram(0.0, 300.0, 10.0)
    with pytest.raises(dp.ArgumentError, match="there are: UV cell, flame"):
        solution.chromatogram(0.0, 300.0, 10.0, detector="vent")
    method["program"] = [{"part": "regulator", "key": "pressure", "time": ["0 min", "5 min"], "value": ["150 bar", "160 bar"]}]
    programmed = dp.solve(method).chromatogram(0.0, 300.0, 10.0, detector="flame")
    assert programmed.peaks.time[0] < band.time


def test_a_report_tells_the_band_at_every_detector(method: dict[str, Any]) -> None:
    solution = dp.solve(method)
    told = f"Band of {solution.bands.solute} at second vent"
    assert told in solution.to_text()
    assert f"## {told}" in report.to_markdown(solution)
    page = report.to_html(solution, {})
    assert "<h3>second vent</h3>" in page
    assert "of what is injected arrives" in page
    assert solution.to_dict()["detections"][1]["part"] == "second vent"
    outputs = dp.method_outputs(method)
    assert f"{solution.bands.solute} at second vent" in list(outputs.of)


COLUMN = {
    "kind": "packed_column",
    "name": "second column",
    "branch_of": "cell tube",
    "diameter": "1 mm",
    "length": "5 cm",
    "particle_diameter": "5 um",
    "interparticle_porosity": 0.4,
    "total_porosity": 0.7,
}


def test_a_column_may_stand_on_a_branch(method: dict[str, Any]) -> None:
    place = next(place for place, part in enumerate(method["part"]) if part["name"] == "bleed")
    method["part"].insert(place, COLUMN)
    solution = dp.solve(method)
    assert [column.name for column in solution.columns] == ["column", "second column"]
    assert solution.columns[1].pressure_drop > 0.0
    assert len(solution.columns[1].profile) > 2
    first, second = (solution.detection(place).bands_of_solutes[0] for place in ("UV cell", "second vent"))
    assert second.retention_time > first.retention_time
    assert {"column", "second column"} <= set(second.rows.part)
    page, text = report.to_html(solution), report.to_markdown(solution)
    assert "second column" in page and "second column" in text
    ends = solution.station("vent").mass_flow_rate + solution.station("second vent").mass_flow_rate
    assert ends == pytest.approx(solution.station("pump").mass_flow_rate, rel=1e-8)


def test_a_band_spreads_in_gas_where_the_solute_is_known(method: dict[str, Any]) -> None:
    place = next(place for place, part in enumerate(method["part"]) if part["name"] == "second vent")
    method["part"].insert(place, {"kind": "tube", "name": "gas tube", "branch_of": "cell tube", "diameter": "0.5 mm", "length": "5 cm"})
    unknown = dp.solve(method)
    assert any(notice.station == "gas tube" and notice.code == "unknown" for notice in unknown.notices)
    (solute,) = method["solute"] if isinstance(method["solute"], list) else [method["solute"]]
    solute |= {"molar_mass": "128.17 g/mol", "diffusion_volume": "140.88 cm3/mol"}
    known = dp.solve(method)
    assert not any(notice.station == "gas tube" and notice.code == "unknown" for notice in known.notices)
    assert known.detection("second vent").bands_of_solutes[0].time_variance > 0.0
