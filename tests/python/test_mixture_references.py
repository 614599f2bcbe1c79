"""The reference numbers of mixtures, computed anew where the independent library is installed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

STATES = json.loads((Path(__file__).parents[1] / "vectors" / "mixtures" / "flashes.json").read_text("utf-8"))["states"]


@pytest.mark.parametrize("state", STATES, ids=lambda state: f"{state['temperature']}-{state['pressure']}")
def test_phases_of_the_independent_library(state: dict[str, Any]) -> None:
    feos = pytest.importorskip("feos")
    si = pytest.importorskip("si_units")
    names = [feos.Identifier(name=str(place)) for place in range(len(state["substances"]))]
    pairs = zip(names, state["substances"], strict=True)
    # The molar mass takes no part in amounts and molar densities.
    pure = [feos.PureRecord(name, 100.0, tc=t, pc=p, acentric_factor=omega) for name, (t, p, omega) in pairs]
    binary = [feos.BinaryRecord(names[i], names[j], k_ij=state["k"][i + j - 1]) for j in range(len(names)) for i in range(j)]
    equation = feos.EquationOfState.peng_robinson(feos.Parameters.from_records(pure, binary))
    amounts = np.array(state["fractions"]) * si.MOL
    found = feos.PhaseEquilibrium.tp_flash(equation, state["temperature"] * si.KELVIN, state["pressure"] * si.PASCAL, amounts, tol=1e-12, max_iter=500)
    for name, phase in (("vapour", found.vapor), ("liquid", found.liquid)):
        assert phase.molefracs == pytest.approx(np.array(state[name]["fractions"]), abs=1e-8)
        assert phase.density / (si.MOL / si.METER**3) == pytest.approx(state[name]["molar_density"], rel=1e-8)
