"""Bubble pressures and densities of other equations at the rows by which the pairs are scored.

PC-SAFT in feos with the published parameters of the substances that `crates/densepath-fit/data/pairs/pc_saft.json` lists with their
sources, and k_ij = k_0 + k_1 (300 K/T - 1) fitted here to the same bubble pressures by the least mean size of the deviations. Beside a
substance with a hydroxyl group carbon dioxide has a site that accepts its hydrogen bond, with the volume of the substance's own bond and
an energy fitted along, which makes three parameters, as the cubic equation of the library has; without it the bubble pressures of ethanol
stay 13 % off. (Association of this kind: Fu, D., Hua, X., Xu, Y., "Cross-association model for the phase equilibria and surface tensions
of CO2-methanol and CO2-ethanol mixtures", J. Phys. Chem. C; from memory, not read.) Of the sets of parameters published for a substance those count that do
best on the rows: a peer is taken at its best. The multi-fluid equations of CoolProp where it has the pair.

Densities where the equation itself has (d ln rho/d ln p)_T up to 1 count, as for the equations of the library; where there is no bubble
point, but a dew point, that one is compared, as for them too. Writes `crates/densepath-fit/data/pairs/peers.json`, from which `cargo
xtask fit pair` takes the columns of its table. Needs feos, si_units, scipy and CoolProp; `python peers.py [PAIR...]` does the pairs
named anew, or all.
"""

import csv
import itertools
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import CoolProp.CoolProp as coolprop
import feos
import numpy as np
import si_units as si
from scipy.optimize import minimize

CRATES = Path(__file__).parents[2] / "crates"
DATA = CRATES / "densepath-fit/data/pairs"
FLUIDS = CRATES / "densepath-fluid/data/fluids"
PARAMETERS = json.loads((DATA / "pc_saft.json").read_text("utf-8"))["substances"]
COOLPROP = {
    "carbon dioxide": "CO2",
    "n-hexane": "n-Hexane",
    "n-heptane": "n-Heptane",
    "toluene": "Toluene",
    "acetone": "Acetone",
    "water": "Water",
    "propane": "n-Propane",
    "nitrogen": "Nitrogen",
    "methanol": "Methanol",
    "ethanol": "Ethanol",
}
FARTHEST = 2.5
# What a row without a value counts in a fit.
MISSED = 1.0
# Rows, and evaluations for each parameter, of the search with every set of parameters, and of the second one with the KEPT best.
SEARCHED = 16, 18
REFINED = 48, 25
KEPT = 2
FIRST_INTERACTIONS = (-0.1, -0.05, 0.0, 0.05, 0.1, 0.15)
FIRST_ENERGIES = (1000.0, 1800.0)
# Starts of the bubble point over the measured pressure.
STARTS = (1.0, 0.8, 1.25, 0.6, 1.6)


def rows(name, plan, quantity="bubble_pressure"):
    """The rows that count: temperature, pressure, amount fraction, value."""
    left_out = set(plan.get("left_out", []))
    with open(DATA / f"{name}.csv") as file:
        found = [
            (float(r["temperature"]), float(r["pressure"]), float(r["fraction"]), float(r["value"] or "nan"))
            for r in csv.DictReader(file)
            if r["quantity"] == quantity and r["flag"] != "discordant" and r["series"] not in left_out
            and 0.0 < float(r["fraction"]) < 1.0
        ]
    return np.array(found)


@dataclass
class Saft:
    """PC-SAFT of two substances, each with one of its published sets of parameters."""

    sources: list[str]
    records: list[Any]
    # Volume of the bond between carbon dioxide and a hydroxyl group; none where there is no such bond.
    bond_volume: float | None

    def at(self, interaction, temperature):
        """The equation with k_0, k_1, and where there is a bond its energy over k in K, at a temperature in K."""
        bond = {}
        if self.bond_volume is not None:
            bond["association_sites"] = [{"kappa_ab": self.bond_volume, "epsilon_k_ab": interaction[2]}]
        k_ij = interaction[0] + interaction[1] * (300.0 / temperature - 1.0)
        return feos.EquationOfState.pcsaft(feos.Parameters.new_binary(self.records, k_ij=k_ij, **bond))

    def starts(self):
        """Interactions from which a fit begins."""
        if self.bond_volume is None:
            return [(k, 0.0) for k in FIRST_INTERACTIONS]
        return [(k, 0.0, energy) for k in FIRST_INTERACTIONS[2:5] for energy in FIRST_ENERGIES]


