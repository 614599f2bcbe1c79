# %% [markdown]
# # The same call on a cluster
#
# A plane of a million states, and a thousand methods with doubtful settings, on two workers of one machine. On a real cluster only the
# line that makes the client changes. The method and its tolerances are invented.

# %%
from pathlib import Path

import dask.array as da
import numpy as np
import xarray as xr
from dask.distributed import Client, LocalCluster, as_completed

import densepath as dp
from densepath.units import BAR, MINUTE

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
method = (here / "tests" / "methods" / "packed.toml").read_text("utf-8")
cluster = LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None)
client = Client(cluster)

# %% [markdown]
# ## A plane of states
#
# Chunks go in, chunks come out: nothing is computed until it is asked for, and no worker holds more than its chunks. The labels and the
# units stay.

# %%
co2 = dp.Fluid("carbon dioxide")
temperature = xr.DataArray(np.linspace(290.0, 390.0, 1000), dims="temperature", attrs={"units": "K"})
pressure = xr.DataArray(da.linspace(80e5, 400e5, 1000, chunks=100), dims="pressure", attrs={"units": "Pa"})
density = co2.density(temperature, pressure)
print(density.dims, density.attrs["units"], "chunks of", density.data.chunksize, f"{np.prod(density.data.chunksize) * 8 / 1e6:.1f} MB each")
liquid_like = (density > 700.0).mean()
print(f"{100 * float(liquid_like.compute()):.1f} % of the plane is denser than 700 kg/m3")

# %% [markdown]
# ## Methods by chance
#
# A batch of draws is one task. A draw depends on the seed and on its number alone, so that batches with seeds of their own can be done
# anywhere and in any order, and again with the same result.

# %%
settings = {
    ("regulator", "pressure"): 1.0 * BAR / np.sqrt(3),
    ("preheater", "wall_temperature"): 0.5 / np.sqrt(3),
    ("pump", "volume_flow_rate"): 0.01 * 3e-6 / MINUTE / np.sqrt(3),
}
result = ("method", "delivery_pressure")

futures = [client.submit(dp.draw_trials, method, settings, [result], count=100, seed=seed) for seed in range(10)]
for done, _ in enumerate(as_completed(futures), start=1):
    print(f"\r{done} of {len(futures)} batches", end="")
pressures = np.concatenate([batch.draws["method: delivery_pressure"] for batch in client.gather(futures)])
print(f"\n{len(pressures)} draws: {pressures.mean() / BAR:.2f} bar, standard deviation {pressures.std(ddof=1) / BAR:.2f} bar")

# %% [markdown]
# ## What a real cluster needs
#
# - The same version of `densepath` with the extra `dask` in the environment of every worker, and the method's text, not its path: a
#   worker need not see the files of the notebook.
# - Chunks of 1e5 to 1e6 states, batches of a hundred methods or more: a task should outweigh its transport by far.
# - One thread a worker, or `RAYON_NUM_THREADS=1` where a worker has several: a call uses all cores that it is allowed.

# %%
client.close()
cluster.close()
