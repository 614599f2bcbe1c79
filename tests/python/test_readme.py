"""The Python example of the README runs as printed."""

import pathlib

ROOT = pathlib.Path(__file__).parents[2]


def test_the_python_example_runs(monkeypatch, capsys):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    code = text.split("```python\n")[1].split("```")[0]
    monkeypatch.chdir(ROOT)
    exec(compile(code, "README.md", "exec"), {"__name__": "__main__"})
    printed = capsys.readouterr().out
    assert "regulator" in printed
    assert "caution" in printed
