# %% [markdown]
# # How sure is a retention time?
#
# Dials, thermometers and gauges are each a little off. Which of them counts? The instrument, its method and its solute are invented,
# and so are the tolerances.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR, MINUTE

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
method = (here / "tests" / "methods" / "packed.toml").read_text("utf-8")
solute = dp.solve(method).bands.solute
retention = (solute, "retention_time")

# %% [markdown]
# ## What is known of the settings
#
# Standard uncertainties. A tolerance of which only the bounds are known counts as half its width over the root of three.

# %%
settings = {
    ("regulator", "pressure"): 1.0 * BAR / np.sqrt(3),
    ("preheater", "wall_temperature"): 0.5 / np.sqrt(3),
    ("pump", "volume_flow_rate"): 0.01 * 3e-6 / MINUTE / np.sqrt(3),
    ("pump", "head_temperature"): 1.0 / np.sqrt(3),
    ("column", "interparticle_porosity"): 0.005,
    ("column", "total_porosity"): 0.01,
}

# %% [markdown]
# ## The budget
#
# The first line is what to measure better first. A curvature far below 1 says that the sum of squares may be trusted.

# %%
(budget,) = dp.uncertainty_budget(method, settings, [retention])
print(f"{budget.value:.1f} s, standard uncertainty {budget.standard_uncertainty:.2f} s")
for row in budget.contributions:
    print(f"{row['of']:10} {row['key']:24} {row['contribution']:7.3f} s {100 * row['share']:5.1f} %  curvature {row['curvature']:.3f}")

# %% [markdown]
# ## The same by chance
#
# Draws need no straight lines. They should agree within their own sampling error, here one part in the root of twice their number.

# %%
trials = dp.draw_trials(method, settings, [retention], count=200, seed=1)
row = trials.summary[0]
print(f"mean {row['mean']:.1f} s, standard deviation {row['standard_deviation']:.2f} s, 95 % within {row['low']:.1f} to {row['high']:.1f} s")

# %%
figure, axes = plt.subplots(figsize=(5.6, 3.2), layout="constrained")
axes.hist(trials.draws[f"{solute}: retention_time"], bins=20, color=dp.plot.WASH, edgecolor=dp.plot.SHADE)
axes.set_xlabel("retention time [s]")
axes.set_ylabel("draws")

# %% [markdown]
# ## The equations
#
# They are not exact either. A document that states a factor of 1 for each of its models lets their doubts be budgeted like those of
# settings; what no equation states is told apart.

# %%
document, models, unknown = dp.model_uncertainties(method)
(whole,) = dp.uncertainty_budget(document, {**settings, **models}, [retention])
print(f"{whole.value:.1f} s, standard uncertainty {whole.standard_uncertainty:.2f} s; unknown: {', '.join(unknown) or 'none'}")
for part in whole.contributions:
    if part["key"].endswith("_factor"):
        print(f"{part['of']:17} {part['key']:16} {100 * part['standard_uncertainty']:6.3f} % {part['contribution']:7.3f} s {100 * part['share']:5.1f} %")
