"""The files of check values keep to their schema."""

import json
from pathlib import Path

import jsonschema
import pytest

FOLDER = Path(__file__).parent.parent / "vectors"
FILES = sorted(path.stem for path in FOLDER.glob("*.json") if path.stem != "schema")
VALIDATOR = jsonschema.Draft202012Validator(json.loads((FOLDER / "schema.json").read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", FILES)
def test_file_keeps_to_the_schema(name: str) -> None:
    VALIDATOR.validate(json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8")))


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(VALIDATOR.schema)
    assert not VALIDATOR.is_valid({})
