"""Exact: each finding on a small case that has it and nothing else, and none on the case that has none."""

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from hydraulics.media import CATALOGUE
from sim.case.load import load_case
from sim.case.records import Case, Use
from sim.case.series.records import Seasonal
from sim.case.trigger.records import Pressure
from sim.case.wash.records import Pipe
from sim.review.findings import Band, Finding, judged
from sim.review.review import review
from sim.review.site import KEPT
from sim.tell.review.finding_words import band_words, figure_words
from tests.cli.test_words import CLAIMS, JARGON, found
from tests.plant.builders import M3_H, RINSE, steady
from tests.review.designs import CASES as PLAIN_CASES
from tests.review.made import (
    BY_VOLUME,
    COAL,
    FINE_SAND,
    FLOW,
    SETTLE,
    SUPPLY,
    WASH,
    carbon,
    good,
    policies,
    stage,
    told,
)
from tests.review.train_designs import TRAIN_CASES

ROOT = Path(__file__).parents[2]
CASES = PLAIN_CASES | TRAIN_CASES
KEYS = ["level", "stage", "what", "value", "low", "high", "unit", "source", "do"]


@pytest.mark.parametrize("name", CASES)
def test_a_case_has_these_findings_and_no_other(name: str) -> None:
    case, expected = CASES[name]
    findings = told(case)
    assert [(each.level, each.stage) for each in findings] == [pair[:2] for pair in expected], findings
    for finding, (_, _, words) in zip(findings, expected, strict=True):
        assert words in finding.what
        assert finding.do
        assert finding.source


def test_every_figure_lies_on_the_side_that_its_level_says() -> None:
    seen = set()
    for case, _ in CASES.values():
        for finding in review(case):
            if finding.value is None:
                continue
            low = -float("inf") if finding.low is None else finding.low
            high = float("inf") if finding.high is None else finding.high
            inside = low <= finding.value <= high
            if finding.level != "fine" and (finding.low, finding.high) != (None, None):
                assert not inside, finding
            seen.add((finding.level, inside))
    assert {("fine", True), ("look", False), ("stop", False)} <= seen


def test_json_has_its_keys_and_no_infinity() -> None:
    for case, _ in CASES.values():
        for finding in review(case):
            data = finding.to_json()
            assert list(data) == KEYS
            json.dumps(data, allow_nan=False)
    lost = Finding(level="stop", stage="filter", what="height", measure="length", value=-math.inf)
    assert (lost.to_json()["value"], lost.to_json()["unit"]) == (None, "m")


def test_a_band_judges_only_the_sides_that_say_what_to_do() -> None:
    band = Band(low=1.0, high=2.0)
    one = judged(None, "x", 0.5, "share", band, above="less")
    assert (one.level, one.low, one.high, one.do) == ("fine", None, 2.0, "")
    both = judged(None, "x", 0.5, "share", band, below="more", above="less", outside="stop")
    assert (both.level, both.low, both.high, both.do) == ("stop", 1.0, 2.0, "more")
    goal = judged(None, "x", 3.0, "share", band, below="more", goal=True)
    assert (goal.level, goal.low, goal.high) == ("fine", 1.0, 2.0)
    assert [judged(None, "x", at, "share", band, below="a", above="b").level for at in (1.0, 2.0)] == ["fine"] * 2


@pytest.mark.parametrize("use", ["drinking", "food", None])
@pytest.mark.parametrize("name", CASES)
def test_for_drinking_water_no_advice_lengthens_a_run_or_shortens_a_wash(name: str, use: Use | None) -> None:
    case = CASES[name][0]
    eased = [each for each in told(case) if any(words in each.do for words in EASING)]
    drinking = told(replace(case, use=use))
    assert not [each.do for each in drinking if any(words in each.do for words in EASING)]
    assert [each.do for each in drinking].count(KEPT) == len(eased)


EASING = ("washes further apart", "a shorter", "one rinse less", "the wash without this", "a higher set point")


def test_all_the_easing_advice_is_met_above() -> None:
    told_somewhere = " ".join(each.do for case, _ in CASES.values() for each in told(case))
    assert all(words in told_somewhere for words in (EASING[0], EASING[1], EASING[3], EASING[4]))


def test_nothing_said_claims_or_confuses() -> None:
    """All words that a review can say, with the names that a case gives left as they are."""
    for case, _ in CASES.values():
        for finding in review(case):
            for text in (finding.what, finding.do, finding.source):
                assert found(CLAIMS, text) == []
                assert found(JARGON, text) == []


