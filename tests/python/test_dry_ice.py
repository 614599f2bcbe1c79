"""Dry ice of expansions into the room by another program: the fluid of CoolProp, the solid of its published equation written out here."""

from __future__ import annotations

import math
from collections.abc import Callable

import CoolProp
import CoolProp.CoolProp as cp
import pytest

import densepath as dp
from densepath.units import BAR, from_celsius

ATMOSPHERE = 101_325.0
TRIPLE = (216.592, 517_950.0)
GAS_CONSTANT, MOLAR_MASS = 8.314472, 44.0098e-3
# A. Jaeger, R. Span, J. Chem. Eng. Data 57, 590 (2012), doi 10.1021/je2011677: constants of the Gibbs energy over temperature and
# pressure divided by those of the reference, the enthalpy of fusion at the triple point, and the check values of table 5.
REFERENCE = (150.0, ATMOSPHERE)
G = (-2.6385478, 4.5088732, -2.0109135, -2.7976237, 0.26427834, 3.8259935, 0.31711996, 0.0022087195, -1.1289668, 0.0092923982, 3391.4617)
ALPHA = (0.039993365, 0.0023945101, 0.32839467, 0.057918471, 0.0023945101, -0.0026531689, 0.16419734, 0.17594802, 0.0026531689)
KAPPA = (0.22690751, -0.07501975, 0.26442913)
ENTHALPY_OF_FUSION = 8875.0
CHECKS = {"volume": 2.848595255e-05, "entropy": -18.03247012, "gibbs_energy": -1447.007522}

# Solid over all by another computation of the same expansions, which took 571.1 kJ/kg for the enthalpy of sublimation and 194.6857 K, of
# the auxiliary line, for its temperature: inlet in degC and bar.
ROUNDED = {(40.0, 150.0): 0.2401, (60.0, 150.0): 0.133188, (40.0, 100.0): 0.1918, (60.0, 200.0): 0.171773}


def gibbs_energy(temperature: float, pressure: float) -> float:
    """Of the solid in J/mol, with the zeros of the paper."""
    theta, pi = temperature / REFERENCE[0], pressure / REFERENCE[1]

    def vibration(scale: float) -> float:
        angles = math.atan(theta / scale) - math.atan(1.0 / scale)
        return math.log((theta**2 + scale**2) / (1.0 + scale**2)) - 2.0 * theta / scale * angles

    def swelling(sign: float) -> float:
        return math.log((theta**2 - sign * ALPHA[2] * theta + ALPHA[3]) / (1.0 - sign * ALPHA[2] + ALPHA[3]))

    def angle(sign: float) -> float:
        return math.atan((theta - sign * ALPHA[6]) / ALPHA[7]) - math.atan((1.0 - sign * ALPHA[6]) / ALPHA[7])

    expansion = ALPHA[0] * (theta**2 - 1.0)
    expansion += ALPHA[1] * swelling(1.0) + ALPHA[4] * swelling(-1.0) + ALPHA[5] * angle(1.0) + ALPHA[8] * angle(-1.0)
    softness = KAPPA[0] * theta**2 + KAPPA[1] * theta + KAPPA[2]
    reduced = G[0] + G[1] * (theta - 1.0) + G[2] * (theta - 1.0) ** 2 + G[3] * vibration(G[4]) + G[5] * vibration(G[6])
    reduced += G[7] * (pi - 1.0) * (math.exp(expansion) + softness * G[8])
    reduced += G[9] * softness * ((pi + G[10]) ** (6.0 / 7.0) - (1.0 + G[10]) ** (6.0 / 7.0))
    return GAS_CONSTANT * REFERENCE[0] * reduced


def slope(function: Callable[[float], float], x: float, step: float) -> float:
    """By differences of the fourth order."""
    near, far = function(x + step) - function(x - step), function(x + 2.0 * step) - function(x - 2.0 * step)
    return (8.0 * near - far) / (12.0 * step)


def entropy(temperature: float, pressure: float) -> float:
    return -slope(lambda t: gibbs_energy(t, pressure), temperature, 0.05)


