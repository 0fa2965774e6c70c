"""Sentences on many runs: a difference is told where its interval supports it and nowhere else."""

import re
from dataclasses import replace

import pytest

from sim.case.records import Case
from sim.study.many.leading import leaders
from sim.study.many.outcome import Outcome
from sim.study.many.repeat import Repeated, repeat
from sim.study.many.workers import Crew, Here
from sim.tell.comparison.many_rows import row, rows
from sim.tell.comparison.many_words import answer, remarks, runs_words, verdicts
from sim.tell.kpis import KPIS, RISK
from sim.weather.streams import stream
from tests.many.made import case_of, noisy, with_every


def found(case: Case, replicates: int = 50) -> Repeated:
    return repeat(case, Crew(Here, 1), replicates=replicates, run=noisy)


def own_weather(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """Hours over the limit that differ from policy to policy by chance alone."""
    made = noisy(case, policy, seed, replicate)
    hours = float(stream(f"weather of {policy}", seed=seed, replicate=replicate).gamma(4.0, 12.0))
    return replace(made, site={**made.site, "breach_h": hours})


def test_the_same_policy_twice_is_the_same_in_every_run() -> None:
    sentences = answer(found(case_of()), "si")
    assert "Time over the limit: the same in every run." in sentences
    assert "Risk of a year with more than allowed: the same in every run." in sentences
    assert not any("Least" in sentence for sentence in sentences)


def test_a_difference_that_the_runs_show_is_told_with_its_interval() -> None:
    told = found(with_every(case_of(), 6.0, "two"))
    over, drain, *_ = answer(told, "si")
    assert over.startswith("Least time over the limit: one, ")
    interval = re.search(r"less than the next, two \(95 %: ([\d.]+) to ([\d.]+)\)\.$", over)
    assert interval is not None
    low, high = map(float, interval.groups())
    assert (low + high) / 2.0 == pytest.approx(2.0, abs=0.12)  # 2 h, of sd 0.4 in 50 runs: t(0.975, 49) = 2.01
    assert (high - low) / 2.0 == pytest.approx(2.01 * 0.4 / 50**0.5, rel=0.2)
    assert drain == "Least water to drain: two, 122 m3 less than the next, one (in every run)."  # 4 (365/4 - 365/6)
    assert row(told, KPIS["drain_m3"], "si").best == {1}
    assert row(told, KPIS["breach_h"], "si").best == {0}


def test_no_difference_is_an_answer() -> None:
    told = repeat(case_of(), Crew(Here, 1), replicates=50, run=own_weather)
    assert answer(told, "si")[0] == "Time over the limit: no difference that 50 years can show."
    assert row(told, KPIS["breach_h"], "si").best == frozenset()
    assert (
        "no difference that 50 runs can show"
        in answer(repeat(case_of(days=60.0), Crew(Here, 1), replicates=50, run=own_weather), "si")[0]
    )


def test_two_that_share_the_lead_are_named_together() -> None:
    case = with_every(case_of(("one", "two", "far")), 30.0, "far")
    told = repeat(case, Crew(Here, 1), replicates=50, run=noisy)
    assert leaders(told, "breach_h", "less") == ("one", "two")
    assert answer(told, "si")[:2] == (
        "one and two come to the same, since each of them is met at the same hours; they are not ranked.",
        "Least time over the limit: one and two; 50 years show no difference between them, but more with others.",
    )


def test_means_carry_half_of_their_interval_and_the_risk_the_whole() -> None:
    told = found(case_of())
    mean = told.mean("one", "breach_h")
    assert mean is not None
    assert mean.half is not None
    assert row(told, KPIS["breach_h"], "si").texts[0] == f"{mean.mean:.1f} ±{mean.half:.1f}"
    assert row(told, KPIS["treated_m3"], "us").texts[0] == "10,570,000"  # 40,000 m3 at 3.785411784 L/gal
    risk = told.risk("one")
    assert risk is not None
    assert risk.low is not None
    assert row(told, RISK, "si").texts[0].startswith(f"{100 * risk.mean:.0f} (")
    labels = [line.label for group in rows(told, "si") for line in group]
    assert "  years with more than allowed, %" in labels
    assert "capacity unused at the wash, %" not in labels  # no run has it
    assert "  years with more than allowed, %" not in [
        line.label for group in rows(told, "si", "filter") for line in group
    ]


def test_a_verdict_counts_the_years() -> None:
    told = found(case_of())
    over = told.over("one")
    assert over is not None
    (first, _) = verdicts(told, "si")
    assert f"{int(over.sum())} of 50 years with more than 24 h over the limit that could have been avoided" in first


@pytest.mark.parametrize(
    ("case", "uncertain", "said"),
    [
        (case_of(allowed_h=None), True, "allowed_breach under [run] says what a year may have"),
        (case_of(days=90.0), True, "that takes runs of a year or more, and a limit"),
        (case_of(), False, "nothing in this case is random"),
    ],
)
def test_remarks(case: Case, uncertain: bool, said: str) -> None:
    told = remarks(replace(found(case, 5), uncertain=uncertain), "si")
    assert said in " ".join(told).lower()


def test_a_year_may_be_a_leap_year_and_one_is_no_plural() -> None:
    assert runs_words(found(case_of(days=366.0), 1)) == "1 year"
    assert runs_words(found(case_of(days=30.0), 2)) == "2 runs"
