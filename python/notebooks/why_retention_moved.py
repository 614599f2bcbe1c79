# %% [markdown]
# # Why did retention move between two instruments?
#
# The same document on two instruments: the second has longer, narrower lines, and its regulator is set in gauge pressure by somebody
# who read it as absolute. Instruments, method and solute are invented.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR, from_celsius

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
first = (here / "tests" / "methods" / "packed.toml").read_text("utf-8")
second = first.replace('pressure = "150 bar"', 'pressure = "140 bar"').replace('wall_temperature = "40 degC"', 'wall_temperature = "41.5 degC"')

# %% [markdown]
# ## What differs
#
# Retention follows the density along the column, and the density follows pressure and temperature. The list begins with what differs
# most.

# %%
solute = dp.solve(first).bands.solute
differences = dp.compare_methods(first, second)
for row in differences:
    if row["of"] in (solute, "column") and row["name"] in ("retention_time", "retention_factor", "mean_density", "hold_up_time"):
        print(f"{row['of']:18} {row['name']:17} {row['first']:10.4g} {row['second']:10.4g} {row['unit']:6} {100 * row['relative']:5.1f} %")

# %% [markdown]
# ## Which setting is it?
#
# One at a time: how far each of the two settings moves the retention time.

# %%
shift = {}
for name, text in (("pressure held", first.replace('pressure = "150 bar"', 'pressure = "140 bar"')), ("oven", first.replace('wall_temperature = "40 degC"', 'wall_temperature = "41.5 degC"'))):
    shift[name] = dp.solve(text).bands.retention_time - dp.solve(first).bands.retention_time
    print(f"{name:14} {shift[name]:+6.2f} s")

# %% [markdown]
# ## What brings it back
#
# The oven of the second instrument cannot be lowered. Which pressure gives the retention factor of the first all the same?

# %%
wanted = dp.solve(first).bands.retention_factor
found = dp.find_input(second, input=("regulator", "pressure"), output=(solute, "retention_factor"), target=wanted, bounds=(120 * BAR, 200 * BAR))
for pressure in found.answers.input:
    print(f"hold {pressure / BAR:.1f} bar(a)")

# %% [markdown]
# ## The density along both columns

# %%
figure, axes = plt.subplots(figsize=(5.6, 3.4), layout="constrained")
for text, style in ((first, "-"), (second, "--")):
    column = dp.solve(text).column
    axes.plot(1e3 * np.asarray(column.profile.position), column.profile.density, style, color=dp.plot.INK)
axes.set_xlabel("position [mm]")
axes.set_ylabel("density [kg/m3]")