class Peer:
    """Solid and gas at the pressure of the room."""

    def __init__(self) -> None:
        liquid = CoolProp.AbstractState("HEOS", "CO2")
        liquid.update(cp.QT_INPUTS, 0.0, TRIPLE[0])
        # At the triple point the Gibbs energies of solid and liquid are equal, and their enthalpies differ by that of fusion.
        self.entropy_shift = liquid.smolar() - ENTHALPY_OF_FUSION / TRIPLE[0] - entropy(*TRIPLE)
        self.gibbs_shift = liquid.hmolar() - TRIPLE[0] * liquid.smolar() - gibbs_energy(*TRIPLE)
        self.gas = CoolProp.AbstractState("HEOS", "CO2")
        self.gas.specify_phase(cp.iphase_gas)
        self.temperature = self.sublimation_temperature()
        self.gas_enthalpy = self.gas_at(self.temperature).hmass()
        molar = self.solid_gibbs_energy(self.temperature) + self.temperature * (
            entropy(self.temperature, ATMOSPHERE) + self.entropy_shift
        )
        self.sublimation = self.gas_enthalpy - molar / MOLAR_MASS

    def gas_at(self, temperature: float) -> CoolProp.AbstractState:
        self.gas.update(cp.PT_INPUTS, ATMOSPHERE, temperature)
        return self.gas

    def solid_gibbs_energy(self, temperature: float) -> float:
        shift = self.gibbs_shift - self.entropy_shift * (temperature - TRIPLE[0])
        return gibbs_energy(temperature, ATMOSPHERE) + shift

    def sublimation_temperature(self) -> float:
        low, high = 190.0, 200.0
        while high - low > 1e-9:
            middle = 0.5 * (low + high)
            gas = self.gas_at(middle)
            # Below its temperature of sublimation the solid is the stable one.
            if self.solid_gibbs_energy(middle) < gas.hmolar() - middle * gas.smolar():
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)

    def solid_fraction(self, enthalpy: float) -> float:
        return (self.gas_enthalpy - enthalpy) / self.sublimation


@pytest.fixture(scope="module")
def peer() -> Peer:
    return Peer()


def inlet_enthalpy(degc: float, bar: float) -> float:
    return float(cp.PropsSI("Hmass", "T", from_celsius(degc), "P", bar * BAR, "CO2"))


def test_the_equation_written_out_meets_the_check_values_of_its_paper() -> None:
    volume = slope(lambda p: gibbs_energy(TRIPLE[0], p), TRIPLE[1], 5e4)
    assert volume == pytest.approx(CHECKS["volume"], rel=1e-8)
    assert entropy(*TRIPLE) == pytest.approx(CHECKS["entropy"], rel=1e-8)
    assert gibbs_energy(*TRIPLE) == pytest.approx(CHECKS["gibbs_energy"], rel=1e-9)


@pytest.mark.parametrize(("degc", "bar"), ROUNDED)
def test_dry_ice_of_an_expansion_into_the_room(co2: dp.Fluid, peer: Peer, degc: float, bar: float) -> None:
    end = co2.state(temperature=from_celsius(degc), pressure=bar * BAR).expand_to(ATMOSPHERE)
    assert end.temperature == pytest.approx(peer.temperature, rel=1e-6)
    assert end.solid_fraction == pytest.approx(peer.solid_fraction(inlet_enthalpy(degc, bar)), rel=1e-4)


@pytest.mark.parametrize(("degc", "bar"), ROUNDED)
def test_a_rounded_enthalpy_of_sublimation_is_what_another_computation_is_off_by(peer: Peer, degc: float, bar: float) -> None:
    enthalpy = inlet_enthalpy(degc, bar)
    rounded = (peer.gas_at(194.6857).hmass() - enthalpy) / 571.1e3
    assert rounded == pytest.approx(ROUNDED[degc, bar], abs=5e-5)
    # That is 3.5e-3 more solid than 572.9 kJ/kg leave.
    assert peer.sublimation == pytest.approx(572.92e3, rel=1e-5)
    assert rounded / peer.solid_fraction(enthalpy) - 1.0 == pytest.approx(3.5e-3, abs=3e-4)
