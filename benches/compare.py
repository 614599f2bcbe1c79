"""Speed beside general-purpose libraries, on the same points, in one run on one core: what `cargo xtask bench` runs.

Every row is the median of several rounds of the smallest unit of work named in it. Rounds of ours and of the peer take turns, and the
ratio is the median of theirs, since the clock of a shared processor changes within a run. Peers are asked in the quickest way that they
offer for the same answer.
"""

from __future__ import annotations

import csv
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

os.environ.setdefault("RAYON_NUM_THREADS", "1")

import numpy as np  # noqa: E402

import densepath as dp  # noqa: E402

ROUNDS = 15
# Temperatures in K and pressures in Pa.
DENSE = (270.0, 380.0), (5e6, 40e6)
WHOLE = (217.0, 400.0), (1e4, 80e6)
EIGHT = [
    "density",
    "specific_enthalpy",
    "specific_entropy",
    "specific_isobaric_heat_capacity",
    "specific_isochoric_heat_capacity",
    "speed_of_sound",
    "isothermal_compressibility",
    "isobaric_expansivity",
]


class Row(NamedTuple):
    """One kind of work: seconds a piece of ours and of the peer, and how many times as fast ours is."""

    work: str
    ours: float
    peer: str
    theirs: float
    ratio: float
    goal: float


def seconds(work: Callable[[], object], count: int) -> float:
    """Seconds for each of so many pieces of a work, after one call that is not counted."""
    work()
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) / count


def beside(
    name: str, ours: tuple[Callable[[], object], int], peer: str, theirs: tuple[Callable[[], object], int], goal: float
) -> Row:
    """Ours and the peer's in turns; both come with the number of their pieces."""
    times = [(seconds(*ours), seconds(*theirs)) for _ in range(ROUNDS)]
    own, other = (statistics.median(column) for column in zip(*times, strict=True))
    return Row(name, own, peer, other, statistics.median(theirs / ours for ours, theirs in times), goal)


def median_time(work: Callable[[], object]) -> float:
    """Median time in seconds."""
    return statistics.median(seconds(work, 1) for _ in range(ROUNDS))


def points(count: int, temperature: tuple[float, float], pressure: tuple[float, float], seed: int = 1):
    """Random temperatures in K and pressures in Pa, the pressures even in their logarithm."""
    random = np.random.default_rng(seed)
    logarithms = random.uniform(*np.log(pressure), count)
    return random.uniform(*temperature, count), np.exp(logarithms)


def reference_update():
    """CoolProp's update of its reference equation of carbon dioxide, one point at a time."""
    import CoolProp
    from CoolProp.CoolProp import AbstractState

    state = AbstractState("HEOS", "CO2")

    def work(temperatures, pressures, read=lambda state: state.rhomass()):
        for t, p in zip(temperatures, pressures, strict=True):
            state.update(CoolProp.PT_INPUTS, p, t)
            read(state)

    return work


def rows():
    """All rows of the table."""
    co2 = dp.Fluid("carbon dioxide")
    peer = reference_update()
    for name, range_t, range_p, goal in [
        ("density of CO2, list, 270-380 K, 5-40 MPa", *DENSE, 3000),
        ("density of CO2, list, 217-400 K, 0.01-80 MPa", *WHOLE, 1000),
    ]:
        t, p = points(100_000, range_t, range_p)
        single = np.isfinite(co2.density(t, p, on_error="nan"))
        t, p = t[single], p[single]
        few = slice(0, 300)
        yield beside(
            name,
            (lambda t=t, p=p: co2.density(t, p), t.size),
            "CoolProp HEOS update",
            (lambda t=t, p=p: peer(t[few], p[few]), 300),
            goal,
        )
    axes = np.linspace(*DENSE[0], 300), np.linspace(*DENSE[1], 300)
    t, p = (part.ravel() for part in np.meshgrid(*axes, indexing="ij"))
    peer_t, peer_p = points(300, *DENSE)
    yield beside(
        "density of CO2, list in order, 270-380 K, 5-40 MPa",
        (lambda t=t, p=p: co2.density(t, p, on_error="nan"), t.size),
        "CoolProp HEOS update",
        (lambda: peer(peer_t, peer_p), 300),
        3000,
    )
    t, p = points(100_000, *DENSE)
    yield beside(
        "density of CO2, list, 270-380 K, 5-40 MPa",
        (lambda t=t, p=p: co2.density(t, p, on_error="nan"), t.size),
        "CoolProp bicubic table, list",
        (bicubic(t, p), t.size),
        6,
    )
    t, p = points(300, *DENSE)
    plain = list(zip(t.tolist(), p.tolist(), strict=True))
    scalar = (lambda: [co2.density(t, p) for t, p in plain], 300)
    yield beside("density of CO2, one number from Python", scalar, "CoolProp HEOS update", (lambda: peer(t, p), 300), 60)
    from CoolProp.CoolProp import PropsSI

    high = (lambda: [PropsSI("D", "T", t, "P", p, "CO2") for t, p in plain], 300)
    yield beside("density of CO2, one number from Python", scalar, "CoolProp PropsSI", high, 250)

    def eight(state):
        return (
            state.rhomass(),
            state.hmass(),
            state.smass(),
            state.cpmass(),
            state.cvmass(),
            state.speed_sound(),
            state.isothermal_compressibility(),
            state.isobaric_expansion_coefficient(),
        )

    many_t, many_p = points(20_000, *DENSE)
    yield beside(
        "eight properties of CO2, list",
        (lambda: co2.properties(EIGHT, many_t, many_p), many_t.size),
        "CoolProp HEOS update",
        (lambda: peer(t, p, eight), 300),
        250,
    )
    yield from mixtures()
    yield from equilibria()


