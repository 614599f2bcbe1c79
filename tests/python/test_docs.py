"""The pages of the documentation: every example in them runs, and the site is built from them without a warning."""

from __future__ import annotations

import doctest
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "python" / "docs"
GUIDE = sorted((DOCS / "guide").glob("*.md"))
NOTEBOOKS = sorted((ROOT / "python" / "notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("page", GUIDE, ids=[page.stem for page in GUIDE])
def test_examples_of_the_guide_run(page: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    # The fence after an example is no output of it.
    text = page.read_text(encoding="utf-8").replace("```python", "").replace("```", "")
    test = doctest.DocTestParser().get_doctest(text, {}, page.stem, str(page), 0)
    assert doctest.DocTestRunner().run(test).failed == 0


def test_the_site_builds_without_a_warning(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "sphinx", "-q", "-W", "-b", "html", "-d", str(tmp_path / "cache")]
    result = subprocess.run(
        [*command, str(DOCS), str(tmp_path / "site")], capture_output=True, text=True, check=False, cwd=tmp_path
    )
    assert result.returncode == 0, result.stderr
    for page in ("index", "reference/python", "fluids/carbon_dioxide", *(f"guide/{page.stem}" for page in GUIDE)):
        assert "densepath" in (tmp_path / "site" / f"{page}.html").read_text(encoding="utf-8")
    # The notebooks were run: each page has what its cells print or draw.
    for notebook in NOTEBOOKS:
        assert "cell_output" in (tmp_path / "site" / "notebooks" / f"{notebook.stem}.html").read_text(encoding="utf-8")
