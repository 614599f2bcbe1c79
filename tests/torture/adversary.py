"""Every public function, class and method of the Python package with arguments by chance: `adversary.py SECONDS SEED`.

Allowed are answers and the exceptions of the package and of Python for wrong arguments; a panic, another exception, or a call of more than a
second of a processor is a finding. A crash ends the program, and with it the command that runs it. The last line is the summary as JSON.
"""

from __future__ import annotations

import faulthandler
import inspect
import io
import json
import math
import random
import sys
import time
import warnings
from collections import Counter
from collections.abc import Callable
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import numpy as np

import densepath as dp

ALLOWED = (dp.DensepathError, TypeError, ValueError, OverflowError, AttributeError, KeyError, IndexError, NotImplementedError)
# They draw, run for long, or end the program by design.
LEFT_OUT = {"plot", "report", "interop", "units", "errors", "ufuncs", "draw_trials", "map_method", "solve_many"}
# Infinite where none is known at any pressure, or where there is no film, as their documentation says.
UNBOUNDED = {"melting_pressure", "phase_ratio", "single_phase_margin", "single_phase_temperature_margin"}
# Objects that answers add to those that are asked.
ROOM = 60
SLOW = 1.0
# Seconds after which a call is taken for one that never ends.
STUCK = 30.0
METHOD = {"title": "invented"}
DOCUMENT = (Path(__file__).parents[1] / "methods" / "packed.toml").read_text(encoding="utf-8")


def values(chance: random.Random, pool: list[Any]) -> Any:
    """An argument of any kind."""
    kind = chance.random()
    if kind < 0.45:
        return chance.choice(
            [float("nan"), float("inf"), -float("inf"), 0.0, -0.0, 5e-324, 1.8e308, -1.0, 1.0, 40.0, 313.15, 150e5, 101325.0, 1e-9, 1e-4, 780.0]
        )
    if kind < 0.6:
        return chance.choice([0, 1, -1, 10**30, True, None, "", "density", "carbon dioxide", "150 bar", "\0", "é" * 40, b"", b"densetbl"])
    if kind < 0.8:
        return chance.choice(
            [
                [], [313.15, float("nan")], (1.0, 2.0), [[1.0], [2.0, 3.0]], {}, {"carbon dioxide": 0.9, "methanol": 0.1}, METHOD,
                np.array([300.0, 320.0]), np.zeros((0,)), np.zeros((2, 0)), np.array(["x"]), np.array([1 + 2j]), object(),
            ]
        )
    return chance.choice(pool)


# Values that an argument of such a name may well have, so that many calls get past the first check.
USUAL = {
    "temperature": (200.0, 500.0), "pressure": (1e4, 5e7), "density": (1.0, 1200.0), "diameter": (1e-6, 1e-2), "length": (1e-3, 30.0),
    "mass_flow": (1e-10, 1e-3), "volume_flow": (1e-12, 1e-5), "volume": (1e-10, 1.0), "fraction": (0.0, 1.0), "time": (1e-3, 1e4),
    "velocity": (1e-4, 10.0), "factor": (0.1, 10.0), "ratio": (1e-3, 1e3), "rate": (1e-3, 1e3),
}


def usual(name: str, chance: random.Random) -> Any:
    """A plausible value for the name of an argument, or nothing if none is known."""
    if "fluid" in name or "substance" in name:
        return chance.choice(["carbon dioxide", "methanol", {"carbon dioxide": 0.9, "methanol": 0.1}])
    for part, (low, high) in USUAL.items():
        if part in name:
            return chance.uniform(low, high) if chance.random() < 0.8 else np.linspace(low, high, 3)
    return None


def arguments(function: Callable[..., Any], chance: random.Random, pool: list[Any]) -> tuple[list[Any], dict[str, Any]]:
    """Arguments by chance, as many as the function takes, or one more or less."""
    positional, named = [], {}
    try:
        parameters = list(inspect.signature(function).parameters.values())
    except (TypeError, ValueError):
        parameters = []
    for parameter in parameters:
        if parameter.name == "self" or (parameter.default is not inspect.Parameter.empty and chance.random() < 0.7):
            continue
        if parameter.kind in (inspect.Parameter.VAR_POSITIONAL, inspect.Parameter.VAR_KEYWORD):
            continue
        value = usual(parameter.name, chance) if chance.random() < 0.7 else None
        value = values(chance, pool) if value is None else value
        if parameter.kind is inspect.Parameter.KEYWORD_ONLY:
            named[parameter.name] = value
        else:
            positional.append(value)
    if chance.random() < 0.05:
        positional.append(values(chance, pool))
    return positional, named


