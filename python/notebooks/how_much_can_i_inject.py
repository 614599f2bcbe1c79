# %% [markdown]
# # How much can I inject?
#
# The plug that leaves the loop adds its own width to the band. Until when does that not count, and what else of the path does? The
# instrument, its method and its solute are invented.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
method = (here / "tests" / "methods" / "packed.toml").read_text("utf-8")
# Enough is drawn to fill every loop.
method = method.replace('drawn_volume = "30 uL"', 'drawn_volume = "600 uL"')
solute = dp.solve(method).bands.solute

# %% [markdown]
# ## What each part costs

# %%
for row in dp.solve(method).bands.rows:
    print(f"{row['part']:15} {100 * row['share']:6.2f} % of the variance")

# %% [markdown]
# ## The loop for a loss of plates
#
# A tenth of the plates is what many allow (common practice, no source). Which loop takes it?

# %%
plates = dp.solve(method).bands.column_plate_number
for loss in (0.05, 0.1):
    found = dp.find_input(
        method, input=("loop", "loop_volume"), output=(solute, "apparent_plate_number"), target=(1 - loss) * plates, bounds=(1e-9, 300e-9), samples=6
    )
    print(f"{100 * loss:.0f} % lost: {found.answers.input[0] * 1e9:.0f} uL")

# %% [markdown]
# ## Loop and cell together
#
# The same loss can come from either. Lines of equal plates over both:

# %%
plane = dp.map_method(
    method,
    across=(("loop", "loop_volume"), np.linspace(2e-9, 60e-9, 6)),
    down=(("UV cell", "volume"), np.linspace(2e-9, 20e-9, 4)),
    outputs=[(solute, "apparent_plate_number")],
)
axes = dp.plot.method_map(plane, (solute, "apparent_plate_number"))
