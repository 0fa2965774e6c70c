"""Exact and property: the line found for a key, against the text and against what the parser reads."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.case.line_numbers import line_numbers
from sim.case.mistakes import dotted_key, line_of

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))

AWKWARD = '''# a comment with [brackets] = and "quotes"
title = "a # no comment"   # one
"odd key"."with.dot".plain = 1
'single "quoted"' = { inner.deep = [1, [2,
  3], { x = "]" }], "k\\u0065y" = 2027-01-04 03:00:00 }

many = """
[not.a.table]
x = 1 \\"""
""""
raw = \'\'\'
# no comment
\'\'\'\'
list = [   # comment
  "a",
  # between
  'b', """c
d""",
]
[[stage]]
name = "one"
[stage.vessel]
height = 1
[[stage.layer]]
depth = 1
[[stage.layer]]
depth = 2
[stage.layer.inner]
x = 1
[[stage]]
[stage.vessel]
height = 2
[[stage.layer]]
depth = 3
[outer.inner]
x = 1
[outer]
y = 1
'''

LINES = {
    ("title",): 2,
    ("odd key",): 3,
    ("odd key", "with.dot", "plain"): 3,
    ('single "quoted"',): 4,
    ('single "quoted"', "inner", "deep", 1, 0): 4,
    ('single "quoted"', "inner", "deep", 1, 1): 5,
    ('single "quoted"', "inner", "deep", 2, "x"): 5,
    ('single "quoted"', "key"): 5,
    ("many",): 7,
    ("raw",): 11,
    ("list",): 14,
    ("list", 0): 15,
    ("list", 1): 17,
    ("list", 2): 17,
    ("stage",): 20,
    ("stage", 0): 20,
    ("stage", 0, "name"): 21,
    ("stage", 0, "vessel"): 22,
    ("stage", 0, "vessel", "height"): 23,
    ("stage", 0, "layer"): 24,
    ("stage", 0, "layer", 0, "depth"): 25,
    ("stage", 0, "layer", 1): 26,
    ("stage", 0, "layer", 1, "depth"): 27,
    ("stage", 0, "layer", 1, "inner", "x"): 29,
    ("stage", 1): 30,
    ("stage", 1, "vessel"): 31,
    ("stage", 1, "layer", 0): 33,
    ("stage", 1, "layer", 0, "depth"): 34,
    ("outer",): 37,
    ("outer", "inner"): 35,
    ("outer", "inner", "x"): 36,
    ("outer", "y"): 38,
}


def paths(data: Any, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every key and list item that parsed data holds."""
    if at:
        yield at
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for part, value in inner:
        yield from paths(value, (*at, part))


def test_lines_of_an_awkward_text() -> None:
    lines = line_numbers(AWKWARD)
    assert {path: lines[path] for path in LINES} == LINES
    assert set(lines) == set(paths(tomllib.loads(AWKWARD)))


def first_seen(text: str) -> dict[tuple[str | int, ...], tuple[int, int]]:
    """Where reading a text line by line first shows each key: after one line, and by another.

    The two are neighbours but for what is written over several lines.
    """
    rows = text.split("\n")
    seen: dict[tuple[str | int, ...], tuple[int, int]] = {}
    read = 0
    for number in range(1, len(rows) + 1):
        try:
            data = tomllib.loads("\n".join(rows[:number]))
        except tomllib.TOMLDecodeError:
            continue
        for path in paths(data):
            seen.setdefault(path, (read, number))
        read = number
    return seen


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_lines_of_the_cases_agree_with_reading_growing_parts(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    lines, seen = line_numbers(text), first_seen(text)
    assert set(lines) == set(seen)
    for key, (after, by) in seen.items():
        assert after < lines[key] <= by, key


bare_keys = st.text("abc-_1", min_size=1, max_size=3)
quoted_keys = st.text('ab.#[]= "\\', min_size=1, max_size=4).map(
    lambda key: '"' + key.replace("\\", "\\\\").replace('"', '\\"') + '"'
)
keys = st.lists(bare_keys | quoted_keys, min_size=1, max_size=3).map(".".join)
plain_values = st.sampled_from(
    ["1", "-2.5", "true", "2027-01-04", "2027-01-04 00:00:00", "03:00:00", '"a # b"', "'c ] d'", '"\\""']
)
gaps = st.sampled_from(["", " ", "\n", " # note ] }\n", "\n\n  "])


def listed(items: list[str], gap: str) -> str:
    return "[" + ",".join(f"{gap}{item}" for item in items) + gap + "]"


def inline(pairs: list[tuple[str, str]]) -> str:
    return "{" + ", ".join(f" {key} = {value}" for key, value in pairs) + " }"


values = st.recursive(
    plain_values,
    lambda inner: (
        st.builds(listed, st.lists(inner, max_size=3), gaps)
        | st.builds(inline, st.lists(st.tuples(keys, inner), max_size=2))
    ),
    max_leaves=6,
)
pairs = st.builds(lambda key, value: f"{key} = {value}\n", keys, values)
headers = keys.map(lambda key: f"[{key}]\n") | keys.map(lambda key: f"[[ {key} ]]  # list\n")


@given(st.lists(pairs | headers, max_size=8).map("".join))
def test_the_scan_finds_what_the_parser_finds(text: str) -> None:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return  # keys given twice: no text for the scan
    lines = line_numbers(text)
    assert set(lines) == set(paths(data))
    for key, (after, _) in first_seen(text).items():
        assert after < lines[key] <= text.count("\n") + 1, key


def test_what_the_file_lacks_stands_at_the_table_around_it() -> None:
    lines = line_numbers("\n[run]\nlength = 1")
    assert line_of(("run", "start"), lines) == 2
    assert line_of(("run", "start", "deeper"), lines) == 2
    assert line_of(("title",), lines) == 1


@pytest.mark.parametrize(
    ("path", "key"),
    [
        (("stage", 0, "limit"), "stage.filter.limit"),
        (("stage", 1, "limit"), "stage.1.limit"),
        (("stage", 0, "step", 0, "flow"), "stage.filter.step.0.flow"),
        (("stage", 0, "step", 2, "flow"), "stage.filter.step.rinse.flow"),
        (("stage", 0, "layer", 1, "size"), "stage.filter.layer.1.size"),
        (("stage", 7, "name"), "stage.7.name"),
        (("policy", "every night", "filter"), "policy.every night.filter"),
        ((), ""),
    ],
)
def test_keys_name_items_where_a_name_is_unique(path: tuple[str | int, ...], key: str) -> None:
    steps = [{"do": "backwash"}, {"do": "backwash"}, {"do": "rinse"}]
    data = {"stage": [{"name": "filter", "step": steps, "layer": [{}, {}]}, {"name": 3}]}
    assert dotted_key(path, data) == key
