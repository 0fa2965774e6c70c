"""A case's own faults: what they changed at a moment, their bands on a week's figure, their lines on the page."""

from dataclasses import replace
from math import inf
from pathlib import Path

import pytest

from plots.style import house_style
from plots.week import week_figure
from sim.case.fault.records import Fault, What
from sim.case.load import read_case
from sim.case.records import Case
from sim.plant.simulate import simulate
from sim.study.explain import explain
from sim.study.weeks import weeks
from sim.tell.faults.fault_words import fault_lines
from sim.tell.run.moment_words import paragraphs
from sim.tell.run.week_view import week_picture
from tests.cli.small import small_text

HOUR, DAY = 3600.0, 86_400.0
STUCK = Fault(what=What.METER_STUCK, stage="sand", start=79.0 * HOUR, end=inf)
CUT = Fault(what=What.POWER_CUT, stage=None, start=100.0 * HOUR, end=103.0 * HOUR, valve="frozen")


@pytest.fixture
def case() -> Case:
    return replace(read_case(small_text(), Path("small.toml"), {}), faults=(STUCK, CUT))


def test_explain_says_what_a_fault_has_changed(case: Case) -> None:
    """At 151 h the stuck meter has let the wash of 120.28 h, of 4.4 m3, go by."""
    told = explain(case, "by volume", 151.0 * HOUR)
    assert told.failed == (STUCK,)
    assert told.changed is not None
    assert told.changed.since_s == STUCK.start
    assert (told.changed.now["washes"], told.changed.then["washes"]) == (0, 1)
    assert told.changed.now["drain_m3"] == pytest.approx(0.0)
    assert told.changed.then["drain_m3"] == pytest.approx(4.4)
    said = " ".join(paragraphs(told, "si")[0].sentences)
    assert "Washes since 2027-03-04 07:00: 0; with nothing failing: 1." in said
    assert "Water to drain since 2027-03-04 07:00: 0 m3; with nothing failing: 4.40 m3." in said
    assert explain(case, "by volume", 70.0 * HOUR).changed is None


def test_the_week_has_a_band_for_each_fault(case: Case) -> None:
    result = simulate(case, "by volume")
    whole = weeks(case, "by volume")[0]
    week = week_picture(case, result, whole, "si")
    words = [(each.words, (each.end - each.start).total_seconds()) for each in week.faults]
    assert words == [("meter stuck", (7 * 24 - 79) * HOUR), ("power off, valves frozen", 3.0 * HOUR)]
    with house_style():
        drawn = [text.get_text() for text in week_figure(week).axes[0].texts]
    assert {"meter stuck", "power off, valves frozen"} <= set(drawn)
    before = week_picture(case, result, whole._replace(end_s=3.0 * DAY), "si")
    assert before.faults == ()


def test_a_line_for_each_fault(case: Case) -> None:
    assert fault_lines(case) == (
        "From 2027-03-04 07:00 on: meter stuck, sand.",
        "From 2027-03-05 04:00 until 2027-03-05 07:00: power cut, valves frozen, the whole site.",
    )
