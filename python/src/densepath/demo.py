"""Solves method documents and leaves their figures and reports in a folder.

`python -m densepath.demo METHOD.toml ... --folder FOLDER`
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from ._core import solve
from .errors import DensepathError
from .report import figures, write

_DOTS_PER_INCH = 130


def _run(method: Path, folder: Path, place: str) -> list[Path]:
    """Solves one method, prints its report and writes its files."""
    print(f"[{place}] solving {method}", flush=True)
    solution = solve(method)
    print(solution.to_text(), flush=True)
    print(f"[{place}] drawing", flush=True)
    drawn = figures(solution)
    written = []
    for name, picture in drawn.items():
        file = folder / f"{method.stem}_{name}.png"
        picture.savefig(file, dpi=_DOTS_PER_INCH)
        written.append(file)
    table = folder / f"{method.stem}_solution.json"
    table.write_text(solution.to_json() + "\n", encoding="utf-8")
    return [write(solution, folder / f"{method.stem}.html", drawn), table, *written]


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Its arguments; those of the process by default.

    Returns
    -------
    int
        0, or 1 if a method could not be solved.

    Examples
    --------
    >>> from densepath.demo import main
    >>> main(["no/such/method.toml"])
    [1/1] solving no/such/method.toml
    1
    """
    parser = argparse.ArgumentParser(prog="python -m densepath.demo", description="Solve methods, draw and report them.")
    parser.add_argument("methods", nargs="+", type=Path, metavar="METHOD.toml", help="method documents")
    parser.add_argument("--folder", type=Path, default=Path(), help="where the files go (default: here)")
    chosen = parser.parse_args(arguments)
    chosen.folder.mkdir(parents=True, exist_ok=True)
    written = []
    for index, method in enumerate(chosen.methods, start=1):
        try:
            written += _run(method, chosen.folder, f"{index}/{len(chosen.methods)}")
        except DensepathError as error:
            print(f"{method}: {error}", file=sys.stderr)
            return 1
    print("written:")
    for file in written:
        print(f"  {file}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
