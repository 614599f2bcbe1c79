"""Writes the notebooks: each script in this folder, whose cells begin with `# %%`, becomes the `.ipynb` of the same name."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


def cells(text: str) -> list[tuple[str, str]]:
    """The cells of a script: their kind and their text."""
    found = []
    for block in text.split("# %%")[1:]:
        head, _, body = block.partition("\n")
        kind = "markdown" if head.strip() == "[markdown]" else "code"
        lines = body.strip().splitlines()
        if kind == "markdown":
            lines = [line.removeprefix("#").removeprefix(" ") for line in lines]
        found.append((kind, "\n".join(lines)))
    return found


def notebook(text: str) -> dict[str, Any]:
    """A script as a notebook without results."""
    made = []
    for place, (kind, source) in enumerate(cells(text)):
        cell: dict[str, Any] = {"cell_type": kind, "id": f"cell-{place}", "metadata": {}, "source": source.splitlines(keepends=True)}
        if kind == "code":
            cell |= {"execution_count": None, "outputs": []}
        made.append(cell)
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    return {"cells": made, "metadata": {"kernelspec": kernel}, "nbformat": 4, "nbformat_minor": 5}


def scripts() -> list[Path]:
    """The scripts of this folder that are notebooks."""
    return [path for path in sorted(FOLDER.glob("*.py")) if path != Path(__file__)]


def main() -> None:
    """Writes every notebook."""
    for path in scripts():
        path.with_suffix(".ipynb").write_text(json.dumps(notebook(path.read_text("utf-8")), indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