def not_finite(answer: Any, name: str, given: set[str]) -> list[str]:
    """The numbers of an answer that are none, by name, but for those it was made of; in arrays what was refused is told so."""
    if isinstance(answer, float):
        is_expected = name.rsplit(".", 1)[-1] in UNBOUNDED or repr(answer) in given
        return [] if math.isfinite(answer) or is_expected else [f"{name} = {answer}"]
    if not type(answer).__module__.startswith("densepath"):
        return []
    found = []
    for part in dir(answer):
        try:
            value = getattr(answer, part)
        except ALLOWED:
            continue
        if not part.startswith("_") and isinstance(value, float):
            found += not_finite(value, f"{name}.{part}", given)
    return found


def targets(pool: list[Any]) -> list[tuple[str, Callable[..., Any]]]:
    """What can be called: the functions and classes of the package, and the methods of some objects."""
    found: list[tuple[str, Callable[..., Any]]] = []
    for name in dp.__all__:
        thing = getattr(dp, name)
        if name not in LEFT_OUT and callable(thing) and not (isinstance(thing, type) and issubclass(thing, BaseException)):
            found.append((name, thing))
    for item in pool:
        found += methods(item)
    return found


def methods(item: Any) -> list[tuple[str, Callable[..., Any]]]:
    """The methods of an object."""
    found: list[tuple[str, Callable[..., Any]]] = []
    for name in dir(item):
        try:
            method = getattr(item, name)
        except ALLOWED:
            continue
        if not name.startswith("_") and callable(method):
            found.append((f"{type(item).__name__}.{name}", method))
    return found


def objects() -> list[Any]:
    """Objects to call the methods of, and to pass where they do not belong."""
    co2 = dp.Fluid("carbon dioxide")
    table = dp.PropertyTable(co2, ["density"], temperature=(310.0, 312.0), pressure=(15e6, 16e6))
    return [
        co2,
        dp.Fluid({"carbon dioxide": 0.9, "methanol": 0.1}),
        co2.state(temperature=313.15, pressure=150e5),
        co2.saturation(temperature=280.0),
        table,
        dp.LinearRestrictor(diameter=10e-6, length=0.1),
        dp.Tube(diameter=1e-4, length=0.5),
        dp.solve(DOCUMENT),
    ]


def main() -> int:
    seconds, seed = float(sys.argv[1]), int(sys.argv[2])
    chance = random.Random(seed)
    pool = objects()
    begun = len(pool)
    candidates = targets(pool)
    names = {name for name, _ in candidates}
    counts: Counter[str] = Counter()
    findings = 0
    longest, slowest = 0.0, ""
    begin = time.monotonic()
    end = begin + seconds
    warnings.simplefilter("ignore")
    while time.monotonic() < end:
        name, function = chance.choice(candidates)
        state = chance.getstate()
        # A call that never ends is told with its place.
        faulthandler.dump_traceback_later(STUCK, exit=True)
        start = time.thread_time()
        try:
            with redirect_stdout(io.StringIO()) as printed:
                positional, named = arguments(function, chance, pool)
                answer = function(*positional, **named)
            outcome = "answered"
            # A class keeps what it is made of.
            given = {repr(value) for value in [*positional, *named.values()] if isinstance(function, type)}
            if wrong := not_finite(answer, name, given):
                outcome = "FOUND no numbers"
                print(f"{outcome}: {wrong}")
            if type(answer).__module__.startswith("densepath"):
                # What came out is asked in turn, in the place of an older answer.
                if len(pool) == ROOM:
                    pool.pop(begun + chance.randrange(ROOM - begun))
                pool.append(answer)
                candidates = targets(pool)
                names |= {name for name, _ in candidates}
            if printed.getvalue():
                outcome = "PRINTED"
        except ALLOWED as error:
            outcome = f"refused by {getattr(error, 'code', type(error).__name__)}"
        except BaseException as error:
            outcome = f"FOUND {type(error).__name__}"
            print(f"{outcome}: {name}: {error}")
        taken = time.thread_time() - start
        if taken > longest:
            longest, slowest = taken, name
        counts[outcome] += 1
        if taken > SLOW:
            print(f"SLOW {taken:.2f} s: {name}")
        if taken > SLOW or outcome.isupper() or outcome.startswith("FOUND"):
            findings += 1
            again = random.Random()
            again.setstate(state)
            print(f"  first argument drawn: {values(again, pool)!r:.200}")
    summary = {
        "part": "python",
        "seed": seed,
        "seconds": time.monotonic() - begin,
        "calls": counts.total(),
        "answered": counts.pop("answered", 0),
        "functions": len(names),
        "refused": {outcome.removeprefix("refused by "): count for outcome, count in sorted(counts.items())},
        "findings": findings,
        "slowest": slowest,
        "slowest_ms": longest * 1e3,
    }
    print(json.dumps(summary))
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main())