def mixtures(names):
    """PC-SAFT with all pairs of published sets of both substances."""
    for sets in itertools.product(*(PARAMETERS[name] for name in names)):
        volumes = [parameters.get("association", {}).get("kappa_ab") for parameters in sets]
        volume = volumes[1] if names[0] == "carbon dioxide" else None
        if volume is not None:
            sets = (sets[0] | {"association": {"nb": 1.0}}, sets[1])
        records = [substance(name, parameters) for name, parameters in zip(names, sets, strict=True)]
        yield Saft([f"{parameters['source']}, m = {parameters['m']}" for parameters in sets], records, volume)


def substance(name, parameters):
    """The record of a substance with one of its published sets of parameters."""
    record = json.loads((FLUIDS / f"{name.replace(' ', '_')}.json").read_text("utf-8"))
    block = record.get("equation_of_state") or record["ideal_gas"]
    molar_mass = 1e3 * block["molar_mass / (kg/mol)"]
    model = {key: value for key, value in parameters.items() if key not in ("source", "association")}
    if "association" in parameters:
        model["association_sites"] = [parameters["association"]]
    return feos.PureRecord(feos.Identifier(name=name), molar_mass, **model)


def boundary(search, equation, temperature, pressure, x):
    """The pressure in Pa of a boundary that a search of feos finds from a pressure; NaN where it finds none."""
    try:
        point = search(equation, temperature * si.KELVIN, np.array([x, 1.0 - x]), tp_init=pressure * si.PASCAL)
    except RuntimeError:
        return np.nan
    # Two phases of one composition are one phase.
    if np.ptp(point.liquid.molefracs - point.vapor.molefracs) < 1e-6:
        return np.nan
    return point.liquid.pressure() / si.PASCAL


def saft(mixture, interaction, measured, starts=STARTS):
    """Relative deviations by PC-SAFT; NaN where there is no boundary near."""
    searches = [(feos.PhaseEquilibrium.bubble_point, start) for start in starts]
    if len(starts) > 1:
        searches.append((feos.PhaseEquilibrium.dew_point, 1.0))
    found = []
    for temperature, pressure, x, _ in measured:
        equation = mixture.at(interaction, temperature)
        ratios = (boundary(search, equation, temperature, start * pressure, x) / pressure for search, start in searches)
        found.append(next((ratio - 1.0 for ratio in ratios if 1.0 / FARTHEST < ratio < FARTHEST), np.nan))
    return np.array(found)


def parts(equation, temperature, pressure, x):
    """Whether a liquid parts; what feos cannot tell counts in its favour."""
    try:
        liquid = feos.State(
            equation,
            temperature * si.KELVIN,
            pressure=pressure * si.PASCAL,
            composition=np.array([x, 1.0 - x]),
            density_initialization="liquid",
        )
        return not liquid.is_stable()
    except RuntimeError:
        return False


def parting(mixture, interaction, measured):
    """Rows whose liquid parts just above the calculated boundary: for the equations of the library they would be without a bubble point."""
    pressures = measured[:, 1] * (1.001 + saft(mixture, interaction, measured))
    found = zip(measured, pressures, strict=True)
    return sum(parts(mixture.at(interaction, row[0]), row[0], pressure, row[2]) for row, pressure in found if np.isfinite(pressure))


