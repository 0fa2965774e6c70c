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
from plots.words import say
from sim.case.load import load_case
from sim.case.quantities import Quantity
from sim.case.records import Case, Use
from sim.case.series.records import Seasonal
from sim.case.trigger.records import Pressure
from sim.case.wash.records import Pipe
from sim.review.findings import Band, Finding, FindingName, Level, judged
from sim.review.review import review
from sim.study.check import checked
from sim.tell.review.finding_json import finding_json
from sim.tell.review.finding_words import band_words, closing_words, do_words, figure_words, source_words, what_words
from tests.cli.test_words import CLAIMS, JARGON, found
from tests.plant.builders import M3_H, RINSE, steady
from tests.review.chemical_designs import CHEMICAL_CASES, CHLORINE, SOFT
from tests.review.designs import CASES as PLAIN_CASES
from tests.review.made import (
    BY_VOLUME,
    COAL,
    FINE_SAND,
    FLOW,
    SETTLE,
    SUPPLY,
    WASH,
    all_of,
    carbon,
    good,
    named,
    policies,
    stage,
    told,
)
from tests.review.train_designs import TRAIN_CASES

ROOT = Path(__file__).parents[2]
CASES = PLAIN_CASES | TRAIN_CASES | CHEMICAL_CASES
KEYS = ["level", "stage", "what", "value", "low", "high", "unit", "source", "do"]


@pytest.mark.parametrize("name", CASES)
def test_a_case_has_these_findings_and_no_other(name: str) -> None:
    case, expected = CASES[name]
    findings = told(case)
    assert [(each.level, each.stage) for each in findings] == [pair[:2] for pair in expected], findings
    for finding, (_, _, words) in zip(findings, expected, strict=True):
        assert finding.name == words.partition(" ")[0]
        assert f"{named(finding)} ".startswith(f"{words} ")
        assert finding.advice
        assert do_words(finding)
        assert source_words(finding)


def test_every_figure_lies_on_the_side_that_its_level_says() -> None:
    seen = set()
    for case, _ in CASES.values():
        for finding in review(case):
            if finding.value is None:
                continue
            low = -float("inf") if finding.band.low is None else finding.band.low
            high = float("inf") if finding.band.high is None else finding.band.high
            inside = low <= finding.value <= high
            if finding.level != "fine" and (finding.band.low, finding.band.high) != (None, None):
                assert not inside, finding
            seen.add((finding.level, inside))
    assert {("fine", True), ("look", False), ("stop", False)} <= seen


def test_json_has_its_keys_and_no_infinity() -> None:
    for case, _ in CASES.values():
        for finding in review(case):
            data = finding_json(finding)
            assert list(data) == KEYS
            json.dumps(data, allow_nan=False)
    lost = Finding(name="freeboard", level="stop", stage="filter", facts={}, measure="length", value=-math.inf)
    assert (finding_json(lost)["value"], finding_json(lost)["unit"]) == (None, "m")


def test_a_band_judges_only_the_sides_that_say_what_to_do() -> None:
    band = Band(low=1.0, high=2.0)
    one = judged("set_point", None, 0.5, "share", band, below=None)
    assert (one.level, one.band.low, one.band.high, one.advice) == ("fine", None, 2.0, None)
    both = judged("set_point", None, 0.5, "share", band, outside="stop")
    assert (both.level, both.band.low, both.band.high, both.advice) == ("stop", 1.0, 2.0, "below")
    assert judged("set_point", None, 2.5, "share", band, above="watch").advice == "watch"
    goal = judged("set_point", None, 3.0, "share", band, above=None, goal=True)
    assert (goal.level, goal.band.low, goal.band.high) == ("fine", 1.0, 2.0)
    for at in (1.0, 2.0, 1.0 - 1e-10, 2.0 + 1e-10):
        assert judged("set_point", None, at, "share", band).level == "fine"
    for at in (1.0 - 1e-8, 2.0 + 1e-8):
        assert judged("set_point", None, at, "share", band).level == "look"


@pytest.mark.parametrize("use", ["drinking", "food", None])
@pytest.mark.parametrize("name", CASES)
def test_for_drinking_water_no_advice_lengthens_a_run_or_shortens_a_wash(name: str, use: Use | None) -> None:
    case = CASES[name][0]
    eased = [each for each in told(case) if (each.name, each.advice) in EASING]
    drinking = told(replace(case, use=use))
    assert not [each for each in drinking if (each.name, each.advice) in EASING]
    kept = [each for each in drinking if each.advice == "kept"]
    assert [each.name for each in kept] == [each.name for each in eased]
    assert {do_words(each) for each in kept} <= {say("check.kept")}


EASING = {
    ("backwash_volume", "above"), ("rinse_volumes", "above"), ("rinse_volumes", "again"), ("settle_time", "above"),
    ("useless_step", "above"), ("longest_run", "below"), ("run_loading", "below"), ("washwater_share", "above"),
    ("set_point_against_clean", "below"), ("displacement_volume", "above"), ("softener_rinse", "above"),
}  # fmt: skip
"""Advice to lengthen a run, or to shorten or leave out a wash, a rinse or a settling."""


def test_all_the_easing_advice_is_met_above() -> None:
    met = {(each.name, each.advice) for case, _ in CASES.values() for each in told(case)}
    assert met >= EASING


def test_nothing_said_claims_or_confuses() -> None:
    """All words that a review can say, with the names that a case gives left as they are."""
    for case, _ in CASES.values():
        for finding in review(case):
            for text in (what_words(finding), do_words(finding) or "", source_words(finding)):
                assert found(CLAIMS, text) == []
                assert found(JARGON, text) == []


