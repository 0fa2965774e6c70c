"""What the figures of the site do not tell: a stage before the last over its limit, a switch that never acts."""

from dataclasses import replace

from sim.case.trigger_records import Calendar, Policy, Pressure
from sim.plant.records import Cause
from sim.study.answer import answer
from sim.study.remarks import earlier_stage, idle_switches
from sim.study.verdict import verdicts
from tests.study.made import FIGURES, POLICIES, made_case, made_results

STAGES = ("media", "carbon")


def test_the_stage_before_the_last_that_is_longest_over_its_limit_is_named() -> None:
    results = made_results(stages=STAGES)
    clean = FIGURES | {"breach_h": (0.0,) * 4, "breach_runs": (0.0,) * 4}
    last = made_results(clean, stages=STAGES)
    mixed = tuple(
        replace(low, stages={"media": high.stages["media"], "carbon": low.stages["carbon"]})
        for low, high in zip(last, results, strict=True)
    )
    told = earlier_stage(mixed, "si")
    assert "stage media is over its own limit for 193 h with calendar, in 93 % of its filter runs" in told
    assert answer(mixed, "si").endswith(told)
    assert "Time over the limit after the last filter: 0 h with every one." in answer(mixed, "si")
    assert "0 h over the limit after the last filter" in verdicts(mixed, "si")[0]
    assert earlier_stage(last, "si") == ""
    assert earlier_stage(made_results(), "si") == ""
    assert "last filter" not in answer(made_results(), "si")


def test_a_switch_that_started_no_wash_is_told_with_what_it_saw_and_what_washed_instead() -> None:
    switch = Pressure(above=31_000.0, hold=60.0, longest_run=604_800.0)
    calendar = Calendar(every=345_600.0, at=10_800.0)
    case = made_case()
    triggers = [calendar, calendar, calendar, switch]
    case = replace(
        case,
        policies=tuple(Policy(name=n, triggers=(("filter", t),)) for n, t in zip(POLICIES, triggers, strict=True)),
    )
    results = list(made_results())
    by_longest_run = results[3].runs[0]._replace(cause=Cause.LONGEST_RUN)
    results[3] = replace(results[3], runs=(by_longest_run, by_longest_run))
    (told,) = idle_switches(case, results, "si")
    # Rounded by the larger of the two: 31.0 and 14.3 kPa.
    assert told == (
        "pressure drop: the switch of filter, set at 31.0 kPa, never acted; the pressure drop came to 14.3 kPa at "
        "most. What washed it: longest run (2)."
    )
    results[3] = replace(results[3], runs=(by_longest_run._replace(cause=Cause.PRESSURE),))
    assert idle_switches(case, results, "si") == ()