def thinned(measured, count):
    """About as many of the rows, evenly."""
    return measured[:: max(1, len(measured) // count)]


def size(deviations):
    """Mean size of deviations, of those without a value MISSED."""
    return float(np.mean(np.abs(np.where(np.isfinite(deviations), deviations, MISSED))))


def fitted(mixture, start, measured, evaluations):
    """The interaction of the least mean size from a start, and the size."""

    def loss(interaction):
        return size(saft(mixture, interaction, measured, STARTS[:1]))

    steps = np.diag([0.02, 0.1, 150.0][: len(start)])
    simplex = np.array(start) + np.vstack([np.zeros(len(start)), steps])
    options = {"maxfev": evaluations * len(start), "initial_simplex": simplex, "xatol": 1e-5, "fatol": 1e-6}
    best = minimize(loss, start, method="Nelder-Mead", options=options)
    return best.fun, best.x.tolist()


def best_saft(names, measured):
    """The published sets of both substances, with their interaction, that do best."""
    few, more = thinned(measured, SEARCHED[0]), thinned(measured, REFINED[0])
    found = []
    for mixture in mixtures(names):
        starts = sorted(mixture.starts(), key=lambda start: size(saft(mixture, start, few, STARTS[:1])))
        found.append((*fitted(mixture, starts[0], few, SEARCHED[1]), mixture))
    found.sort(key=lambda one: one[0])
    refined = [(*fitted(mixture, interaction, more, REFINED[1]), mixture) for _, interaction, mixture in found[:KEPT]]
    _, interaction, mixture = min(refined, key=lambda one: one[0])
    return mixture, interaction


def saft_densities(mixture, interaction, measured):
    """Relative deviations of densities by PC-SAFT; NaN where it has none."""
    found = []
    for temperature, pressure, x, density in measured:
        try:
            state = feos.State(
                mixture.at(interaction, temperature),
                temperature * si.KELVIN,
                pressure=pressure * si.PASCAL,
                composition=np.array([x, 1.0 - x]),
                density_initialization="liquid",
            )
        except RuntimeError:
            found.append(np.nan)
            continue
        softness = pressure * si.PASCAL * state.isothermal_compressibility()
        ratio = state.mass_density() / (density * si.KILOGRAM / si.METER**3)
        if softness <= 1.0:
            found.append(ratio - 1.0)
    return np.array(found)


def multi_fluid_densities(names, measured):
    """Relative deviations of densities by CoolProp; NaN where it has none."""
    state = coolprop.AbstractState("HEOS", "&".join(COOLPROP[name] for name in names))
    state.specify_phase(coolprop.iphase_liquid)
    found = []
    for temperature, pressure, x, density in measured:
        state.set_mole_fractions([x, 1.0 - x])
        try:
            state.update(coolprop.PT_INPUTS, pressure, temperature)
        except ValueError:
            found.append(np.nan)
            continue
        if pressure * state.isothermal_compressibility() <= 1.0:
            found.append(state.rhomass() / density - 1.0)
    return np.array(found)


def multi_fluid(names, measured):
    """Relative deviations by CoolProp; NaN where there is no bubble point near."""
    state = coolprop.AbstractState("HEOS", "&".join(COOLPROP[name] for name in names))
    found = []
    for temperature, pressure, x, _ in measured:
        state.set_mole_fractions([x, 1.0 - x])
        try:
            state.update(coolprop.QT_INPUTS, 0.0, temperature)
            ratio = state.p() / pressure
        except ValueError:
            ratio = np.nan
        found.append(ratio - 1.0 if 1.0 / FARTHEST < ratio < FARTHEST else np.nan)
    return np.array(found)


def summary(deviations):
    """Counts, median and mean of the sizes."""
    known = np.abs(deviations[np.isfinite(deviations)])
    if known.size == 0:
        return None
    return {
        "rows": int(known.size),
        "without_value": int(deviations.size - known.size),
        "median": round(float(np.median(known)), 4),
        "mean": round(float(np.mean(known)), 4),
    }


def has_pair(names):
    """Whether CoolProp has an equation of the pair."""
    try:
        coolprop.AbstractState("HEOS", "&".join(COOLPROP[name] for name in names))
    except (KeyError, ValueError):
        return False
    return True


def compared(names, measured, densities):
    """What the other equations give for the rows of a pair."""
    entry = {}
    if all(name in PARAMETERS for name in names):
        mixture, interaction = best_saft(names, measured)
        entry["PC-SAFT"] = {
            "parameters": mixture.sources,
            **{key: round(value, 5) for key, value in zip(("k_0", "k_1", "bond_energy"), interaction)},
            "parting": parting(mixture, interaction, measured),
            **summary(saft(mixture, interaction, measured)),
            "density": summary(saft_densities(mixture, interaction, densities)),
        }
    if has_pair(names):
        entry["CoolProp"] = {**summary(multi_fluid(names, measured)), "density": summary(multi_fluid_densities(names, densities))}
    return entry


def main():
    """Compares all pairs and writes the file."""
    plans = json.loads((DATA / "plan.json").read_text("utf-8"))
    wanted = sys.argv[1:] or list(plans)
    for name in wanted:
        measured = rows(name, plans[name])
        if len(measured) == 0:
            continue
        entry = compared(plans[name]["substances"], measured, rows(name, plans[name], "density"))
        if entry:
            print(name, entry, flush=True)
            result = json.loads((DATA / "peers.json").read_text("utf-8")) | {name: entry}
            (DATA / "peers.json").write_text(json.dumps(result, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