def test_both_laws_of_expansion_are_told() -> None:
    """Where carbon is only just lifted, Richardson & Zaki's law would hold it narrower than packed."""
    answers = all_of(good(), "expansion_otherwise")
    assert [each.level for each in answers] == ["fine"]
    assert answers[0].value is not None
    weak = replace(carbon(), steps=(replace(WASH, flow=9.0 * M3_H), RINSE))
    assert not all_of(good(stages=(weak,)), "expansion_otherwise")


def test_where_the_laws_are_divided_nobody_is_sent_to_change_the_flow() -> None:
    """The reference bed at 37 m/h: 57 % by Ergun's law, 22 % by Richardson & Zaki's, of 15 to 50 %."""
    judging, other = all_of(load_case(ROOT / "cases" / "reference.toml"), "expansion", "expansion_otherwise")
    assert judging.value is not None
    assert other.value is not None
    assert judging.band.high is not None
    assert judging.value > judging.band.high > other.value > 0.15
    assert (judging.level, other.level) == ("look", "fine")
    assert judging.advice == "watch"


def test_a_figure_past_its_goal_says_so() -> None:
    """Treating more between two washes than is usual is fine, though the figure stands outside of the band."""
    found = finding("run_loading", "loading", 800.0, Band(low=200.0, high=400.0), "fine")
    assert band_words(found, good(), "si") == "200 to 400 m3/m2 or more"
    assert band_words(replace(found, value=100.0), good(), "si") == "200 to 400 m3/m2 or less"
    assert band_words(replace(found, value=300.0), good(), "si") == "200 to 400 m3/m2"
    assert band_words(replace(found, level="look"), good(), "si") == "200 to 400 m3/m2"


def finding(name: FindingName, measure: Quantity, value: float, band: Band, level: Level = "look") -> Finding:
    """A finding to be shown."""
    return Finding(name=name, level=level, stage="filter", facts={}, measure=measure, value=value, band=band)


def test_cautions_of_chemicals_come_where_the_case_has_some() -> None:
    every = tuple(say(f"caution.{name}") for name in ("doses", "chlorine", "permanganate", "brine"))
    doses, chlorine, permanganate, brine = every
    for one, there in (
        (stage(), []), (SOFT, [doses, brine]), (replace(stage(), dosing=CHLORINE), [doses, chlorine]),
        (stage(oxidant="chlorine"), [doses, chlorine]), (stage(oxidant="permanganate"), [doses, permanganate]),
        (stage(oxidant="none"), []),
    ):  # fmt: skip
        words = list(closing_words(checked(good(stages=(one,))), (), "si"))
        assert [each for each in words if each in every] == there


def test_no_height_is_less_than_none() -> None:
    found = finding("freeboard", "length", -0.07, Band(low=0.15), "stop")
    assert figure_words(found, good(), "si") == "none, short by 0.07 m"
    assert figure_words(replace(found, value=0.4), good(), "si") == "0.4 m"


def test_a_figure_beyond_a_bound_never_reads_as_the_bound() -> None:
    """10.0004 of at most 10 would read 10 with three digits; what lies on the bound is fine, and reads so."""
    found = finding("known_constant", "number", 10.0004, Band(low=1.5, high=10.0))
    assert figure_words(found, good(), "si") == "10.0004"
    assert band_words(found, good(), "si") == "1.5 to 10"
    assert figure_words(replace(found, value=1.49996), good(), "si") == "1.49996"
    assert figure_words(replace(found, value=12.3456), good(), "si") == "12.3"
    fine = judged("set_point", None, 10.0, "number", Band(high=10.0))
    assert fine.level == "fine"
    assert (figure_words(fine, good(), "si"), band_words(fine, good(), "si")) == ("10", "at most 10")


def test_a_bound_of_zero_reads_none() -> None:
    found = judged("never_lifted", None, 0.0809, "share", Band(high=0.0))
    assert (figure_words(found, good(), "si"), band_words(found, good(), "si")) == ("8.09 %", "none")
    missing = finding("no_longest_run", "days", math.inf, Band(low=432_000.0, high=1_209_600.0))
    assert (figure_words(missing, good(), "si"), band_words(missing, good(), "si")) == ("none", "5 to 14 d")


def test_solids_are_said_as_the_case_says_them() -> None:
    """By hand: 1.82 g/m3 at 1.4 g/m3 per NTU are 1.3 NTU."""
    found = finding("solids_before_wash", "solids", 2.1, Band(high=1.82))
    turbid = replace(good(), feed=replace(good().feed, turbidity_ratio=1.4))
    assert (figure_words(found, turbid, "us"), band_words(found, turbid, "us")) == ("1.5 NTU", "at most 1.3 NTU")
    assert (figure_words(found, good(), "si"), band_words(found, good(), "si")) == ("2.1 mg/L", "at most 1.82 mg/L")


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
        json.dumps(finding_json(finding), allow_nan=False)
        assert finding.value is None or not math.isnan(finding.value)
        figure_words(finding, case, "us")
        band_words(finding, case, "si")


def test_grains_that_are_carried_away_are_told_in_words() -> None:
    """A bed of the finest sand in a wash of metres a second has no height."""
    wild = good(stages=(stage(steps=(replace(WASH, flow=5.0), RINSE)),), drain=None)
    heights = [each for each in told(wild) if each.name == "freeboard"]
    assert [(each.level, finding_json(each)["value"]) for each in heights] == [("stop", None)]
    assert figure_words(heights[0], wild, "si") == "the grains are carried away"
