"""How far a long call has come, told by a bar of the package `tqdm` or to a function of the caller."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Progress = bool | Callable[[int, int | None], object]
"""True for a bar where `tqdm` is installed; or a function of the number solved and of the number to solve, None where unknown."""


class _Bar:
    """A bar of `tqdm`."""

    def __init__(self, bar: Any) -> None:
        self._bar = bar

    def tell(self, solved: int) -> None:
        self._bar.update(solved - self._bar.n)

    def close(self) -> None:
        self._bar.close()


class _Function:
    """A function of the caller, which is called when the number changes."""

    def __init__(self, function: Callable[[int, int | None], object], total: int | None) -> None:
        self._function = function
        self._total = total
        self._told = 0

    def tell(self, solved: int) -> None:
        if solved != self._told:
            self._told = solved
            self._function(solved, self._total)

    def close(self) -> None:
        return


def start(progress: Progress, total: int | None) -> _Bar | _Function | None:
    """Who is to be told, or nobody: without `tqdm` a bar that was asked for is left out.

    >>> start(False, 3) is None
    True
    """
    if callable(progress):
        return _Function(progress, total)
    if not progress:
        return None
    try:
        from tqdm.auto import tqdm
    except ImportError:
        return None
    return _Bar(tqdm(total=total, unit="method"))
