# %% [markdown]
# # A density program on a capillary column
#
# Solutes follow the density, but an instrument runs pressures. The program, the column and the instrument are invented.

# %%
import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR, MINUTE, from_celsius

co2 = dp.Fluid("carbon dioxide")
oven = from_celsius(100.0)
time = np.array([0.0, 5.0, 40.0, 45.0]) * MINUTE
density = np.array([250.0, 250.0, 700.0, 700.0])

# %% [markdown]
# ## The pressures
#
# A straight density takes a bent pressure. How many straight pieces are needed to keep it within a tolerance?

# %%
for tolerance in (1e-2, 1e-3, 1e-4):
    made = dp.density_schedule(co2, time, np.full(4, oven), density, tolerance=tolerance)
    print(f"{tolerance:.0e}: {len(made.points)} points, up to {made.fastest_rise * MINUTE / BAR:.1f} bar/min")

# %%
figure, axes = plt.subplots(figsize=(5.6, 3.4), layout="constrained")
made = dp.density_schedule(co2, time, np.full(4, oven), density, tolerance=1e-3)
axes.plot(made.points.time / MINUTE, made.points.pressure / BAR, color=dp.plot.INK, marker="o", markersize=3)
axes.set_xlabel("time [min]")
axes.set_ylabel("pressure [bar]")

# %% [markdown]
# ## Can the syringe pump follow?
#
# While the pressure rises, the barrel must compress all that is in it, and the column stores fluid too.

# %%
barrel = co2.state(temperature=from_celsius(5.0), pressure=200 * BAR)
compressing = 150e-6 * barrel.isothermal_compressibility * made.fastest_rise
print(f"the barrel takes {compressing * 60e9:.0f} uL/min only to be compressed")
column = co2.state(temperature=oven, pressure=200 * BAR)
volume = 10.0 * np.pi / 4 * (50e-6) ** 2
stored = dp.storage_mass_flow_rate(column, volume, made.fastest_rise)
through = np.pi / 4 * (50e-6) ** 2 * 0.02 * column.density
print(f"the column stores {100 * stored / through:.0f} % of the flow through it at 2 cm/s")

# %% [markdown]
# Below a fifth (common practice, no source) the program may be taken as a row of steady flows. Where it is more, lower the ramp or take a
# shorter column; near the critical density the same ramp stores far more.

# %%
for bar in (120, 200, 300):
    state = co2.state(temperature=oven, pressure=bar * BAR)
    share = dp.storage_mass_flow_rate(state, volume, 5 * BAR / MINUTE) / (np.pi / 4 * (50e-6) ** 2 * 0.02 * state.density)
    print(f"{bar} bar: {100 * share:.0f} % at 5 bar/min")
