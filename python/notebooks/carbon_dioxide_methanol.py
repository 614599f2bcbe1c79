# %% [markdown]
# # Carbon dioxide and methanol: where they part, and the path of an instrument
#
# The phases of the mobile phase at the temperatures of a run, the heat of mixing, and the stations of an instrument among them.
# The instrument, its method and its solute are invented; the equations and their ranges are those of the library.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR, from_celsius

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
method = here / "tests" / "methods" / "packed_modifier.toml"

# %% [markdown]
# ## The phases over composition and pressure
#
# Below each region liquid and vapour lie side by side; above it both substances mix in one phase. The dotted line joins the
# critical points of all compositions.

# %%
solution = dp.solve(method.read_text("utf-8"))
axes = dp.plot.pressure_composition("carbon dioxide", "methanol", [from_celsius(t) for t in (20.0, 40.0, 60.0, 80.0)], solution=solution, highest_pressure=200 * BAR)
axes.set_title("the stations of the invented instrument among the phases", fontsize=9)

# %% [markdown]
# The least pressure at which every composition is one phase, temperature by temperature: the critical pressure where there is a
# critical point, with the model that says so.

# %%
for degc in (40.0, 60.0, 80.0):
    diagram = dp.isothermal_phase_diagram("carbon dioxide", "methanol", from_celsius(degc))
    points = diagram.critical_points
    for fraction, pressure in zip(points.amount_fraction, points.pressure, strict=True):
        print(f"{degc:.0f} degC: {pressure / BAR:.1f} bar at an amount fraction of methanol of {fraction:.3f}")
print(dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1}).model)

# %% [markdown]
# ## The same path over temperature and pressure

# %%
dp.plot.critical_locus("carbon dioxide", "methanol", solution=solution, highest_pressure=250 * BAR)

# %% [markdown]
# ## The heat of mixing
#
# Enthalpies count from the zero of each substance, so that the excess enthalpy is the enthalpy of the mixture less those of its
# substances at the same temperature and pressure, by their masses. No measurement of it took part in the fit: take it as an
# estimate.


# %%
def excess_enthalpy(fraction: float, temperature: float, pressure: float) -> float:
    """Molar excess enthalpy in J/mol at an amount fraction of methanol."""
    mixture = dp.Fluid({"carbon dioxide": 1.0 - fraction, "methanol": fraction})
    parts = zip(mixture.mass_fractions, ("carbon dioxide", "methanol"), strict=True)
    apart = sum(share * dp.Fluid(name).specific_enthalpy(temperature, pressure) for share, name in parts)
    return (mixture.specific_enthalpy(temperature, pressure) - apart) * mixture.molar_mass


fractions = np.linspace(0.02, 0.98, 25)
figure, heat = plt.subplots(figsize=(5.0, 3.4), layout="constrained")
for degc, style in ((20.0, "-"), (40.0, "--"), (60.0, ":")):
    heat.plot(fractions, [excess_enthalpy(x, from_celsius(degc), 150 * BAR) for x in fractions], style, color="#16212b", label=f"{degc:.0f} degC, 150 bar")
heat.set(xlabel="amount fraction of methanol", ylabel="excess enthalpy [J/mol]")
heat.legend(frameon=False)
