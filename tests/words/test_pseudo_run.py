"""In a language that no one speaks, a run, a moment of it, fitted weather and the keys leave no plain word."""

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from sim.case.assumed_by_key import ASSUMED
from sim.case.load import load_case
from sim.case.records import CHOICES
from sim.case.units import Kind
from sim.case.values import Rule
from sim.tell.keys.case_keys import case_keys, listed_keys
from sim.tell.review.constant_names import meaning
from tests.cli.small import call
from tests.words.prose import ROOT
from tests.words.pseudo import CODE, PLAIN, plain_words, speaking_pseudo

CASES = sorted((ROOT / "cases").glob("*.toml"))
SLOW = {"boiler_house", "greenhouse", "lens_works"}


def shown(*words: str) -> str:
    with speaking_pseudo():
        done = call(*words)
    assert done.exit_code == 0, done.stderr
    assert "·" in done.stdout
    return done.stdout


def left(text: str, names: list[str]) -> set[str]:
    """Plain words of what a command shows, but for names and codes."""
    told = (CODE.sub(" ", each) for each in names)
    return set(plain_words(text, [each for each in told if PLAIN.search(each)]))


@pytest.mark.parametrize("path", [
    pytest.param(path, id=path.stem, marks=pytest.mark.long if path.stem in SLOW else [])
    for path in CASES
])  # fmt: skip
def test_a_run_and_a_moment_of_it(path: Path) -> None:
    case = load_case(path)
    names = [case.title, *(each.name for each in (*case.policies, *case.stages))]
    for policy in case.policies:
        words = ["run", str(path), "--policy", policy.name]
        assert left(shown(*words), names) == set()
        assert left(shown(*words, "--explain", "day 9 03:00"), names) == set()
    assert left(shown(*words, "--week", "2"), names) == set()


def test_weather(tmp_path: Path) -> None:
    """The lines to be pasted are those of a case file."""
    hours = np.arange(60 * 24)
    values = 3.0 + np.sin(hours / 30.0) + np.random.default_rng(5).random(len(hours))
    values[7] = 0.0
    start = datetime(2026, 3, 1)
    rows = [f"{start + timedelta(hours=int(hour)):%Y-%m-%d %H:%M},{value:.4f}" for hour, value in
            zip(hours, values, strict=True)]  # fmt: skip
    (tmp_path / "river.csv").write_text("\n".join(["time,cloud", *rows]), encoding="utf-8")
    text = shown("weather", str(tmp_path / "river.csv"), "--column", "cloud", "--unit", "NTU", "--out",
                 str(tmp_path / "out"))  # fmt: skip
    lines = (tmp_path / "out/weather.toml").read_text(encoding="utf-8")
    assert text.startswith(lines)
    assert left(text.removeprefix(lines), []) == set()


def codes() -> list[str]:
    """What is the same in any language: keys, examples, units, choices, sources, and heads of tables; and what a
    constant is, which has a table and a test of its own."""
    found = {part for path in case_keys() for part in path.split(".")} | {"way"}
    for key in case_keys().values():
        found |= {key.default, meaning(key.path), *(code for rule in key.rules for code in of_rule(rule))}
    found |= {constant.source for each in ASSUMED.values() for constant in each.values()}
    found |= {choice for choices in CHOICES.values() for choice in choices}
    return sorted({each.strip('"') for each in found} - {""})


def of_rule(rule: Rule) -> set[str]:
    """Codes of a rule and of those that it is made of."""
    parts = vars(rule).values()
    units = (unit for each in parts if isinstance(each, Kind) for unit in each.units)
    inner = (code for each in parts if isinstance(each, Rule) for code in of_rule(each))
    texts = (each for each in parts if isinstance(each, str))
    return {rule.example, *units, *vars(rule).get("words", ()), *texts, *inner}


def test_keys() -> None:
    names = codes()
    several = [each for each in names if " " in each]
    one = {word for each in names if " " not in each for word in PLAIN.findall(each)}
    for words in [[], *([key.path] for key in listed_keys()), ["--page"], ["--results"]]:
        assert left(shown("keys", *words), several) <= one, words
