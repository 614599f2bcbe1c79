"""Long calls: told how far they have come, limited in time, and stopped by an interrupt with nothing lost but what was not done."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import densepath as dp
from densepath import _progress

PACKED = Path(__file__).parent.parent / "methods" / "packed.toml"
REGULATOR = ("regulator", "pressure")
DENSITY = ("column", "mean_density")


def test_a_function_is_told_how_far_the_work_has_come() -> None:
    told: list[tuple[int, int | None]] = []
    dp.draw_trials(PACKED, {REGULATOR: 0.5e5}, [DENSITY], count=150, progress=lambda *numbers: told.append(numbers))
    assert told[-1] == (150, 150)
    assert [solved for solved, _ in told] == sorted({solved for solved, _ in told})


def test_every_long_call_tells() -> None:
    last: dict[str, tuple[int, int | None]] = {}
    for name, call in {
        "solve_many": lambda tell: dp.solve_many([PACKED] * 3, progress=tell),
        "changes": lambda tell: dp.solve_many(PACKED, {REGULATOR: [140e5, 150e5]}, progress=tell),
        "map": lambda tell: dp.map_method(PACKED, across=(REGULATOR, [140e5, 150e5]), down=(("column", "length"), [0.1, 0.2]), outputs=[DENSITY], progress=tell),
    }.items():
        call(lambda solved, total, name=name: last.__setitem__(name, (solved, total)))
    assert last == {"solve_many": (3, 3), "changes": (2, 2), "map": (4, 4)}
    dp.find_input(
        PACKED, input=REGULATOR, output=DENSITY, target=800.0, bounds=(100e5, 250e5), samples=4, progress=lambda solved, total: last.update(find=(solved, total))
    )
    assert last["find"][0] >= 4 and last["find"][1] is None


def test_an_exception_of_the_listener_ends_the_work() -> None:
    def tell(solved: int, total: int | None) -> None:
        raise ZeroDivisionError(f"{solved} of {total}")

    begun = time.perf_counter()
    with pytest.raises(ZeroDivisionError):
        dp.solve_many(PACKED, {REGULATOR: np.full(100_000, 150e5)}, progress=tell)
    assert time.perf_counter() - begun < 30.0  # solving them all takes minutes


def test_a_bar_is_drawn_where_it_can_be(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    dp.solve_many([PACKED], progress=True)
    assert "1/1" in capsys.readouterr().err
    monkeypatch.setitem(sys.modules, "tqdm.auto", None)
    dp.solve_many([PACKED], progress=True)
    assert _progress.start(True, 1) is None
    dp.solve_many([PACKED], progress=False)
    assert capsys.readouterr().err == ""


def test_work_ends_with_its_time() -> None:
    with pytest.raises(dp.StoppedError, match="out of the time given") as caught:
        dp.draw_trials(PACKED, {REGULATOR: 0.5e5}, [DENSITY], count=1_000_000, time_limit=0.2)
    assert caught.value.code == 406
    assert isinstance(caught.value, TimeoutError)
    with pytest.raises(dp.StoppedError):
        dp.solve(PACKED, time_limit=0.0)
    in_time = dp.solve(PACKED, time_limit=2.0)
    assert in_time.delivery_pressure == dp.solve(PACKED).delivery_pressure
    # The limit was that of the call, not of what is asked of its result.
    time.sleep(2.1)
    assert in_time.chromatogram(0.0, 300.0, 10.0).peaks.solute


def test_what_was_solved_in_time_is_kept() -> None:
    solved = dp.solve_many(PACKED, {REGULATOR: np.full(100_000, 150e5)}, raises=False, time_limit=0.5)
    kept = [one for one in solved if isinstance(one, dp.Solution)]
    assert len(solved) == 100_000
    assert 0 < len(kept) < len(solved)
    assert all(isinstance(one, (dp.Solution, dp.StoppedError)) for one in solved)
    assert len({solution.delivery_pressure for solution in kept}) == 1


@pytest.mark.parametrize("limit", [-1.0, float("nan"), float("inf")])
def test_a_time_that_is_none_is_refused(limit: float) -> None:
    with pytest.raises(dp.DomainError, match="time"):
        dp.solve(PACKED, time_limit=limit)


@pytest.fixture
def interruptible() -> Iterator[None]:
    """Interrupts are heard: a process begun in the background by a shell ignores them, and so do its children."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.skipif(sys.platform == "win32", reason="an interrupt is sent as a signal")
@pytest.mark.usefixtures("interruptible")
def test_an_interrupt_stops_the_work() -> None:
    begun = time.perf_counter()
    timer = threading.Timer(0.3, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    with pytest.raises(KeyboardInterrupt):
        dp.solve_many(PACKED, {REGULATOR: np.full(100_000, 150e5)})
    timer.join()
    assert time.perf_counter() - begun < 30.0  # solving them all takes minutes
