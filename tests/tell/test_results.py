"""Exact: the page of results has every figure that a run leaves, and says of none of them that it is always there
where a run has left it out."""

import re
from functools import cache
from pathlib import Path

from plots.words import catalogue
from sim.case.load import load_case
from sim.plant.records import Figure
from sim.plant.simulate import simulate
from sim.tell.keys.results_page import results_page
from sim.tell.kpis import EVERY
from tests.cli.small import call

CASES = Path(__file__).parents[2] / "cases"
REGENERATE = "filterrun keys --results > cases/RESULTS.md"


@cache
def figures() -> tuple[dict[str, Figure], ...]:
    """Of the site and of every stage, of a plain case and of a train."""
    found: list[dict[str, Figure]] = []
    for name in ("reference", "parts_hall", "boiler_house"):
        case = load_case(CASES / f"{name}.toml", {"run.length": "21 d"})
        result = simulate(case, case.policies[0].name)
        found += [result.site, *result.stages.values()]
    return tuple(found)


def test_the_page_has_every_figure_and_no_other() -> None:
    listed = re.findall(r"^\| `(\w+)` \|", results_page(), re.MULTILINE)
    assert sorted(listed) == sorted({key for each in figures() for key in each})
    assert list(EVERY) == listed
    assert set(catalogue.found("result")) == set(EVERY)
    assert set(catalogue.found("labels.null")) < set(EVERY)


def test_a_figure_that_is_never_null_never_was() -> None:
    never = set(EVERY) - set(catalogue.found("labels.null"))
    assert len(never) > 10
    for each in figures():
        assert [key for key in never if each[key] is None] == []


def test_units_and_sides_are_those_of_the_figures() -> None:
    """Of a gallon of 231 cubic inches; a share is shown in percent; demand not met is better small."""
    cells = {line.split(" | ")[0].strip("|` "): line.split(" | ")[1:5] for line in results_page().splitlines()}
    assert cells["unmet_m3"] == ["demand not met", "m3", "gal", "less"]
    assert cells["treated_m3"] == ["treated water", "m3", "gal", "more"]
    assert cells["breakthrough_risk"] == ["breakthrough risk", "%", "%", "less"]
    assert cells["washes"] == ["washes", "", "", "-"]


def test_the_page_is_what_the_command_makes() -> None:
    text = (CASES / "RESULTS.md").read_text(encoding="utf-8")
    assert text == results_page(), REGENERATE
    assert f"`{REGENERATE}`" in text
    done = call(*REGENERATE.partition(" > ")[0].split()[1:])
    assert (done.exit_code, done.stdout) == (0, text)
    assert call("keys", "--results", "--page").exit_code == 2
