"""Sentences on many runs: a difference is told where its interval supports it and nowhere else."""

from dataclasses import replace

import pytest

from sim.case.records import Case
from sim.study.many.leading import leaders
from sim.study.many.outcome import Outcome
from sim.study.many.repeat import Repeated, repeat
from sim.study.many.workers import Crew, Here
from sim.tell.comparison.first_screen import screen_of_many
from sim.tell.comparison.many_rows import row, rows
from sim.tell.comparison.many_words import of_the_runs, simulated
from sim.tell.kpis import KPIS, RISK
from sim.weather.streams import stream
from tests.many.made import case_of, noisy, with_every


def found(case: Case, replicates: int = 50) -> Repeated:
    return repeat(case, Crew(Here, 1), replicates=replicates, run=noisy)


def own_weather(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """Hours over the limit that differ from policy to policy by chance alone."""
    made = noisy(case, policy, seed, replicate)
    hours = float(stream(f"weather of {policy}", seed=seed, replicate=replicate).gamma(4.0, 12.0))
    return replace(made, site={**made.site, "over_limit_h": hours})


def test_the_same_policy_twice_is_the_same_in_every_run() -> None:
    told = found(case_of())
    line = "“one” and “two” come to the same, since each starts its washes at the same hours; they are not ranked."
    assert line in screen_of_many(told, "si").answer
    assert leaders(told, "over_limit_h", "less") == ("one", "two")
    assert row(told, RISK, "si").best == frozenset()


def test_a_difference_that_the_runs_show_is_told_with_its_interval() -> None:
    told = replace(found(with_every(replace(case_of(), today="one"), 6.0, "two")), uncertain=True)
    sentences = screen_of_many(told, "si").answer
    drain = told.pair("one", "two", "drain_m3")
    assert drain is not None
    assert drain.difference.mean == pytest.approx(4.0 * (365 / 4 - 365 / 6))  # 122 m3, the same in every run
    saved = f"On average this way saves {drain.difference.mean:.0f} m3 of water to drain"
    assert any(saved in each for each in sentences)
    over = told.pair("two", "one", "over_limit_h")
    assert over is not None
    assert over.difference.low is not None
    assert over.difference.high is not None
    low, high = over.difference.low, over.difference.high
    assert (low + high) / 2.0 == pytest.approx(2.0, abs=0.12)  # 2 h, of sd 0.4 in 50 runs: t(0.975, 49) = 2.01
    assert (high - low) / 2.0 == pytest.approx(2.01 * 0.4 / 50**0.5, rel=0.2)
    assert row(told, KPIS["drain_m3"], "si").best == {1}
    assert row(told, KPIS["over_limit_h"], "si").best == {0}


def test_no_difference_is_marked_at_nobody() -> None:
    told = repeat(case_of(), Crew(Here, 1), replicates=50, run=own_weather)
    assert row(told, KPIS["over_limit_h"], "si").best == frozenset()
    assert leaders(told, "over_limit_h", "less") == ("one", "two")


def test_two_that_share_the_lead_are_marked_together() -> None:
    case = with_every(case_of(("one", "two", "far")), 30.0, "far")
    told = repeat(case, Crew(Here, 1), replicates=50, run=noisy)
    assert leaders(told, "over_limit_h", "less") == ("one", "two")
    assert row(told, KPIS["over_limit_h"], "si").best == {0, 1}


def test_means_carry_half_of_their_interval_and_the_risk_the_whole() -> None:
    told = found(case_of())
    mean = told.mean("one", "over_limit_h")
    assert mean is not None
    assert mean.half is not None
    assert row(told, KPIS["over_limit_h"], "si").texts[0] == f"{mean.mean:.1f} ±{mean.half:.1f}"
    assert row(told, KPIS["treated_m3"], "us").texts[0] == "10,570,000"  # 40,000 m3 at 3.785411784 L/gal
    risk = told.risk("one")
    assert risk is not None
    assert risk.low is not None
    assert row(told, RISK, "si").texts[0].startswith(f"{100 * risk.mean:.0f} (")
    labels = {line.label: line.kpi.under for group in rows(told, "si") for line in group}
    assert labels["years with more than allowed, %"]
    assert "capacity unused at the wash, %" not in labels  # no run has it
    assert "years with more than allowed, %" not in [
        line.label for group in rows(told, "si", "filter") for line in group
    ]


def test_the_table_counts_the_years() -> None:
    told = found(with_every(case_of(), 6.0, "two"))
    screen = screen_of_many(told, "si")
    over = {way: told.over(way) for way in told.figures.policies}
    (counts,) = (row[1:] for row in screen.table.rows if row[0] == "years over for more than 24 h")
    for head, count in zip(screen.table.columns[1:], counts, strict=True):
        years = over[head.head.removesuffix(" (today)")]
        assert years is not None
        assert count == f"{int(years.sum())} of 50"


@pytest.mark.parametrize(
    ("case", "uncertain", "said"),
    [
        (case_of(allowed_h=None), True, "set allowed_over_limit under [run], the hours over the limit"),
        (case_of(days=90.0), True, "that takes runs of a year or more, and a limit"),
        (case_of(), False, "nothing in this case is random"),
    ],
)
def test_remarks(case: Case, uncertain: bool, said: str) -> None:
    told = of_the_runs(replace(found(case, 5), uncertain=uncertain))
    assert said in " ".join(told).lower()


def test_one_run_is_no_plural() -> None:
    assert simulated(found(case_of(days=366.0), 1)) == "1 run of 366 days, the same water for every way"
    assert simulated(found(case_of(days=30.0), 2)) == "2 runs of 30 days, the same water for every way"
