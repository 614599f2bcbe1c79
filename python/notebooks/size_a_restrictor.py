# %% [markdown]
# # Sizing a restrictor for a capillary method
#
# A fixed restrictor holds the pressure and sets the flow at once. Which length gives the velocity that is wanted, and what happens to
# it as the pressure is raised? The instrument, its method and its solute are invented.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
method = (here / "tests" / "methods" / "capillary.toml").read_text("utf-8")
stated = dp.solve(method)
velocity = stated.station("column").velocity
print(f"as stated: {100 * velocity:.2f} cm/s, {stated.mass_flow_rate * 60e6:.2f} mg/min")

# %% [markdown]
# ## The length for a velocity

# %%
lengths = {}
for centimetres in (1.0, 2.0, 3.0):
    found = dp.find_input(
        method, input=("restrictor", "length"), output=("column", "velocity"), target=1e-2 * centimetres, bounds=(0.02, 5.0), samples=8
    )
    (lengths[centimetres],) = found.answers.input
    print(f"{centimetres:.0f} cm/s: {100 * lengths[centimetres]:.1f} cm")

# %% [markdown]
# ## How well must the bore be known?
#
# The flow goes nearly as the fourth power of the bore: a bore that is off by a few per cent is felt.

# %%
(budget,) = dp.uncertainty_budget(
    method, {("restrictor", "diameter"): 0.1e-6, ("restrictor", "length"): 5e-4, ("pump", "pressure"): 1 * BAR}, [("column", "velocity")]
)
for row in budget.contributions:
    print(f"{row['of']:10} {row['key']:13} {100 * row['share']:5.1f} % of the variance")

# %% [markdown]
# ## What a pressure program does to the flow
#
# Below 130 bar the fluid is too thin for the law of diffusion that this method names, and the library says so.

# %%
pressures = np.linspace(140, 300, 5)
runs = [dp.solve(method.replace('pressure = "200 bar"', f'pressure = "{bar:.0f} bar"')) for bar in pressures]
flows = [run.station("column").velocity for run in runs]
figure, axes = plt.subplots(figsize=(5.6, 3.2), layout="constrained")
axes.plot(pressures, 100 * np.array(flows), color=dp.plot.INK)
axes.set_xlabel("pressure at the pump [bar]")
axes.set_ylabel("velocity in the column [cm/s]")
