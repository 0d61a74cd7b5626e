"""JSON Schema of the config files: current, true to the checks, of use in an editor."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft7Validator

from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.schema import KINDS, schema_text

CONFIGS = Path(__file__).parents[2] / "configs"
FOLDERS = {"airframe": "airframes", "field": "fields", "hands": "hands", "scatter": "scatter"}
FILES = [
    (kind, path) for kind, folder in FOLDERS.items() for path in (CONFIGS / folder).glob("*.toml")
]


def schema(kind: str) -> dict:
    return json.loads((CONFIGS / "schema" / f"{kind}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("kind", KINDS)
def test_shipped_schemas_are_current(kind, capsys):
    """Made anew by `firstthrow schema KIND > configs/schema/KIND.json`."""
    shipped = (CONFIGS / "schema" / f"{kind}.json").read_text(encoding="utf-8")
    assert shipped == schema_text(kind)
    assert main(["schema", kind]) == 0
    assert capsys.readouterr().out == shipped
    Draft7Validator.check_schema(json.loads(shipped))


@pytest.mark.parametrize(("kind", "path"), FILES, ids=[path.stem for _, path in FILES])
def test_shipped_files_fit_and_name_their_schema(kind, path):
    text = path.read_text(encoding="utf-8")
    assert text.splitlines()[0] == f"#:schema ../schema/{kind}.json"
    assert (path.parent / ".." / "schema" / f"{kind}.json").is_file()
    problems = [
        error.message for error in Draft7Validator(schema(kind)).iter_errors(tomllib.loads(text))
    ]
    assert problems == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('thickness = "6 mm"', "thickness = 6"),
        ('thickness = "6 mm"', 'thickness = "6"'),
        ('thickness = "6 mm"', 'thickness = "6.5.1 mm"'),
        ('thickness = "6 mm"', 'thickness = "6 furlong"'),
        ('thickness = "6 mm"', 'thicknes = "6 mm"'),
        ('role = "elevon"', 'role = "elevons"'),
        ("cells = 3", "cells = 0"),
        ('capacity = "1300 mAh"', 'capacity = "2.2"'),
        ('turns = "clockwise"', 'turns = "up"'),
        ('size = "8x4 in"', 'size = "8 in"'),
        ('["0 mm", "0 mm"]', '["0 mm", 0]'),
    ],
)
def test_what_the_program_refuses_an_editor_marks(old, new):
    text = (CONFIGS / "airframes" / "pantry.toml").read_text(encoding="utf-8")
    assert old in text
    broken = tomllib.loads(text.replace(old, new, 1))
    assert list(Draft7Validator(schema("airframe")).iter_errors(broken))


def test_what_the_program_reads_an_editor_lets_pass():
    """As people write it, and with decimal commas where the file says so."""
    text = (CONFIGS / "airframes" / "pantry.toml").read_text(encoding="utf-8")
    for old, new in (
        ('kv = "850 rpm/V"', 'kv = "850kv"'),
        ("cells = 3", 'cells = "3"'),
        ('capacity = "1300 mAh"', "capacity = 1300"),
        ('size = "8x4 in"', 'size = "8x4"'),
        ('turns = "clockwise"', 'turns = "cw"'),
        ('horn = "0.63 in"', 'horn = "0,63 in"'),
        ('thickness = "6 mm"', 'thickness = "1/4 in"'),
        ('name = "pantry"', 'name = "pantry"\ndecimals = "comma"'),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    assert list(Draft7Validator(schema("airframe")).iter_errors(tomllib.loads(text))) == []


def quantities(part, path=""):
    """Every key whose value is a text held to a pattern, with its words."""
    if isinstance(part, dict):
        if "string" in part.get("type", ()) and "pattern" in part:
            yield path, part
        for key, inner in part.items():
            yield from quantities(inner, f"{path}.{key}")
    elif isinstance(part, list):
        for inner in part:
            yield from quantities(inner, path)


@pytest.mark.parametrize("kind", KINDS)
def test_quantities_tell_their_units_and_examples_fit(kind):
    found = list(quantities(schema(kind)))
    assert found
    for path, part in found:
        counted = path.endswith(".cells")
        assert counted or "unit" in part["description"], path
        for example in [*part["examples"], *([part["default"]] if "default" in part else [])]:
            assert Draft7Validator(part).is_valid(example), (path, example)


def test_keys_say_what_they_are():
    parts = schema("airframe")["$defs"]
    assert parts["Surface"]["properties"]["horn"]["description"].startswith(
        "surface horn, hinge line to hole; a length"
    )
    assert parts["Mixing"]["properties"]["reflex"]["default"] == "0 deg"
    assert "XPS" in parts["Sheet"]["properties"]["material"]["examples"]
    assert "null" not in json.dumps(parts)
