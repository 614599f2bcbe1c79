# %% [markdown]
# # Pictures
#
# Each picture is one call. It takes the axes it shall be drawn on, or makes its own, and returns them; `units="SI"` draws in SI. All are
# made to be read in grey. The instruments, their methods and their solutes are invented.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
methods = here / "tests" / "methods"
co2 = dp.Fluid("carbon dioxide")
packed = dp.solve(methods / "packed.toml")
modified = dp.solve(methods / "packed_modifier.toml")

# %% [markdown]
# ## The fluid on a plane, and a path through it

# %%
axes = dp.plot.pressure_enthalpy(packed)

# %%
axes = dp.plot.temperature_entropy(packed)

# %%
axes = dp.plot.pressure_density(packed)

# %% [markdown]
# ## Lines of equal density, and where the fluid changes fastest

# %%
figure, (left, right) = plt.subplots(1, 2, figsize=(10, 4), layout="constrained")
axes = dp.plot.isopycnics(co2, solution=packed, axes=left)
axes = dp.plot.pseudo_critical_lines(co2, axes=right)

# %% [markdown]
# ## Two phases of a mixture
#
# Where carbon dioxide and methanol part at some temperatures, their critical line, and where the method is among it:

# %%
figure, (left, right) = plt.subplots(1, 2, figsize=(10, 4), layout="constrained")
axes = dp.plot.pressure_composition("carbon dioxide", "methanol", [293.15, 313.15, 333.15], axes=left)
axes = dp.plot.critical_locus("carbon dioxide", "methanol", solution=modified, axes=right)

# %% [markdown]
# ## Along the instrument

# %%
axes = dp.plot.flow_path(packed)

# %%
figure = dp.plot.path_profile(packed)

# %%
axes = dp.plot.profile(packed, "density")

# %% [markdown]
# ## The band and the chromatogram

# %%
axes = dp.plot.band_budget(packed)

# %%
axes = dp.plot.chromatogram(packed.chromatogram(0.0, 300.0, 20.0))

# %% [markdown]
# ## A run in time

# %%
gradient = """
[[program]]
part = "modifier pump"
key = "volume_flow_rate"
time = ["0 min", "5 min"]
value = ["0.05 mL/min", "0.6 mL/min"]
"""
figure = dp.plot.program_history(dp.solve((methods / "packed_modifier.toml").read_text("utf-8") + gradient))

# %% [markdown]
# ## What a fit of retention leaves

# %%
invented = np.random.default_rng(1)
temperature = np.repeat([313.15, 333.15], 5)
density = np.tile(np.linspace(600.0, 900.0, 5), 2)
logarithm = 6.0 - 0.007 * density + 800.0 * (1 / temperature - 1 / 313.15)
factor = np.exp(logarithm + invented.normal(0.0, 0.01, density.size))
fit = dp.fit_retention(factor, temperature, density, ["constant", "density", "reciprocal_temperature"])
axes = dp.plot.retention_residuals(fit)

# %% [markdown]
# ## What restrictors let through

# %%
bores = {f"{bore} um": dp.LinearRestrictor(diameter=bore * 1e-6, length=0.2) for bore in (10, 15, 20)}
axes = dp.plot.restrictor_map(bores, co2, 373.15, np.linspace(80, 300, 23) * BAR, 101325.0)

# %% [markdown]
# ## A method over two of its settings
#
# Where the fluid would leave one dense phase there is no number, and the picture says so.

# %%
plane = dp.map_method(
    methods / "packed.toml",
    across=(("preheater", "wall_temperature"), np.linspace(303.15, 353.15, 11)),
    down=(("regulator", "pressure"), np.linspace(90, 200, 12) * BAR),
    outputs=[("invented aromatic", "apparent_plate_number")],
)
axes = dp.plot.method_map(plane, ("invented aromatic", "apparent_plate_number"))
