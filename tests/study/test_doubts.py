"""What would change a reader's mind, each found in a plant that has it, by hand, and in none that has not."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from sim.case.load import load_case
from sim.case.series.records import Seasonal
from sim.case.stage.records import Stage
from sim.case.train.records import Lines, Pump, Washing
from sim.case.trigger.records import Policy, Pressure, Trigger, Volume, VolumeReserve
from sim.case.wash.records import Supply
from sim.plant.records import Cause
from sim.review.bearable import bearable
from sim.review.site import site_of
from sim.study.compare import Comparison, compare
from sim.study.decide.advice import Wishes, advise
from sim.study.decide.doubts_of_settings import doubts_of as doubts_of_advice
from sim.study.decide.trials import Bench
from sim.study.doubts import (
    NAMES,
    BeyondPressure,
    CannotKeep,
    Doubt,
    IdleSwitch,
    OnlyLongestRun,
    RoundedInterval,
    SameResult,
    SetBelowClean,
    ShortWash,
    SolidsOnly,
    doubts,
)
from sim.study.many.doubts_of_many import doubts_of
from sim.study.many.repeat import repeat
from sim.study.many.workers import Crew, Here, local
from sim.tell.comparison.doubt_words import first_words, other_words, same_words
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.decision.advice_words import foremost, remarks
from sim.tell.decision.decision_json import advice_json
from tests.decide.steady import steady as steady_case
from tests.plant.builders import BACKWASH, DAY, FILTER, HOUR, M3_H, Calendar, feed, make_case, policy, train
from tests.review.made import all_of
from tests.study.made import POLICIES, made_case, made_results

NIGHTLY = Calendar(every=2 * DAY, at=3 * HOUR)
NEVER = Volume(volume=1e6, at=None)
BY_AGE = replace(NEVER, longest_run=2 * DAY)
GIVES_12 = Supply(flows=(0.0, 12 * M3_H), pressures=(4e5, 4e5), pipe=None, shared_with_service=False, others=0.0)


def compared(*triggers: Trigger, stage: Stage = FILTER, **given: Any) -> Comparison:
    """Policies "a", "b" ... with these triggers, run for ten days."""
    names = "abcdef"[: len(triggers)]
    own = tuple(policy(name, each, stages=(stage,)) for name, each in zip(names, triggers, strict=True))
    return compare(make_case(**{"stages": (stage,), "policies": own, "days": 10.0, **given}))


def found(comparison: Comparison, kind: type[Doubt]) -> list[Any]:
    return [each for each in doubts(comparison.case, comparison.results) if isinstance(each, kind)]


def told(comparison: Comparison) -> str:
    found = doubts(comparison.case, comparison.results)
    return " ".join((*first_words(found), *same_words(found), *other_words(found, "si")))


def test_of_a_plant_that_has_none_of_it_nothing_is_told() -> None:
    plain = compared(NIGHTLY, Pressure(above=10e3, hold=0.0))
    assert doubts(plain.case, plain.results) == ()
    assert plain.to_json()["doubts"] == []


def test_a_wash_that_reaches_12_of_17_m3_h() -> None:
    short = compared(NIGHTLY, NEVER, supply=GIVES_12)
    (doubt,) = found(short, ShortWash)
    assert (doubt.policy, doubt.stage, doubt.fraction) == ("a", "filter", pytest.approx(12.0 / 17.0))
    assert "With “a”, washes of filter fall short of the flow asked for (down to 71 % of it):" in told(short)
    assert short.results[0].site["wash_short_fraction"] == pytest.approx(12.0 / 17.0)
    assert short.results[1].site["wash_short_fraction"] is None, "never washed"


def test_a_rinse_behind_a_closed_stage_gets_nothing() -> None:
    """Two stages washed at one hour on lines for both: the rinse of the second finds the first closed."""
    stages = train("first", "second")
    together = Washing(together="share", lines=Lines(supply=2, raw=2, drain=2))
    own = (policy("a", NIGHTLY, stages=stages),)
    (result,) = compare(make_case(stages=stages, policies=own, days=3.0, washing=together)).results
    assert [result.stages[name]["wash_short_fraction"] for name in ("first", "second")] == [1.0, 0.0]
    assert result.wash_flows["second"] == (BACKWASH.flow, 0.0)


FALLING = replace(GIVES_12, pressures=(6e5, 5e5))
BOUNDS = [
    (8e5, {}, 4e5, "usual supply"),
    (None, {}, 4e5, "usual supply"),
    (3e5, {}, 3e5, "rating"),
    (8e5, {"supply": replace(FALLING, shared_with_service=True)}, 6e5 - 1e5 * 5.5 / 12, "shared line"),
    (8e5, {"supply": FALLING}, 4e5, "usual supply"),
    (8e5, {"pump": Pump(flows=(0.0, 1.0), pressures=(7e5, 5e5), delivery=2e5, other_loss=0.0)}, 5e5, "pump"),
]
"""Rating, what drives the service, the most by hand (at the 5.5 m3/h of the made case), and what bounds it."""


@pytest.mark.parametrize(("rating", "given", "most", "bound"), BOUNDS)
def test_what_bounds_a_pressure_drop(rating: float | None, given: dict[str, Any], most: float, bound: str) -> None:
    stage = replace(FILTER, vessel=replace(FILTER.vessel, pressure_rating=rating))
    assert bearable(site_of(make_case(stages=(stage,), **given)), stage) == (pytest.approx(most), bound)


def test_a_peak_beyond_what_is_possible() -> None:
    """195 and 1,814 kPa of a vessel for 150: both are named, with what bounds them; at 149 nobody."""
    results = made_results()
    peaks = dict(zip(POLICIES, (195.0, 149.0, 1814.0, 20.0), strict=True))
    case = made_case()
    weak = replace(case.stages[0], vessel=replace(case.stages[0].vessel, pressure_rating=150e3))
    case = replace(case, stages=(weak,))
    results = tuple(
        replace(each, stages={"filter": each.stages["filter"] | {"peak_dp_kpa": peaks[each.policy]}})
        for each in results
    )
    beyond = [each for each in doubts(case, results) if isinstance(each, BeyondPressure)]
    assert [(each.policy, each.peak_kpa, each.most_kpa, each.bound) for each in beyond] == [
        ("calendar", 195.0, 150.0, "rating"), ("volume with reserve", 1814.0, 150.0, "rating"),
    ]  # fmt: skip
    (line,) = other_words(beyond, "si")
    assert line == (
        "The pressure drop of filter reaches 195 kPa (“calendar”) and 1,810 kPa (“volume with reserve”), "
        "beyond the 150 kPa that its vessel is rated for: no plant runs like that."
    )
    # 1 psi = 6.894757 kPa: NIST SP 811, appendix B.
    assert "28.3 psi (“calendar”) and 263 psi (“volume with reserve”)" in other_words(beyond, "us")[0]


def test_a_set_point_below_the_clean_bed_in_the_coldest_water() -> None:
    """Ergun by hand at 5 degC (1.5182 mPa s, 999.97 kg/m3: IAPWS) and the largest flow, 5.5 m3/h over 0.456 m2."""
    rate, clean = 5.5 * M3_H / FILTER.vessel.area, 0.0
    for layer in FILTER.layers:
        grain, e = layer.size * layer.sphericity, layer.porosity
        clean += layer.depth * 150.0 * 1.5182e-3 * rate * (1.0 - e) ** 2 / (e**3 * grain**2)
        clean += layer.depth * 1.75 * 999.97 * rate**2 * (1.0 - e) / (e**3 * grain)
    seasonal = replace(feed(5.0), temperature=Seasonal(mean=15.0, swing=10.0, peak_day=200))
    below, above = (Pressure(above=factor * clean, hold=0.0, longest_run=DAY) for factor in (0.999, 1.001))
    both = compared(below, above, feed=seasonal, days=0.01)
    (doubt,) = found(both, SetBelowClean)
    assert (doubt.policy, doubt.set_kpa) == ("a", pytest.approx(0.999e-3 * clean))
    assert doubt.clean_kpa == pytest.approx(1e-3 * clean, rel=1e-4)
    assert "“a”: the set point of filter (" in told(both)
    assert ") is not above the pressure drop of its clean bed (" in told(both)


def test_a_switch_that_started_no_wash_is_told_with_what_it_saw_and_what_washed_instead() -> None:
    switch = Pressure(above=31_000.0, hold=60.0, longest_run=604_800.0)
    case, calendar = made_case(), Calendar(every=345_600.0, at=10_800.0)
    triggers = [calendar, calendar, calendar, switch]
    case = replace(
        case,
        policies=tuple(Policy(name=n, triggers=(("filter", t),)) for n, t in zip(POLICIES, triggers, strict=True)),
    )
    results = list(made_results())
    longest = results[3].runs[0]._replace(cause=Cause.LONGEST_RUN)
    shares = results[3].stages["filter"] | {"pressure_share": 0.0, "longest_run_share": 1.0}
    results[3] = replace(results[3], runs=(longest, longest), stages={"filter": shares})
    idle = [each for each in doubts(case, results) if isinstance(each, IdleSwitch | OnlyLongestRun)]
    assert [type(each) for each in idle] == [IdleSwitch, OnlyLongestRun]
    # Rounded by the larger of the two: 31.0 and 14.3 kPa. The second fact is in the first line already.
    assert other_words(idle, "si") == (
        "“pressure drop”: the pressure switch of filter, set at 31.0 kPa, starts no wash here: the pressure "
        f"drop reaches 14.3 kPa at most. What started its washes: {Cause.LONGEST_RUN.value} (2 washes).",
    )
    assert not [each for each in doubts(case, made_results()) if isinstance(each, IdleSwitch)]


def test_a_way_that_only_the_longest_run_decides() -> None:
    """A volume that is never reached: washed every two days all the same. 150 m3 are treated in less than two."""
    aged = compared(BY_AGE, NIGHTLY, replace(BY_AGE, volume=150.0))
    assert found(aged, OnlyLongestRun) == [OnlyLongestRun(policy="a", stage="filter")]
    assert "With “a”, only the longest run started washes of stage filter" in told(aged)
    assert [each.site["longest_run_share"] for each in aged.results] == [1.0, 0.0, 0.0]


@pytest.mark.parametrize(("every", "days"), [(0.25, 1), (1.0, 1), (1.5, 2), (2.0, 2), (6.9, 7)])
def test_the_hour_of_a_calendar_rounds_its_interval_up(every: float, days: int) -> None:
    """The run, the comparison and the review say the same."""
    case = compared(Calendar(every=every * DAY, at=3 * HOUR), days=15.0)
    starts = [run.end_s for run in case.results[0].runs if run.cause is not None]
    assert {round((after - before) / DAY, 9) for before, after in pairwise(starts)} == {days}
    looks = all_of(case.case, "rounded_interval")
    if every == days:
        assert (found(case, RoundedInterval), looks) == ([], [])
        return
    (rounded,), (look,) = found(case, RoundedInterval), looks
    assert rounded.interval_s == look.value == days * DAY
    assert (rounded.every_s, look.band.high, rounded.at_s) == (every * DAY, every * DAY, 3 * HOUR)


def test_six_hours_are_a_day_in_words() -> None:
    case = compared(Calendar(every=6 * HOUR, at=3 * HOUR), days=2.0)
    assert "“a”: filter is washed every 1 d, not every 6 h, since each wash waits for 03:00." in told(case)


def test_ways_that_come_to_the_same_are_not_ranked() -> None:
    aged = compared(BY_AGE, Pressure(above=1e6, hold=0.0, longest_run=2 * DAY))
    assert found(aged, SameResult) == [SameResult(policies=("a", "b"), why="longest run")]
    line = "“a” and “b” come to the same, since the longest run alone starts every wash; they are not ranked."
    assert same_words(doubts(aged.case, aged.results)) == (line,)
    text = screen_of_one(aged, "si").answer
    assert line in text
    assert not any("Take" in each or "saves" in each for each in text)
    idle = compared(NEVER, replace(NEVER, volume=2e6))
    assert [each.why for each in found(idle, SameResult)] == ["no wash"]
    # 5.5 m3/h for 16 h and 1.8 for 8 are 102.4 m3 a day: of 200 less than 100 are left by the second night.
    reserve = VolumeReserve(volume=250.0, reserve=100.0, at=3 * HOUR)
    nights = compared(NIGHTLY, reserve, NEVER)
    assert found(nights, SameResult) == [SameResult(policies=("a", "b"), why="same times")]


def test_a_stage_whose_chemistry_is_not_followed_takes_no_part() -> None:
    carbon = replace(FILTER, layers=(replace(FILTER.layers[0], medium="carbon"), FILTER.layers[1]))
    case = compared(NIGHTLY, stage=carbon)
    assert found(case, SolidsOnly) == [SolidsOnly(stage="filter", media=("carbon",))]
    assert "Stage filter only filters solids here: its chemistry has no part in" in told(case)


def over_all_the_time(**given: Any) -> Comparison:
    """Of 5 mg/L a fifth passes every bed: 1 mg/L, over the limit of 0.5 whenever water flows to service."""
    return compared(NIGHTLY, Calendar(every=4 * DAY, at=3 * HOUR),
                    stage=replace(FILTER, unfilterable=0.2), **given)  # fmt: skip


def test_a_limit_that_no_washing_keeps_comes_first() -> None:
    case = over_all_the_time()
    fewest = min(case.results, key=lambda each: each.site["over_limit_h"] or 0.0)
    hours = 240.0 - (fewest.site["downtime_h"] or 0.0)
    (doubt,) = found(case, CannotKeep)
    assert doubt.over_h == doubt.unavoidable_h == pytest.approx(hours, rel=1e-9)
    assert doubt.policy == fewest.policy
    line = "Stage filter cannot keep its limit: 239 of 239 hours over it in 10 days are unavoidable "
    assert screen_of_one(case, "si").answer[0].startswith(f"{line}(“{doubt.policy}” has the fewest)")
    assert [each.site["breakthrough_risk"] for each in case.results] == [0.0, 0.0]


def test_a_limit_that_one_of_them_keeps_can_be_kept() -> None:
    """Unavoidable hours of one policy say nothing where another is over the limit for fewer, avoidable ones."""
    case, results = made_case(), list(made_results())
    for place, (over, unavoidable) in enumerate([(10.0, 9.0), (2.0, 0.5), (0.0, 0.0), (50.0, 9.0)]):
        own = results[place].stages["filter"] | {"over_limit_h": over, "over_limit_unavoidable_h": unavoidable}
        results[place] = replace(results[place], stages={"filter": own})
    assert not [each for each in doubts(case, results) if isinstance(each, CannotKeep)]
    assert [each.policy for each in doubts(case, results[:1]) if isinstance(each, CannotKeep)] == ["calendar"]


def test_a_year_is_called_a_year() -> None:
    doubt = CannotKeep(policy="meter", stage="bed", unavoidable_h=1117.0, over_h=1117.2, days=365.0)
    assert "1,117 of 1,117 hours a year over it are unavoidable" in first_words([doubt])[0]


def test_many_runs_have_the_doubts_of_one() -> None:
    aged = compared(BY_AGE, Pressure(above=1e6, hold=0.0, longest_run=2 * DAY))
    for one in (over_all_the_time(supply=GIVES_12), aged):
        many = repeat(one.case, Crew(Here, 1), replicates=2)
        single, every = doubts(one.case, one.results), doubts_of(many)
        assert [type(each) for each in every] == [type(each) for each in single]
        assert [(each.policy, each.stage) for each in every if isinstance(each, IdleSwitch | ShortWash)] == [
            (each.policy, each.stage) for each in single if isinstance(each, IdleSwitch | ShortWash)
        ]
    assert first_words(doubts_of(many)) == ()


def test_a_decision_on_a_bed_that_cannot_keep_its_limit_says_so_first(tmp_path: Path) -> None:
    """Of 10 mg/L six in ten pass every bed, over the limit of 5 at all times in service."""
    path = steady_case(tmp_path, days=14)
    text = path.read_text(encoding="utf-8").replace("unfilterable = 0.0", "unfilterable = 0.6")
    path.write_text(text, encoding="utf-8")
    case = load_case(path)
    with local(1) as crew:
        advice = advise(Bench(path=path, case=case, crew=crew, seed=1, replicates=1), Wishes(coarse=True))
    first = foremost(advice)[0]
    assert first.startswith("Stage sand cannot keep its limit: ")
    assert "hours a year over it are unavoidable" in first
    assert "limit cannot be kept" in [each["doubt"] for each in advice_json(advice, None, None)["doubts"]]
    assert not [each for each in remarks(advice, "si") if "cannot keep" in each]
    assert {type(each) for each in doubts_of_advice(advice)} <= set(NAMES)
