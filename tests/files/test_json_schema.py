"""The JSON Schemas agree with the demo files and with what the loader accepts.

Reference: the jsonschema library (draft 2020-12).
"""

import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from marker.errors import InputError
from marker.files.fabric import load_fabrics
from marker.files.json_schema import fabric_schema, pattern_schema
from marker.files.pattern import load_pattern
from tests.files.samples import PATTERN, changed, write

PIECES = Path(__file__).parents[2] / "pieces"
PATTERNS = ["harbour-smock.toml", "market-apron.toml", "gored-skirt.toml"]
FABRICS = sorted(path.name for path in PIECES.glob("*.toml") if path.name not in PATTERNS)


def problems(schema, text):
    return [error.message for error in Draft202012Validator(schema).iter_errors(tomllib.loads(text))]


def test_the_schemas_are_schemas():
    Draft202012Validator.check_schema(pattern_schema())
    Draft202012Validator.check_schema(fabric_schema())


@pytest.mark.parametrize("name", PATTERNS)
def test_demo_patterns_are_valid_and_load(name):
    path = PIECES / name
    assert problems(pattern_schema(), path.read_text(encoding="utf-8")) == []
    pattern = load_pattern(path)
    assert {len(pieces) for pieces in pattern.pieces.values()} == {len(pattern.pieces[pattern.sizes[0]])}


def test_demo_fabrics_are_valid_and_load():
    assert FABRICS
    for name in FABRICS:
        assert problems(fabric_schema(), (PIECES / name).read_text(encoding="utf-8")) == []
        assert load_fabrics(PIECES / name)


@pytest.mark.parametrize(
    "change",
    [
        ('unit = "mm"', 'unit = "ell"'),
        ("selvage =", "selvedge ="),
        ("count = 1, how", "count = 0, how"),
        ('how = "on fold"', 'how = "folded"'),
        ("[[100, 500], [100, 20]]", "[[100, 500]]"),
        ('number = "1"', "number = true"),
    ],
)
def test_editors_and_the_loader_refuse_the_same(change, tmp_path):
    text = changed(change)
    assert problems(pattern_schema(), text)
    with pytest.raises(InputError):
        load_pattern(write(tmp_path, text))


def test_editors_and_the_loader_accept_the_same(tmp_path):
    assert problems(pattern_schema(), PATTERN) == []
    assert load_pattern(write(tmp_path, PATTERN))


def test_every_default_is_a_value_that_a_file_may_hold():
    for schema in (pattern_schema(), fabric_schema()):
        for table in [schema, *schema["$defs"].values()]:
            for name, field in table["properties"].items():
                if "default" in field:
                    whole = {**field, "$defs": schema["$defs"]}
                    assert list(Draft202012Validator(whole).iter_errors(field["default"])) == [], name
                assert {"type": "null"} not in field.get("anyOf", []), name


def test_every_field_says_what_it_is():
    for schema in (pattern_schema(), fabric_schema()):
        for table in [schema, *schema["$defs"].values()]:
            for name, field in table["properties"].items():
                assert field.get("description"), (table["title"], name)
