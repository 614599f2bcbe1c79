"""Bubble pressures and densities of other equations at the rows by which the pairs are scored.

PC-SAFT in feos with published parameters of the substances and k_ij = k_0 + k_1 (300 K/T - 1) fitted here to the same bubble
pressures, and the multi-fluid equations of CoolProp where it has the pair. Densities where the equation itself has (d ln rho/d ln p)_T
up to 1 count, as for the equations of the library. Writes `crates/densepath-fit/data/pairs/peers.json`, from which
`cargo xtask fit pair` takes the columns of its table. Needs feos, si_units, scipy and CoolProp; `python peers.py [PAIR...]` does the pairs named
anew, or all.
"""

import csv
import json
import sys
from pathlib import Path

import CoolProp.CoolProp as coolprop
import feos
import numpy as np
import si_units as si
from scipy.optimize import minimize

DATA = Path(__file__).parents[2] / "crates/densepath-fit/data/pairs"

# m, sigma in 1e-10 m, epsilon/k in K; association volume and energy over k in K, sites "2B". All from memory and unchecked:
# Gross and Sadowski, Ind. Eng. Chem. Res. 40, 1244 (2001), doi 10.1021/ie0003887, and 41, 5510 (2002), doi 10.1021/ie010954d.
SUBSTANCES = {
    "carbon dioxide": (44.0095, 2.0729, 2.7852, 169.21),
    "methanol": (32.04186, 1.5255, 3.2300, 188.90, 0.035176, 2899.5),
    "ethanol": (46.06844, 2.3827, 3.1771, 198.24, 0.032384, 2653.4),
    "propan-2-ol": (60.09502, 3.0929, 3.2085, 208.42, 0.024675, 2253.9),
    "n-hexane": (86.17536, 3.0576, 3.7983, 236.77),
    "n-heptane": (100.20194, 3.4831, 3.8049, 238.40),
    "toluene": (92.13842, 2.8149, 3.7169, 285.69),
    "propane": (44.09562, 2.0020, 3.6184, 208.11),
    "nitrogen": (28.0134, 1.2053, 3.3130, 90.96),
    "water": (18.015268, 1.0656, 3.0007, 366.51, 0.034868, 2500.7),
    "propan-1-ol": (60.09502, 2.9997, 3.2522, 233.40, 0.015268, 2276.8),
    "butan-1-ol": (74.1216, 2.7515, 3.6139, 259.59, 0.006692, 2544.6),
    "ethyl acetate": (88.10512, 3.5375, 3.3079, 230.80),
    "acetone": (58.07914, 2.8913, 3.2279, 247.42),
    "tetrahydrofuran": (72.10572, 2.4740, 3.5137, 274.18),
}
COOLPROP = {
    "n-hexane": "n-Hexane",
    "n-heptane": "n-Heptane",
    "toluene": "Toluene",
    "acetone": "Acetone",
    "water": "Water",
    "propane": "n-Propane",
    "nitrogen": "Nitrogen",
}
FARTHEST = 2.5


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


def substance(name):
    """The record of a substance."""
    molar_mass, m, sigma, epsilon, *association = SUBSTANCES[name]
    sites = {}
    if association:
        sites["association_sites"] = [
            {"na": 1.0, "nb": 1.0, "kappa_ab": association[0], "epsilon_k_ab": association[1]}
        ]
    return feos.PureRecord(feos.Identifier(name=name), molar_mass, m=m, sigma=sigma, epsilon_k=epsilon, **sites)


def saft(records, k_ij, measured):
    """Relative deviations by PC-SAFT; NaN where there is no bubble point near."""
    found = []
    for temperature, pressure, x, _ in measured:
        k = k_ij[0] + k_ij[1] * (300.0 / temperature - 1.0)
        equation = feos.EquationOfState.pcsaft(feos.Parameters.new_binary(records, k_ij=k))
        try:
            point = feos.PhaseEquilibrium.bubble_point(
                equation, temperature * si.KELVIN, np.array([x, 1.0 - x]), tp_init=pressure * si.PASCAL
            )
            ratio = point.liquid.pressure() / si.PASCAL / pressure
        except RuntimeError:
            ratio = np.nan
        found.append(ratio - 1.0 if 1.0 / FARTHEST < ratio < FARTHEST else np.nan)
    return np.array(found)


def saft_densities(records, k_ij, measured):
    """Relative deviations of densities by PC-SAFT; NaN where it has none."""
    found = []
    for temperature, pressure, x, density in measured:
        k = k_ij[0] + k_ij[1] * (300.0 / temperature - 1.0)
        equation = feos.EquationOfState.pcsaft(feos.Parameters.new_binary(records, k_ij=k))
        try:
            state = feos.State(
                equation,
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


def multi_fluid_densities(other, measured):
    """Relative deviations of densities by CoolProp; NaN where it has none."""
    state = coolprop.AbstractState("HEOS", f"CO2&{other}")
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


def multi_fluid(other, measured):
    """Relative deviations by CoolProp; NaN where there is no bubble point near."""
    state = coolprop.AbstractState("HEOS", f"CO2&{other}")
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


def main():
    """Compares all pairs and writes the file."""
    plans = json.loads((DATA / "plan.json").read_text())
    wanted = sys.argv[1:] or list(plans)
    result = json.loads((DATA / "peers.json").read_text())
    for name in wanted:
        plan = plans[name]
        _, other = plan["substances"]
        if not (DATA / f"{name}.csv").exists():
            continue
        measured = rows(name, plan)
        if len(measured) == 0:
            continue
        first, _ = plan["substances"]
        if first != "carbon dioxide":
            continue
        densities = rows(name, plan, "density")
        entry = {}
        if other in SUBSTANCES:
            records = [substance("carbon dioxide"), substance(other)]

            def loss(k_ij, every=4):
                deviations = saft(records, k_ij, measured[::every])
                return np.mean(np.abs(np.where(np.isfinite(deviations), deviations, 1.0)))

            best = minimize(loss, [0.02, 0.0], method="Nelder-Mead", options={"maxfev": 60})
            found = summary(saft(records, best.x, measured))
            entry["PC-SAFT"] = {"k_0": round(best.x[0], 5), "k_1": round(best.x[1], 5), **found}
            entry["PC-SAFT"]["density"] = len(densities) and summary(saft_densities(records, best.x, densities)) or None
        if other in COOLPROP:
            entry["CoolProp"] = summary(multi_fluid(COOLPROP[other], measured))
            density = len(densities) and summary(multi_fluid_densities(COOLPROP[other], densities)) or None
            entry["CoolProp"]["density"] = density
        if entry:
            result[name] = entry
            print(name, entry, flush=True)
    (DATA / "peers.json").write_text(json.dumps(result, indent=1) + "\n")


if __name__ == "__main__":
    main()
