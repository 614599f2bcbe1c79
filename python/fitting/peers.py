"""Bubble pressures of other equations at the rows by which the pairs are scored.

PC-SAFT in feos with published parameters of the substances and k_ij = k_0 + k_1 (300 K/T - 1) fitted here to the same rows, and
the multi-fluid equations of CoolProp where it has the pair. Writes `crates/densepath-fit/data/pairs/peers.json`, from which
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
}
COOLPROP = {
    "n-hexane": "n-Hexane",
    "n-heptane": "n-Heptane",
    "toluene": "Toluene",
    "acetone": "Acetone",
    "water": "Water",
}
FARTHEST = 2.5


def rows(name, plan):
    """The rows that count: temperature, pressure, amount fraction."""
    left_out = set(plan.get("left_out", []))
    with open(DATA / f"{name}.csv") as file:
        found = [
            (float(r["temperature"]), float(r["pressure"]), float(r["fraction"]))
            for r in csv.DictReader(file)
            if r["quantity"] == "bubble_pressure" and r["flag"] != "discordant" and r["series"] not in left_out
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
    for temperature, pressure, x in measured:
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


def multi_fluid(other, measured):
    """Relative deviations by CoolProp; NaN where there is no bubble point near."""
    state = coolprop.AbstractState("HEOS", f"CO2&{other}")
    found = []
    for temperature, pressure, x in measured:
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
        entry = {}
        if other in SUBSTANCES:
            records = [substance("carbon dioxide"), substance(other)]

            def loss(k_ij, every=4):
                deviations = saft(records, k_ij, measured[::every])
                return np.mean(np.abs(np.where(np.isfinite(deviations), deviations, 1.0)))

            best = minimize(loss, [0.02, 0.0], method="Nelder-Mead", options={"maxfev": 60})
            found = summary(saft(records, best.x, measured))
            entry["PC-SAFT"] = {"k_0": round(best.x[0], 5), "k_1": round(best.x[1], 5), **found}
        if other in COOLPROP:
            entry["CoolProp"] = summary(multi_fluid(COOLPROP[other], measured))
        if entry:
            result[name] = entry
            print(name, entry, flush=True)
    (DATA / "peers.json").write_text(json.dumps(result, indent=1) + "\n")


if __name__ == "__main__":
    main()
