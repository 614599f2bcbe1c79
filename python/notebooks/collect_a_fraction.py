# %% [markdown]
# # Collecting a fraction safely
#
# Behind the regulator the mobile phase falls apart: gas leaves, the modifier stays as liquid and takes the solute with it, if all goes
# well. Instrument, method and solute are invented; local codes and licensed practice decide.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import densepath as dp
from densepath.units import BAR, MILLILITRE_PER_MINUTE, from_celsius, to_celsius

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
solution = dp.solve(here / "tests" / "methods" / "packed_modifier.toml")
before = solution.station("regulator tube").state
flow = solution.mass_flow_rate

# %% [markdown]
# ## In one step or in stages
#
# A stage at some pressure keeps modifier in the liquid that one step would lose with the gas.

# %%
for pressures in ([1.01325 * BAR], [20 * BAR, 1.01325 * BAR]):
    stages = dp.decompress(before, flow, pressures=pressures, temperatures=[from_celsius(20.0)] * len(pressures), draws_liquid=[True] * len(pressures))
    liquid = sum(stage.liquid_mass_flow_rate for stage in stages)
    print(f"{len(pressures)} stage: {60e3 * liquid:.3f} g/min of liquid drawn")

# %% [markdown]
# ## Can the gas burn?

# %%
vent = dp.vapour_in_vent(dp.Fluid("methanol"), from_celsius(20.0))
print(f"saturated gas carries {100 * vent.volume_fraction:.1f} % of methanol, and {100 * vent.lower_flammable_limit:.0f} % burn in air")
for notice in vent.notices:
    print(f"{notice.severity}: {notice.text}")

# %% [markdown]
# ## When does the peak reach the vial?
#
# The dense part is quick. The film on the walls behind the regulator is the larger part, and has to be measured with a dye: here 2 s are
# assumed.

# %%
delay = dp.collection_delay(flow, [8e-9, 15e-9], [before, before], film_lag=2.0)
print(f"{delay:.2f} s from the detector to the vial")

# %% [markdown]
# ## How near may injections follow each other?

# %%
bands = solution.bands
stacked = dp.stacked_injections([bands.hold_up_time, bands.time], [bands.time_variance, bands.time_variance], gap=2.0)
print(f"every {stacked.interval:.0f} s, {stacked.injections_per_day:.0f} a day")
