# %% [markdown]
# # Will my gradient stay in one phase?
#
# A gradient visits every composition between its ends, at every station. The margin in pressure says how far each is from a second
# phase. Instrument, method and solute are invented.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR, from_celsius, to_celsius

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
method = (here / "tests" / "methods" / "packed_modifier.toml").read_text("utf-8")

# %% [markdown]
# ## At the stations, as the method stands
#
# The smallest margin counts; the notice names the station.

# %%
solution = dp.solve(method)
for name, margin in zip(solution.stations.name, solution.stations.single_phase_margin, strict=True):
    if not np.isnan(margin):
        print(f"{name:16} {margin / BAR:8.1f} bar")

# %% [markdown]
# ## Over the gradient and the oven
#
# The pressure needed for one phase, by composition and temperature. Where 150 bar are held, each curve must stay below.

# %%
fractions = np.array([0.02, 0.05, 0.1, 0.2, 0.3])
temperatures = (40.0, 60.0)
needed = {}
for degc in temperatures:
    margins = [
        dp.Fluid({"carbon dioxide": 1 - x, "methanol": x}).single_phase_margin(from_celsius(degc), 150 * BAR) for x in fractions
    ]
    needed[degc] = 150.0 - np.array(margins) / BAR
    for x, bar in zip(fractions, needed[degc], strict=True):
        said = f"one phase above {bar:.0f} bar" if np.isfinite(bar) else "one phase at any pressure"
        print(f"{degc:.0f} degC, x = {x:.2f}: {said}")

# %%
figure, axes = plt.subplots(figsize=(5.6, 3.4), layout="constrained")
for degc, style in zip(temperatures, ("-", "--"), strict=True):
    axes.plot(fractions, needed[degc], style, color=dp.plot.INK, label=f"{degc:.0f} degC")
axes.axhline(150.0, color=dp.plot.ACCENT, linewidth=0.9)
axes.set_xlabel("amount fraction of methanol")
axes.set_ylabel("pressure needed [bar]")
axes.legend(frameon=False)

# %% [markdown]
# ## What the pumps really blend
#
# A gradient of set flows is not one of amounts: the carbon dioxide is counted at its own pump.

# %%
for share in (0.05, 0.2, 0.4):
    blend = dp.blend({"carbon dioxide": ((1 - share) * 3e-6 / 60, from_celsius(5.0), 150 * BAR), "methanol": (share * 3e-6 / 60, from_celsius(22.0), 150 * BAR)})
    print(f"{100 * share:3.0f} % by set flow: x = {blend.amount_fraction['methanol']:.4f}")
