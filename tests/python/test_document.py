"""The method document: its JSON Schema, and all problems at once."""

import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import densepath as dp

METHODS = Path(__file__).parent.parent / "methods"
EXAMPLES = sorted(METHODS.glob("*.toml"))
SCHEMA = dp.method_schema()
JUDGE = jsonschema.Draft202012Validator(SCHEMA)


def test_the_schema_is_one_and_lies_in_the_package() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert json.loads((files("densepath") / "method.schema.json").read_text(encoding="utf-8")) == SCHEMA


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_the_examples_keep_to_the_schema(path: Path) -> None:
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    assert [error.message for error in JUDGE.iter_errors(document)] == []
    assert len(dp.check_method(document)) == 0


def changed(**values: Any) -> dict[str, Any]:
    """The packed method with other values for keys of its tubes, or without them where the value is None."""
    document: dict[str, Any] = tomllib.loads((METHODS / "packed.toml").read_text(encoding="utf-8"))
    tube = next(part for part in document["part"] if part["kind"] == "tube")
    for key, value in values.items():
        if value is None:
            del tube[key]
        else:
            tube[key] = value
    return document


READ = [
    {"length": "1 m"}, {"length": "1e2 cm"}, {"length": ".3 m"}, {"length": " 30 cm "}, {"diameter": "170 µm"},
    {"diameter": "170um"}, {"wall_temperature": "22 °C"}, {"wall_temperature": "295.15 K"},
]  # fmt: skip
REFUSED = [
    {"length": "1"}, {"length": 1.0}, {"length": "1 bar"}, {"length": "one m"}, {"length": None}, {"length": "1,0 m"},
    {"wall_temperature": "22 F"}, {"lenght": "1 m"}, {"kind": "tub"}, {"kind": None}, {"name": 3}, {"name": None}, {"diameter": True},
]  # fmt: skip


@pytest.mark.parametrize("values", READ, ids=str)
def test_the_schema_accepts_what_is_read(values: dict[str, Any]) -> None:
    document = changed(**values)
    assert JUDGE.is_valid(document) and len(dp.check_method(document)) == 0


@pytest.mark.parametrize("values", REFUSED, ids=str)
def test_the_schema_refuses_what_is_refused(values: dict[str, Any]) -> None:
    document = changed(**values)
    assert not JUDGE.is_valid(document)
    assert len(dp.check_method(document)) == 1


@pytest.mark.parametrize(
    "pressure", ["150 bar", "150 bar(a)", "149 bar(g)", "149 bar (g)", "149 barg", "2200 psia", "15 MPa", "15 MPa(g)", "1.5e7 Pa"]
)
def test_pressures_are_read_in_every_spelling_of_the_schema(pressure: str) -> None:
    document = changed()
    regulator = next(part for part in document["part"] if part["kind"] == "back_pressure_regulator")
    regulator["pressure"] = pressure
    assert JUDGE.is_valid(document) and len(dp.check_method(document)) == 0


def test_all_problems_are_told_with_their_places() -> None:
    text = (METHODS / "packed.toml").read_text(encoding="utf-8")
    text = text.replace('volume = "60 m3"', 'volume = "60"').replace('kind = "mixer"', 'kind = "mixr"')
    found = dp.check_method(text)
    lines = text.splitlines()
    assert found.line.tolist() == [lines.index('volume = "60"') + 1, lines.index('kind = "mixr"') + 1]
    assert found.column.tolist() == [10, 8]
    assert found.code.tolist() == [604, 604]
    assert "did you mean" in found.problem[1]
    with pytest.raises(dp.DocumentError, match="cannot read"):
        dp.check_method("no/such/file.toml")
