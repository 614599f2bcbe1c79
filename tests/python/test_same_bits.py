"""The same bits in Python, Rust and C, on one thread and on many, and from one seed. The C program of the same numbers is compared with the
Rust one by `cargo xtask c`."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import densepath as dp

ROOT = Path(__file__).parent.parent.parent
PACKED = ROOT / "tests" / "methods" / "packed.toml"
QUANTITIES = ("density", "specific_enthalpy", "speed_of_sound", "dynamic_viscosity", "thermal_conductivity")
LIST = 5000

# Everything that threads share: lists, many solutions, maps and draws.
SHARED = f"""
import numpy as np
import densepath as dp
co2 = dp.Fluid("carbon dioxide")
t, p = 290.0 + 0.02 * np.arange({LIST}), 7e6 + 4e3 * np.arange({LIST})
bits = lambda values: np.asarray(values, dtype=float).tobytes().hex()
print(bits(co2.density(t, p)), bits(co2.dynamic_viscosity(t, p)))
pressure = ("regulator", "pressure")
density = ("column", "mean_density")
solved = dp.solve_many({str(PACKED)!r}, {{pressure: [120e5, 130e5, 140e5]}})
print(bits([solution.delivery_pressure for solution in solved]))
wall = ("preheater", "wall_temperature")
plane = dp.map_method({str(PACKED)!r}, across=(pressure, [120e5, 140e5]), down=(wall, [310.0, 320.0]), outputs=[density])
print(bits(plane.points["column: mean_density"]))
drawn = dp.draw_trials({str(PACKED)!r}, {{pressure: 0.5e5}}, [density], count=20, seed=7)
print(bits(drawn.draws["column: mean_density"]))
"""


def line(name: str, value: float) -> str:
    """A number as its bits."""
    (bits,) = struct.unpack("<Q", struct.pack("<d", value))
    return f"{name} {bits:016x}"


def lines() -> list[str]:
    """What `crates/densepath/examples/same_bits.rs` prints."""
    co2 = dp.Fluid("carbon dioxide")
    mixture = dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1})
    found = []
    for step in range(12):
        t, p = 300.0 + 5.0 * step, 8e6 + 2e6 * step
        found += [line("carbon dioxide", getattr(co2, quantity)(t, p)) for quantity in QUANTITIES]
        found.append(line("mixture", mixture.density(t, p + 8e6)))
    found += [line("saturation", co2.saturation(temperature=220.0 + 20.0 * step).pressure) for step in range(5)]
    found.append(line("expanded", co2.state(temperature=313.15, pressure=15e6).expand_to(1e5).temperature))
    restrictor = dp.LinearRestrictor(diameter=25e-6, length=0.2)
    found.append(line("restrictor", restrictor.mass_flow_rate(co2, 373.15, 15e6, 1e5)))
    t, p = 290.0 + 0.02 * np.arange(LIST), 7e6 + 4e3 * np.arange(LIST)
    total = 0xCBF29CE484222325
    for byte in np.asarray(co2.density(t, p), dtype="<f8").tobytes():
        total = (total ^ byte) * 0x100000001B3 % 2**64
    found.append(f"list {total:016x}")
    solution = dp.solve(PACKED)
    found.append(line("delivery", solution.delivery_pressure))
    found.append(line("mass flow", solution.mass_flow_rate))
    return found


def test_rust_and_python_give_the_same_bits() -> None:
    command = ["cargo", "run", "--quiet", "--package", "densepath", "--example", "same_bits"]
    told = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    printed = told.stdout.splitlines()
    assert len(printed) == 82
    assert lines() == printed


def shared(threads: int) -> str:
    """What a process prints that shares its work among some threads."""
    environment = os.environ | {"RAYON_NUM_THREADS": str(threads)}
    told = subprocess.run([sys.executable, "-c", SHARED], env=environment, capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    return told.stdout


def test_threads_change_no_bit() -> None:
    alone = shared(1)
    assert len(alone.splitlines()) == 4
    assert len(alone) > 16 * 2 * LIST
    for threads in (2, 5):
        assert shared(threads) == alone


def test_a_seed_gives_the_same_draws() -> None:
    def drawn(seed: int) -> bytes:
        pressure, density = ("regulator", "pressure"), ("column", "mean_density")
        draws = dp.draw_trials(PACKED, {pressure: 0.5e5}, [density], count=10, seed=seed).draws
        return np.asarray(draws["column: mean_density"]).tobytes()

    assert drawn(3) == drawn(3)
    assert drawn(3) != drawn(4)


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_lists_are_single_calls(quantity: str, co2: dp.Fluid) -> None:
    t, p = np.linspace(290.0, 390.0, 300), np.linspace(8e6, 30e6, 300)
    single = np.array([getattr(co2, quantity)(float(one), float(other)) for one, other in zip(t, p, strict=True)])
    assert getattr(co2, quantity)(t, p).tobytes() == single.tobytes()
