"""The JSON Schema for editors: plain JSON, complete, and of one mind with the reader."""

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from sim.case.schema import CaseFile, json_schema
from tests.case.samples import SMALL
from tests.case.whole_train import WHOLE

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    return json_schema()


def nodes(value: Any) -> list[dict[str, Any]]:
    """Every table within a schema."""
    if isinstance(value, list):
        return [node for item in value for node in nodes(item)]
    if isinstance(value, dict):
        return [value, *nodes(list(value.values()))]
    return []


def fits(value: Any, node: dict[str, Any], schema: dict[str, Any]) -> bool:
    """Whether a value fits a schema, for the few words that ours uses."""
    if "$ref" in node:
        return fits(value, schema["$defs"][node["$ref"].rpartition("/")[2]], schema)
    for union in ("oneOf", "anyOf"):
        if union in node:
            found = sum(fits(value, member, schema) for member in node[union])
            return found == 1 if union == "oneOf" else found > 0
    if "enum" in node or "const" in node:
        return value in node.get("enum", [node.get("const")])
    match node["type"]:
        case "object":
            return isinstance(value, dict) and object_fits(value, node, schema)
        case "array":
            low, high = node["minItems"], node["maxItems"]
            listed = isinstance(value, list) and low <= len(value) <= high
            return listed and all(fits(each, node["items"], schema) for each in value)
        case "string":
            return "pattern" not in node or re.search(node["pattern"], str(value)) is not None
        case "integer" | "number":
            return isinstance(value, int | float) and bool(node["minimum"] <= value <= node["maximum"])
        case "boolean":
            return isinstance(value, bool)
    raise AssertionError(node)


def object_fits(value: dict[str, Any], node: dict[str, Any], schema: dict[str, Any]) -> bool:
    members = node.get("properties", {})
    if any(key not in value for key in node.get("required", [])):
        return False
    other = node["additionalProperties"]
    if other is False:
        return all(key in members and fits(each, members[key], schema) for key, each in value.items())
    return all(fits(each, other, schema) for each in value.values())


def test_it_is_plain_json(schema: dict[str, Any]) -> None:
    assert json.loads(json.dumps(schema, allow_nan=False)) == schema
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_every_reference_leads_somewhere(schema: dict[str, Any]) -> None:
    references = {node["$ref"] for node in nodes(schema) if isinstance(node.get("$ref"), str)}
    assert references == {f"#/$defs/{name}" for name in schema["$defs"]}


def test_every_table_refuses_unknown_keys_and_says_what_it_is(schema: dict[str, Any]) -> None:
    for table in (schema, *schema["$defs"].values()):
        assert table["additionalProperties"] is False
        assert table["description"]


def test_patterns_are_sound_and_there_is_no_null(schema: dict[str, Any]) -> None:
    for node in nodes(schema):
        if isinstance(node.get("pattern"), str):
            re.compile(node["pattern"])
        assert node.get("type") != "null"
        assert "default" not in node or node["default"] is not None


def test_required_keys_are_those_of_the_reader(schema: dict[str, Any]) -> None:
    assert set(schema["required"]) == {name for name, field in CaseFile.model_fields.items() if field.is_required()}
    assert set(schema["$defs"]["StageTable"]["required"]) == {"name", "vessel", "layer", "step"}


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_the_cases_fit_it(path: Path, schema: dict[str, Any]) -> None:
    assert fits(tomllib.loads(path.read_text(encoding="utf-8")), schema, schema)


def test_a_whole_train_fits_it(schema: dict[str, Any]) -> None:
    assert fits(tomllib.loads(WHOLE), schema, schema)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('["22:00-06:00", "12:30-13:00"]', '["22-6"]'),
        ('["22:00-06:00", "12:30-13:00"]', '["22:00-25:00"]'),
        ("start_below = 0.4", "start_below = 40"),
        ("start_below = 0.4", 'start_below = "4 kg"'),
        ("count = 2, arrangement", "count = 0, arrangement"),
        ('{ start_on = "pressure drop", ', "{ "),
        ("supply = 2", "suply = 2"),
    ],
)
def test_what_of_a_train_the_reader_refuses_does_not_fit_it(old: str, new: str, schema: dict[str, Any]) -> None:
    assert WHOLE.count(old) >= 1
    assert not fits(tomllib.loads(WHOLE.replace(old, new)), schema, schema)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"5.5 m3/h"', '"5.5 psi"'),
        ('"5.5 m3/h"', '"5.5"'),
        ('"0.7 m"', '"0.7 m and more"'),
        ("minutes = 10", "minutes = -1"),
        ('"sand"', '"sandd"'),
        ("depth", "depht"),
        ('start_on = "volume"\n', ""),
    ],
)
def test_what_the_reader_refuses_does_not_fit_it(old: str, new: str, schema: dict[str, Any]) -> None:
    assert fits(tomllib.loads(SMALL), schema, schema)
    assert not fits(tomllib.loads(SMALL.replace(old, new)), schema, schema)
