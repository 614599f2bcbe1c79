"""The notebooks run, say what their scripts say, and their numbers are those of the library."""

from __future__ import annotations

import json
import runpy
from pathlib import Path

import matplotlib as mpl
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
