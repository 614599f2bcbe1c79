"""The notebooks run, say what their scripts say, and their numbers are those of the library."""

from __future__ import annotations

import json
import runpy
from pathlib import Path
from typing import Any

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
import pytest

import densepath as dp

FOLDER = Path(__file__).parents[2] / "python" / "notebooks"
MAKE = runpy.run_path(str(FOLDER / "make.py"))
SCRIPTS = MAKE["scripts"]()


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.stem)
def test_the_notebook_is_that_of_its_script(script: Path) -> None:
    stored = json.loads(script.with_suffix(".ipynb").read_text("utf-8"))
    assert stored == MAKE["notebook"](script.read_text("utf-8"))


def test_the_notebook_of_methanol_runs(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    mpl.use("agg")
    monkeypatch.chdir(FOLDER)
    names = runpy.run_path(str(FOLDER / "carbon_dioxide_methanol.py"))
    assert "40 degC" in capsys.readouterr().out
    assert "methanol" in names["axes"].get_xlabel()
    # The heat of mixing is the other side of the change of the excess Gibbs energy with temperature (Gibbs and Helmholtz):
    # h = -T^2 d(g/T)/dT, here by the fugacity coefficients of the mixture and of its substances.
    fraction, temperature, pressure, step = 0.4, 313.15, 150e5, 0.05
    assert names["excess_enthalpy"](fraction, temperature, pressure) == pytest.approx(
        -(temperature**2) * (gibbs(fraction, temperature + step, pressure) - gibbs(fraction, temperature - step, pressure)) / (2 * step), rel=1e-4
    )


def gibbs(fraction: float, temperature: float, pressure: float) -> float:
    """Molar excess Gibbs energy over the temperature in J/(mol K), from Gibbs energies per mass and the ideal mixing."""
    mixture = dp.Fluid({"carbon dioxide": 1.0 - fraction, "methanol": fraction})
    parts = zip(mixture.mass_fractions, ("carbon dioxide", "methanol"), strict=True)
    apart = sum(share * dp.Fluid(name).specific_gibbs_energy(temperature, pressure) for share, name in parts)
    return (mixture.specific_gibbs_energy(temperature, pressure) - apart) * mixture.molar_mass / temperature


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Runs a notebook of the casebook and gives its names."""
    mpl.use("agg")
    monkeypatch.chdir(FOLDER)
    yield lambda name: runpy.run_path(str(FOLDER / f"{name}.py"))
    plt.close("all")


def test_the_pressure_found_brings_retention_back(run: Any) -> None:
    names = run("why_retention_moved")
    (pressure,) = names["found"].answers.input
    text = names["second"].replace('pressure = "140 bar"', f'pressure = "{float(pressure)!r} Pa"')
    assert dp.solve(text).bands.retention_factor == pytest.approx(names["wanted"], rel=1e-6)
    both = dp.solve(names["second"]).bands.retention_time - dp.solve(names["first"]).bands.retention_time
    assert sum(names["shift"].values()) == pytest.approx(both, rel=0.1)


def test_the_budget_and_the_draws_of_the_notebook_agree(run: Any) -> None:
    names = run("how_sure_is_a_retention_time")
    u, drawn = names["budget"].standard_uncertainty, names["row"]["standard_deviation"]
    # Sampling error of a standard deviation from 200 draws: u over the root of 400; four of them.
    assert abs(drawn - u) < 4 * u / 20


def test_a_cluster_gives_what_one_machine_gives(run: Any) -> None:
    names = run("sweep_on_a_cluster")
    assert names["density"].chunks is not None
    local = names["co2"].density(names["temperature"].values[:, None], names["pressure"].values)
    assert float(names["liquid_like"]) == (local > 700.0).mean()
    drawn = [dp.draw_trials(names["method"], names["settings"], [names["result"]], count=100, seed=seed).draws for seed in (0, 9)]
    assert (names["pressures"][:100] == drawn[0]["method: delivery_pressure"]).all()
    assert (names["pressures"][-100:] == drawn[1]["method: delivery_pressure"]).all()


def test_half_the_restrictor_lets_twice_as_much_through(run: Any) -> None:
    names = run("size_a_restrictor")
    assert names["lengths"][1.0] / names["lengths"][2.0] == pytest.approx(2.0, rel=0.01)
    assert names["budget"].contributions.key[0] == "diameter"
    assert np.all(np.diff(names["flows"]) > 0)


def test_the_supply_of_the_notebook_is_liquid(run: Any) -> None:
    names = run("start_up_of_a_packed_method")
    assert names["solution"].station("suction line").phase == "liquid"
    assert any(notice.code == "asphyxiation" for notice in names["room"].notices)


def test_a_stage_under_pressure_keeps_more_liquid(run: Any) -> None:
    names = run("collect_a_fraction")
    before, flow = names["before"], names["flow"]
    (single,) = dp.decompress(before, flow, pressures=[101325.0], temperatures=[293.15], draws_liquid=[True])
    assert names["liquid"] > single.liquid_mass_flow_rate
    assert names["vent"].notices


def test_the_schedule_of_the_notebook_keeps_the_density(run: Any) -> None:
    names = run("a_density_program")
    made = names["made"]
    time = np.linspace(0.0, names["time"][-1], 200)
    got = names["co2"].density(names["oven"], np.interp(time, made.points.time, made.points.pressure))
    assert got == pytest.approx(np.interp(time, names["time"], names["density"]), rel=1.5e-3)


def test_the_gradient_of_the_notebook_stays_in_one_phase(run: Any) -> None:
    names = run("will_my_gradient_stay_in_one_phase")
    for degc, needed in names["needed"].items():
        for x, bar in zip(names["fractions"], needed, strict=True):
            mixture = dp.Fluid({"carbon dioxide": 1 - x, "methanol": x})
            if np.isfinite(bar):
                assert len(mixture.flash(273.15 + degc, (bar + 1.0) * 1e5).phases) == 1
                assert len(mixture.flash(273.15 + degc, (bar - 1.0) * 1e5).phases) == 2


def test_every_picture_is_shown(run: Any) -> None:
    names = run("pictures")
    text = (FOLDER / "pictures.py").read_text("utf-8")
    pictures = [name for name in dp.plot.__all__ if callable(getattr(dp.plot, name))]
    # A dome alone is part of the planes.
    assert [name for name in pictures if f"dp.plot.{name}(" not in text] == ["dome"]
    assert len(names["fit"].runs) == len(names["density"])
    assert len(names["plane"].refusals) > 0


def test_the_loop_found_loses_the_plates_wanted(run: Any) -> None:
    names = run("how_much_can_i_inject")
    (volume,) = names["found"].answers.input
    text = names["method"].replace('loop_volume = "10 uL"', f'loop_volume = "{float(volume)!r} m3"')
    assert dp.solve(text).bands.apparent_plate_number == pytest.approx(0.9 * names["plates"], rel=1e-6)
