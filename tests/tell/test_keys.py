"""Exact: the keys that are told are those of the schema, with words, values and what is assumed."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from plots.words import catalogue
from sim.case.assumed_by_key import ASSUMED
from sim.case.load import load_case
from sim.case.records import Assumption
from sim.case.schema import json_schema
from sim.errors import RefusedValue
from sim.tell.keys.case_keys import case_keys, found_keys, listed_keys
from sim.tell.keys.keys_told import heading, page
from sim.tell.keys.rule_words import rule_words
from tests.cli.small import call
from tests.test_architecture import loaded_by
from tests.write.ten import TRAINS, made

CASES = Path(__file__).parents[2] / "cases"
REGENERATE = "filterrun keys --page > cases/KEYS.md"


def properties(schema: Any) -> Iterator[str]:
    """The name of every key that the JSON Schema has, however deep."""
    if isinstance(schema, dict):
        if schema.get("type") == "object" and "properties" in schema:
            yield from schema["properties"]
        for inner in schema.values():
            yield from properties(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from properties(inner)


def test_every_key_of_the_json_schema_is_known_and_no_other() -> None:
    """But for a table of one price; its ends are called as those of a range."""
    assert set(properties(json_schema())) - {"typical"} == {key.name for key in case_keys().values()}


def test_every_key_has_words_and_no_words_are_left_over() -> None:
    assert [key.path for key in case_keys().values() if not key.what] == []
    ends = catalogue.messages("en")["terms"]["key"]
    paths = [f".{key.path}" for key in case_keys().values()]
    assert [end for end in ends if not any(path.endswith(f".{end}") for path in paths)] == []


@pytest.mark.parametrize("path", case_keys())
def test_every_example_is_a_value_that_the_key_takes(path: str) -> None:
    for rule in case_keys()[path].rules:
        assert rule_words(rule)
        rule.read(tomllib.loads(f"value = {rule.example}")["value"])


def test_a_table_is_listed_once() -> None:
    listed = [key.path for key in listed_keys()]
    assert "feed.turbidity.median" in case_keys()
    assert "feed.turbidity.median" not in listed
    assert {"feed.suspended_solids.median", "supply.pipe.rise", "policy.hold"} <= set(listed)
    assert "drain.pipe.rise" not in listed


def all_assumed() -> Iterator[Assumption]:
    for path in CASES.glob("*.toml"):
        yield from load_case(path).assumptions
    for train in TRAINS:
        for coagulant in ("yes", "no"):
            yield from made(train=train, coagulant=coagulant).case.assumptions


def test_what_cases_assume_is_what_is_told() -> None:
    """But for the few that are scaled to the grains, lowered to what the pores hold, or tied to another."""
    seen = set()
    for each in all_assumed():
        (key,) = found_keys(each.key)
        told = ASSUMED[key.listed_path].values()
        if any((each.low, each.value, each.high) == (one.low, one.value, one.high) for one in told):
            seen.add(key.name)
        else:
            assert key.name in {"head_loss_gain", "ultimate_deposit", "unfilterable", "viscosity_exponent"}, each
    assert len(seen) > 20


def test_what_may_be_assumed_is_a_key_that_a_case_may_leave_out() -> None:
    for path in ASSUMED:
        key = case_keys()[path]
        assert not key.is_needed
        assert not key.is_repeated


def test_the_page_is_what_the_command_makes() -> None:
    text = (CASES / "KEYS.md").read_text(encoding="utf-8")
    assert text == page(), REGENERATE
    assert f"`{REGENERATE}`" in text
    done = call(*REGENERATE.partition(" > ")[0].split()[1:])
    assert (done.exit_code, done.stdout) == (0, text)


@pytest.mark.parametrize(
    ("asked", "path"),
    [
        ("stage.layer.size", "stage.layer.size"),
        ("stage.media.layer.sand.size", "stage.layer.size"),
        ("stage.media.layer.0.size", "stage.layer.size"),
        ('policy."pressure drop".media.hold', "policy.hold"),
        ("policy.hold", "policy.hold"),
        ("washing.by_hand.0.at", "washing.by_hand.at"),
        ("quantile", "policy.quantile"),
        ("feed.turbidity.storms.season.swing", "feed.turbidity.storms.season.swing"),
    ],
)
def test_a_key_is_found_as_files_and_messages_have_it(asked: str, path: str) -> None:
    assert [key.path for key in found_keys(asked)] == [path]


def test_the_last_part_alone_finds_every_key_of_that_name() -> None:
    assert {key.path for key in found_keys("limit")} == {"supply.limit", "stage.limit"}


@pytest.mark.parametrize(
    ("asked", "near"),
    [("stage.layer.sise", "stage.layer.size"), ("longestrun", "stage.longest_run"), ("stage.valv", "stage.vessel")],
)
def test_a_misspelt_key_gets_the_nearest(asked: str, near: str) -> None:
    with pytest.raises(RefusedValue) as refused:
        found_keys(asked)
    assert f'"{near}"' in refused.value.try_
    done = call("keys", asked)
    assert (done.exit_code, done.stdout) == (2, "")
    assert f'"{near}"' in done.stderr


def test_the_command_lists_and_tells() -> None:
    shown = call("keys").stdout
    for path in ("run", "stage", "stage.vessel", "policy"):
        assert f"\n{heading(path)}\n" in shown
    for key in listed_keys():
        assert f"  {key.name} " in shown
    told = call("keys", "stage.vessel.diameter").stdout
    assert "may be: length, 1 cm to 20 m" in told
    assert "needed" in told
    assert "assumed, sand: 0.45 / 0.5 / 0.55 mm, M. L. Davis" in call("keys", "stage.layer.size").stdout
    assert '"refuse" if left out' in call("keys", "demand.flow.gaps").stdout
    assert call("keys", "stage", "--page").exit_code == 2
    assert "list of 24" in call("keys", "demand.hourly").stdout


def test_the_command_loads_nothing_that_runs() -> None:
    assert loaded_by("keys", "stage.layer.size") == []
