"""Two phases at given pressure and enthalpy or entropy, as an independent library computes them.

CoolProp has the same equations for these pairs (Kunz and Wagner, J. Chem. Eng. Data 57, 3032 (2012), doi 10.1021/je300655b;
Gernert and Span, J. Chem. Thermodyn. 93, 274 (2016), doi 10.1016/j.jct.2015.05.015). Zeros of enthalpy and entropy differ, so
that the state is told by its difference from a gas of the same composition.
"""

from __future__ import annotations

import CoolProp.CoolProp as CP
import pytest

import densepath as dp

# The library counts with one gas constant, 8.314463 J/(mol K), where this one keeps those of the papers, 8.31451 and 8.314472
# J/(mol K), with each substance: 6e-6 apart for carbon dioxide, of which 2e-6 of the temperature is seen at most.
TEMPERATURE = 3e-6
SHARE = 1e-5
STATES = [
    ("ethane", "Ethane", 0.4, 250.0, 0.6),
    ("ethane", "Ethane", 0.3, 250.0, 0.25),
    ("ethane", "Ethane", 0.3, 270.0, 0.4),
    ("nitrogen", "Nitrogen", 0.9, 250.0, 0.6),
    ("nitrogen", "Nitrogen", 0.9, 270.0, 0.4),
]
GAS = (400.0, 1e5)


@pytest.mark.parametrize(("name", "other_name", "fraction", "temperature", "vapour_fraction"), STATES)
def test_two_phases_by_enthalpy_and_entropy(
    name: str, other_name: str, fraction: float, temperature: float, vapour_fraction: float
) -> None:
    peer = CP.AbstractState("HEOS", f"CarbonDioxide&{other_name}")
    peer.set_mole_fractions([fraction, 1.0 - fraction])
    peer.update(CP.QT_INPUTS, 0.0, temperature)
    bubble = peer.p()
    peer.update(CP.QT_INPUTS, 1.0, temperature)
    pressure = peer.p() + (1.0 - vapour_fraction) * (bubble - peer.p())
    peer.update(CP.PT_INPUTS, pressure, temperature)
    masses = [CP.PropsSI("M", fluid) for fluid in ("CarbonDioxide", other_name)]
    vapour = sum(y * mass for y, mass in zip(peer.mole_fractions_vapor(), masses, strict=True))
    share = peer.Q() * vapour / (fraction * masses[0] + (1.0 - fraction) * masses[1])
    assert 0.05 < share < 0.95
    inside = (peer.hmass(), peer.smass())
    peer.update(CP.PT_INPUTS, GAS[1], GAS[0])
    differences = [value - of_gas for value, of_gas in zip(inside, (peer.hmass(), peer.smass()), strict=True)]

    mixture = dp.Fluid({"carbon dioxide": fraction, name: 1.0 - fraction}, model="multi-fluid")
    gas = mixture.state(temperature=GAS[0], pressure=GAS[1])
    by_enthalpy = mixture.state(pressure=pressure, specific_enthalpy=gas.specific_enthalpy + differences[0])
    by_entropy = mixture.state(pressure=pressure, specific_entropy=gas.specific_entropy + differences[1])
    for state in (by_enthalpy, by_entropy):
        assert state.temperature == pytest.approx(temperature, rel=TEMPERATURE)
        assert state.vapour_fraction == pytest.approx(share, abs=SHARE)
