"""How far figures spread over ranges, which constants move them most, what to measure: by hand on made-up runs."""

import math
from pathlib import Path

import pytest

from plots.words import term
from plots.words.catalogue import found
from sim.case.load import load_case
from sim.study.compare import compare
from sim.study.many.workers import local
from sim.study.over_ranges import At, End, OverRanges
from sim.study.ranking import range_test
from sim.tell.comparison.range_json import over_json
from sim.tell.comparison.range_words import ranges_told
from sim.tell.review.measurements import measurement, settling
from tests.study.test_ranking import METER_AND_GAUGE, case_file

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
LEAST = {"over_limit_h": 0.5, "drain_m3": 1.0}
NTU, HOLDS, GAIN, TANKS = (
    "feed.solids_per_turbidity", "stage.a.layer.0.ultimate_deposit", "stage.a.layer.0.head_loss_gain",
    "stage.a.tanks",
)  # fmt: skip
MEASURED = tuple(term("measurement", each) for each in ("solids", "outlet", "pressure"))


def at(key: str, end: End, clock: tuple[float, float], gauge: tuple[float, float], *kept: str) -> At:
    """Water to drain and hours over the limit of two ways."""
    shown = {name: dict(zip(("drain_m3", "over_limit_h"), of, strict=True)) for name, of in
             (("clock", clock), ("gauge", gauge))}  # fmt: skip
    return At(keys=tuple(key.split(" ")), end=end, shown=shown, kept=frozenset(kept))


TYPICAL = at("none", "low", (100.0, 2.0), (80.0, 0.0), "gauge")
OVER = OverRanges(
    typical=TYPICAL.shown,
    kept=TYPICAL.kept,
    limited=True,
    trials=(
        at(NTU, "low", (100.0, 0.0), (60.0, 0.0), "clock", "gauge"),
        at(NTU, "high", (100.0, 40.0), (110.0, 0.0), "gauge"),
        at(HOLDS, "low", (100.0, 22.0), (80.0, 3.0)),  # its high end cannot be run
        at(GAIN, "low", (100.0, 2.0), (75.0, 0.0), "gauge"),
        at(GAIN, "high", (100.0, 2.0), (85.0, 0.0), "gauge"),
        at(TANKS, "low", (100.0, 2.0), (80.5, 0.0), "gauge"),
        at(TANKS, "high", (100.0, 2.0), (80.0, 0.3), "gauge"),
        at(f"{NTU} {HOLDS}", "high", (100.0, 50.0), (120.0, 5.0)),
    ),
)


def test_the_spread_and_how_often_the_limit_is_kept_by_hand() -> None:
    """Nine runs each: the clock keeps the limit in one of them, the gauge in all but two."""
    assert OVER.runs == 9
    drain, hours = OVER.span("gauge", "drain_m3"), OVER.span("clock", "over_limit_h")
    assert drain is not None
    assert hours is not None
    assert (drain.low, drain.typical, drain.high) == (60.0, 80.0, 120.0)
    assert (hours.low, hours.typical, hours.high) == (0.0, 2.0, 50.0)
    assert (OVER.keeping("clock"), OVER.keeping("gauge")) == (1, 7)


def test_the_constants_that_move_it_most_by_hand() -> None:
    """The whole spread is 60 m3, less than the 100 m3 of the clock, and 50 h. Solids per NTU move 50 of 100 m3 and 40
    of 50 h, the deposit 20 of 50 h, the gain 10 of 100 m3; tanks move less than counts."""
    first, second, third = OVER.moves(LEAST)
    assert (first.key, first.way, first.figure) == (NTU, "clock", "over_limit_h")
    assert (first.at_low, first.typical, first.at_high) == (0.0, 2.0, 40.0)
    assert first.share == pytest.approx(0.8)
    assert (second.key, second.way, second.figure) == (HOLDS, "clock", "over_limit_h")
    assert second.share == pytest.approx(0.4)
    assert second.at_low == 22.0
    assert math.isnan(second.at_high)
    assert (third.key, third.share) == (GAIN, pytest.approx(0.1))
    assert settling((first, second, third)) == MEASURED
    assert [each.key for each in OVER.moves(LEAST, [GAIN])] == [GAIN, NTU, HOLDS], "what turns the answer comes first"


def test_a_change_counts_from_the_least_that_does() -> None:
    """Of water to drain the solids per NTU move 50 m3 and the gain 10: as much as counts, or too little."""
    assert [each.key for each in OVER.moves({"drain_m3": 10.0})] == [NTU, GAIN]
    assert [each.key for each in OVER.moves({"drain_m3": 10.5})] == [NTU]


def test_the_same_as_plain_data() -> None:
    told = over_json(OVER, OVER.moves(LEAST))
    assert told["runs_each"] == 9
    assert [(each["name"], each["keep_the_limit"]) for each in told["spread"]] == [("clock", 1), ("gauge", 7)]
    assert told["spread"][1]["figures"]["drain_m3"] == {"typical": 80.0, "low": 60.0, "high": 120.0}
    assert [(each["key"], each["at_low"], each["at_high"]) for each in told["moves"]] == [
        (NTU, 0.0, 40.0), (HOLDS, 22.0, None), (GAIN, 75.0, 85.0),
    ]  # fmt: skip
    assert told["measurements"] == list(MEASURED)


def test_every_constant_that_can_be_assumed_has_a_measurement() -> None:
    keys = {each.key for path in CASES for each in load_case(path).assumptions}
    assert len(keys) > 40
    others = ("stage.a.coagulated", "stage.a.head_loss.law", "stage.a.head_loss.valve")
    for key in (*keys, *found("terms.constant"), *others):
        assert measurement(key)


def test_a_comparison_tells_the_runs_of_its_ends(tmp_path: Path) -> None:
    """What stands in the table is the least and the most of the runs, each made again here."""
    path = case_file(tmp_path, METER_AND_GAUGE)
    case = load_case(path)
    with local(1) as crew:
        test = range_test(path, case, compare(case).results, crew)
    told = ranges_told(test, case, "si")
    assert told.spread is not None
    ends = {}
    for each in case.assumptions:
        for value in (each.low, each.high):
            unit = "" if each.unit == "-" else f" {each.unit}"
            setting = round(value) if each.key.endswith("tanks") else f"{value}{unit}"
            ends[each.key, value] = compare(load_case(path, {each.key: setting})).results[1].site["drain_m3"]
    span = test.over.span("gauge", "drain_m3")
    assert span is not None
    assert span.low <= min(ends.values())  # all of them together may go further
    assert span.high >= max(ends.values())
    density = max(test.moves, key=lambda each: each.share)
    assert density.key.endswith("deposit_density")
    known = [value for (key, _), value in ends.items() if key == density.key]
    assert sorted([density.at_low, density.at_high]) == pytest.approx(sorted(known))
    (first, *_, last) = told.change
    assert "deposit_density (solids in what fills the pores; assumed " in first
    assert " at its low end, " in first
    assert last.startswith("What would settle it (common practice): readings of pressure drop")
    texts = [row[-1] for row in told.spread.rows]
    assert texts == [f"{test.over.keeping(each)} of 9" for each in ("meter", "gauge")]
