"""The same call on a cluster of dask: two worker processes, memory bounded by the chunk."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import dask.array as da
import numpy as np
import pytest
import xarray as xr
from dask.distributed import Client, LocalCluster

import densepath as dp

CHUNK = 20_000


@pytest.fixture(scope="module")
def client() -> Iterator[Client]:
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        yield client


def test_chunks_go_to_the_workers_and_come_back_the_same(client: Client, co2: dp.Fluid) -> None:
    pressures = np.linspace(80e5, 400e5, 10 * CHUNK)
    pressure = da.from_array(pressures, chunks=CHUNK)
    density = co2.density(350.0, pressure)
    assert density.chunks == pressure.chunks
    largest, mean = da.compute(density.max(), density.mean(), scheduler=client)
    here = co2.density(350.0, pressures)
    assert largest == here.max()
    assert mean == pytest.approx(here.mean(), rel=1e-12)
    # Each task sees one chunk: what it makes is no larger than that.
    sizes = client.run(lambda dask_worker: [value.nbytes for value in dask_worker.data.values() if hasattr(value, "nbytes")])
    assert all(size <= 8 * CHUNK for held in sizes.values() for size in held)


def test_labelled_arrays_keep_their_labels(client: Client, co2: dp.Fluid) -> None:
    temperature = xr.DataArray(np.linspace(300.0, 350.0, 8), dims="temperature", attrs={"units": "K"})
    pressures = np.linspace(80e5, 400e5, 4_000)
    pressure = xr.DataArray(da.from_array(pressures, chunks=1_000), dims="pressure", attrs={"units": "Pa"})
    density = co2.density(temperature, pressure)
    assert density.dims == ("temperature", "pressure")
    assert density.attrs["units"] == "kg/m3"
    with client.as_current():
        found = density.compute()
    assert (found.values == co2.density(temperature.values[:, None], pressures)).all()


def test_mixtures_travel_to_the_workers(client: Client) -> None:
    mixture = dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1})
    pressures = np.linspace(150e5, 400e5, 40)
    found = mixture.density(320.0, da.from_array(pressures, chunks=10)).compute(scheduler=client)
    assert (found == mixture.density(320.0, pressures)).all()


def test_methods_are_solved_on_the_workers(client: Client) -> None:
    text = (Path(__file__).parent.parent / "methods" / "packed.toml").read_text(encoding="utf-8")

    def delivery_pressure(flow: str) -> float:
        document = tomllib.loads(text)
        pump = next(part for part in document["part"] if part["kind"] == "reciprocating_pump")
        pump["volume_flow_rate"] = flow
        return float(dp.solve(document).delivery_pressure)

    flows = ["1 mL/min", "2 mL/min", "3 mL/min"]
    found = client.gather(client.map(delivery_pressure, flows))
    assert found == [delivery_pressure(flow) for flow in flows]
    assert found == sorted(found)