def test_both_laws_of_expansion_are_told() -> None:
    """Where carbon is only just lifted, Richardson & Zaki's law would hold it narrower than packed."""
    answers = [each for each in review(good()) if "Richardson & Zaki's law" in each.what]
    assert [each.level for each in answers] == ["fine"]
    assert answers[0].value is not None
    weak = replace(carbon(), steps=(replace(WASH, flow=9.0 * M3_H), RINSE))
    assert not [each for each in review(good(stages=(weak,))) if "Richardson & Zaki's law" in each.what]


def test_where_the_laws_are_divided_nobody_is_sent_to_change_the_flow() -> None:
    """The reference bed at 37 m/h: 57 % by Ergun's law, 22 % by Richardson & Zaki's, of 15 to 50 %."""
    found = [each for each in review(load_case(ROOT / "cases" / "reference.toml")) if "expansion" in each.what]
    judging, other = found
    assert judging.value is not None
    assert other.value is not None
    assert judging.high is not None
    assert judging.value > judging.high > other.value > 0.15
    assert (judging.level, other.level) == ("look", "fine")
    assert judging.do.startswith("watch a wash")


def test_a_figure_past_its_goal_says_so() -> None:
    """Treating more between two washes than is usual is fine, though the figure stands outside of the band."""
    found = Finding(
        level="fine", stage="filter", what="volume", measure="loading", value=800.0, low=200.0, high=400.0
    )  # fmt: skip
    assert band_words(found, "si") == "past a goal of 200 to 400 m3/m2"
    assert band_words(replace(found, value=300.0), "si") == "200 to 400 m3/m2"
    assert band_words(replace(found, level="look"), "si") == "200 to 400 m3/m2"


def test_no_height_is_less_than_none() -> None:
    found = Finding(level="stop", stage="filter", what="free height", measure="length", value=-0.07, low=0.15)
    assert figure_words(found, "si") == "none, short by 0.07 m"
    assert figure_words(replace(found, value=0.4), "si") == "0.4 m"


@st.composite
def designs(draw: DrawFn) -> Case:
    """Designs far beyond what anybody builds: every one of them is reviewed all the same."""
    size = draw(st.floats(5e-5, 2e-2))
    grains = replace(
        COAL,
        size=size,
        uniformity=draw(st.floats(1.0, 5.0)),
        sublayer_sizes=(size, 1.5 * size),
        sphericity=draw(st.floats(0.3, 1.0)),
        porosity=draw(st.floats(0.2, 0.8)),
        grain_density=draw(st.floats(1010.0, 8000.0)),
        medium=draw(st.sampled_from(sorted(CATALOGUE))),
    )
    wash = replace(WASH, flow=10.0 ** draw(st.floats(-6.0, 1.0)), air=draw(st.booleans()))
    stages = (
        stage(layers=(grains, FINE_SAND), steps=(wash, RINSE)),
        stage(name="second", layers=(FINE_SAND, grains), steps=(wash, SETTLE)),
    )
    mean = draw(st.floats(0.0, 50.0))
    supply = replace(
        SUPPLY,
        flows=(0.0, 10.0 ** draw(st.floats(-6.0, 1.0))),
        pressures=(10.0 ** draw(st.floats(2.0, 7.0)),) * 2,
        shared_with_service=draw(st.booleans()),
        others=draw(st.sampled_from((0.0, 1e-3))),
        pipe=draw(st.sampled_from((None, Pipe(diameter=0.02, length=50.0, roughness=1e-4, fittings=9.0, rise=-9.0)))),
    )
    triggers = (draw(st.sampled_from((BY_VOLUME, Pressure(above=5e3, hold=0.0)))),)
    return good(
        stages=stages,
        demand=steady(draw(st.sampled_from((0.0, 1e-6, FLOW, 1.0)))),
        feed=replace(good().feed, temperature=Seasonal(mean=mean, swing=min(mean, 50.0 - mean), peak_day=200)),
        supply=draw(st.sampled_from((None, supply))),
        policies=policies(*triggers, stages=stages),
    )


@given(designs())
def test_every_design_is_reviewed(case: Case) -> None:
    findings = review(case)
    assert {finding.stage for finding in findings} == {None, "filter", "second"}
    for finding in findings:
        json.dumps(finding.to_json(), allow_nan=False)
        assert finding.value is None or not math.isnan(finding.value)
        figure_words(finding, "us")
        band_words(finding, "si")


def test_grains_that_are_carried_away_are_told_in_words() -> None:
    """A bed of the finest sand in a wash of metres a second has no height."""
    wild = good(stages=(stage(steps=(replace(WASH, flow=5.0), RINSE)),), drain=None)
    heights = [each for each in told(wild) if each.what.startswith("free height")]
    assert [(each.level, each.to_json()["value"]) for each in heights] == [("stop", None)]
    assert figure_words(heights[0], "si") == "the grains are carried away"