def bicubic(t, p):
    """CoolProp's bicubic table, which is wrong by percents near saturation, for a list."""
    import CoolProp
    from CoolProp.CoolProp import AbstractState

    table = AbstractState("BICUBIC&HEOS", "CO2")
    out, status = np.zeros((t.size, 1)), np.zeros(t.size, dtype=np.int32)
    wanted = np.array([CoolProp.iDmolar], dtype=np.int32)
    return lambda: table.fast_evaluate(CoolProp.PT_INPUTS, p, t, wanted, out, status)


def mixtures():
    """Densities of mixtures; the peer is told the phase, ours finds it by a test of stability."""
    import CoolProp
    from CoolProp.CoolProp import AbstractState

    t, p = points(2000, (300.0, 340.0), (15e6, 40e6))
    for name, model, backend, pair, goal in [
        ("density of CO2 + methanol, cubic, list", "cubic", "PR", "CO2&Methanol", 80),
        ("density of CO2 + methanol, reference model, list", "multi-fluid", "HEOS", "CO2&Ethane", 100),
    ]:
        fluid = dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1}, model=model)
        state = AbstractState(backend, pair)
        state.set_mole_fractions([0.9, 0.1])
        state.specify_phase(CoolProp.iphase_liquid)

        def work(state=state):
            for t1, p1 in zip(t[:200], p[:200], strict=True):
                state.update(CoolProp.PT_INPUTS, p1, t1)

        ours = (lambda fluid=fluid: fluid.density(t, p), t.size)
        yield beside(name, ours, f"CoolProp {backend}, {pair}, liquid imposed", (work, 200), goal)


def equilibria():
    """Equilibria of carbon dioxide with methanol by cubic equations; each program has its own attraction functions."""
    import feos
    import si_units as si
    import teqp

    share = np.array([0.9, 0.1])
    critical = [(304.1282, 7.3773e6, 0.22394), (512.5, 8.0898e6, 0.565)]
    names = [feos.Identifier(name=name) for name in ("carbon dioxide", "methanol")]
    pure = [feos.PureRecord(name, 40.0, tc=t, pc=p, acentric_factor=w) for name, (t, p, w) in zip(names, critical, strict=True)]
    equation = feos.EquationOfState.peng_robinson(feos.Parameters.from_records(pure, [feos.BinaryRecord(*names, k_ij=0.05)]))
    substances = {"carbon dioxide": 0.9, "methanol": 0.1}
    fresh = iter([dp.Fluid(substances, model="cubic") for _ in range(2 * ROUNDS)])
    yield beside(
        "critical points of CO2 + methanol, cubic, ours all",
        (lambda: next(fresh).critical_points(), 1),
        "feos",
        (lambda: feos.State.critical_point(equation, share), 1),
        80,
    )
    model = teqp.canonical_PR(*(list(column) for column in zip(*critical, strict=True)), [[0.0, 0.05], [0.05, 0.0]])
    options = teqp.TCABOptions()
    options.polish = True
    temperature, pressure, _ = critical[0]
    start = np.array([pressure / (0.3074 * 8.314462618 * temperature), 0.0])
    traced = len(model.trace_critical_arclength_binary(temperature, start, "", options))
    ours = len(dp.critical_locus("carbon dioxide", "methanol", model="cubic").temperature)
    yield beside(
        "critical locus of CO2 + methanol, cubic, per point",
        (lambda: dp.critical_locus("carbon dioxide", "methanol", model="cubic"), ours),
        "teqp, polished",
        (lambda: model.trace_critical_arclength_binary(temperature, start, "", options), traced),
        400,
    )
    fluid = dp.Fluid(substances, model="cubic")
    temperatures = np.linspace(285.0, 320.0, 50)

    def bubble_of_peer():
        for t in temperatures:
            feos.PhaseEquilibrium.bubble_point(equation, t * si.KELVIN, share)

    yield beside(
        "bubble point of CO2 + methanol, cubic",
        (lambda: [fluid.bubble_point(temperature=t) for t in temperatures], temperatures.size),
        "feos",
        (bubble_of_peer, temperatures.size),
        40,
    )

    def flash_of_peer():
        for t in temperatures:
            feos.PhaseEquilibrium.tp_flash(equation, t * si.KELVIN, 4e6 * si.PASCAL, share)

    yield beside(
        "flash of CO2 + methanol with test of stability, cubic",
        (lambda: [fluid.flash(t, 4e6) for t in temperatures], temperatures.size),
        "feos",
        (flash_of_peer, temperatures.size),
        60,
    )


