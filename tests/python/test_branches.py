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