def deviation():
    """Greatest relative difference of a density of the list from that of the state itself, over 5000 points of each range."""
    co2 = dp.Fluid("carbon dioxide")
    greatest = 0.0
    for ranges in (DENSE, WHOLE):
        t, p = points(5000, *ranges, seed=3)
        found = co2.density(t, p, on_error="nan")
        known = np.flatnonzero(np.isfinite(found))
        states = np.array([co2.state(temperature=t[i], pressure=p[i]).density for i in known])
        greatest = max(greatest, float(np.max(np.abs(found[known] / states - 1))))
    return greatest


def path():
    """Seconds to read and solve the method of the demo."""
    method = Path(__file__).parent.parent / "tests/methods/packed.toml"
    return median_time(lambda: dp.solve(method))


def scaling():
    """Time per point of ours against the number of points, the first call in a new process and later ones."""
    code = (
        "import sys, time, numpy as np, densepath as dp\n"
        "n = int(sys.argv[1]); r = np.random.default_rng(2)\n"
        "t = r.uniform(270, 380, n); p = r.uniform(5e6, 40e6, n); f = dp.Fluid('CO2')\n"
        "times = []\n"
        "for _ in range(3):\n"
        "    s = time.perf_counter(); f.density(t, p); times.append(time.perf_counter() - s)\n"
        "print(times[0], min(times[1:]))\n"
    )
    for exponent in range(8):
        count = 10**exponent
        text = subprocess.run([sys.executable, "-c", code, str(count)], capture_output=True, text=True, check=True).stdout
        first, later = (float(word) for word in text.split())
        yield count, first / count, later / count


def start():
    """Seconds to import the module, and to the first density after it."""
    code = (
        "import time; s = time.perf_counter(); import densepath as dp; m = time.perf_counter()\n"
        "dp.Fluid('CO2').density(313.15, 15e6); e = time.perf_counter(); print(m - s, e - m)\n"
    )
    texts = [
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout for _ in range(ROUNDS)
    ]
    times = [[float(word) for word in text.split()] for text in texts]
    return [statistics.median(column) for column in zip(*times, strict=True)]


def plot(path: Path, table, lengths) -> None:
    """Ratios beside their goals, and time per point against the number of points."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    figure, (left, right) = plt.subplots(1, 2, figsize=(12, 4.5), layout="constrained")
    names = [f"{row.work}\nbeside {row.peer}" for row in table]
    left.barh(names, [row.ratio for row in table], color="tab:blue", label="measured")
    left.plot([row.goal for row in table], names, "|", color="tab:red", markersize=14, label="goal")
    left.set(xscale="log", xlabel="times as fast")
    left.tick_params(axis="y", labelsize=7)
    left.legend()
    counts, first, later = zip(*lengths, strict=True)
    right.loglog(counts, first, "o-", label="first call of a process")
    right.loglog(counts, later, "s-", label="later calls")
    right.set(xlabel="points", ylabel="seconds per point")
    right.legend()
    figure.savefig(path)


def main(folder: Path) -> None:
    """Prints the table and writes it."""
    folder.mkdir(parents=True, exist_ok=True)
    print(f"{platform.machine()}, {os.cpu_count()} processors of which one is used, Python {platform.python_version()}")
    table = []
    print(f"{'work':54} {'ours':>10} {'peer':>12}  {'ratio':>8} {'goal':>6}  beside")
    for row in rows():
        table.append(row)
        verdict = "" if row.ratio >= row.goal else "  not met"
        times = f"{row.ours * 1e9:7.0f} ns {row.theirs * 1e9:9.0f} ns"
        print(f"{row.work:54} {times}  {row.ratio:8.0f} {row.goal:6}  {row.peer}{verdict}")
    print(f"greatest deviation of a density from that of its state {deviation():.1e} (goal 1e-11)")
    print(f"packed method, read and solved {path() * 1e3:.1f} ms (goal 1); ten thousand perturbed methods: not measured")
    module, first = start()
    print(f"import of the module {module * 1e3:.0f} ms (goal 100), first density {first * 1e3:.1f} ms (goal 50)")
    lengths = list(scaling())
    print(f"{'points':>10} {'first call':>14} {'later calls':>14}  per point")
    for count, cold, warm in lengths:
        print(f"{count:10} {cold * 1e9:11.0f} ns {warm * 1e9:11.0f} ns")
    with (folder / "speed.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["work", "ours / s", "peer", "peer / s", "ratio", "goal"])
        writer.writerows(table)
    with (folder / "scaling.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["points", "first call / s per point", "later calls / s per point"])
        writer.writerows(lengths)
    plot(folder / "speed.svg", table, lengths)
    print(f"written to {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
