"""Exact: what a case says of today's policy, of its longest runs and of what its water is for, in a decision."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.stage.longest_run import with_usual_longest_runs
from sim.case.trigger.records import Calendar
from sim.case.units import DAY
from sim.study.decide.advice import Wishes, advise, policy_of_today
from sim.study.decide.limits import Limit
from sim.study.decide.trials import Bench, Candidate
from sim.study.many.workers import Crew, Here
from sim.tell.decision.advice_words import remarks
from sim.tell.decision.decision_json import settings_of
from tests.decide.steady import steady

ROOT = Path(__file__).parents[2]
FOLDERS = ("cases", "sim/lessons", "sim/web/cases")
SHIPPED = sorted(path for folder in FOLDERS for path in (ROOT / folder).glob("*.toml"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_case_states_its_use_and_all_but_lessons_their_policy_of_today(path: Path) -> None:
    case = load_case(path)
    assert case.use is not None
    assert (case.today is None) == (path.parent.name == "lessons")


def bench_of(path: Path, **changes: object) -> Bench:
    case = replace(load_case(path), **changes)  # type: ignore[arg-type]
    return Bench(path=path, case=case, crew=Crew(Here, 1), seed=1, replicates=1)


def bare(folder: Path) -> Path:
    """The steady case without a longest run."""
    path = steady(folder, days=60)
    path.write_text(path.read_text(encoding="utf-8").replace('longest_run = "20 d"\n', ""), encoding="utf-8")
    return path


def test_today_is_asked_for_else_of_the_case_else_the_first_calendar_else_the_first(tmp_path: Path) -> None:
    case = load_case(steady(tmp_path))
    named, swapped = replace(case, today="pressure"), replace(case, policies=case.policies[::-1])
    assert policy_of_today(named, "volume").name == "volume"
    assert policy_of_today(named, None).name == "pressure"
    assert policy_of_today(swapped, None).name == "calendar"
    assert policy_of_today(replace(case, policies=case.policies[1:]), None).name == "volume"


def test_every_way_has_the_usual_longest_run_where_the_case_has_none(tmp_path: Path) -> None:
    """Sand, 10 d at the last 03:00: a calendar of 40 d washes on days 9, 19, 29, 39, 49 and 59 of 60."""
    bench = bench_of(bare(tmp_path))
    policy = replace(bench.case.policies[0], triggers=(("sand", Calendar(every=40 * DAY, at=3 * 3600.0)),))
    (seldom,) = bench.tried([Candidate(name="seldom", policy=policy)])
    assert seldom.mean("washes") == pytest.approx(6 * 365.25 / 60, rel=1e-3)
    usual = with_usual_longest_runs(bench.case)
    assert with_usual_longest_runs(usual) is usual
    assert usual.stages[0].longest_run == 10 * DAY


def test_it_is_named_as_common_practice_and_among_the_settings(tmp_path: Path) -> None:
    found = advise(bench_of(bare(tmp_path)), Wishes(limits=(Limit("pressure_kpa", 20.0),), coarse=True))
    assert found.chosen is not None
    assert found.chosen.best is not None
    assert settings_of(found, found.chosen, found.chosen.best)["stage.sand.longest_run"] == "10 d"
    told = remarks(found, "si")
    assert "Longest run of every way: sand 10 d." in told
    assert "The case gives no longest run of sand; the usual one is taken, which is common practice." in told


@pytest.mark.parametrize("use", ["food", "drinking", None])
def test_where_water_may_be_drunk_nothing_tried_is_longer_than_at_present(tmp_path: Path, use: str | None) -> None:
    bench = bench_of(steady(tmp_path, days=14), use=use)
    found = advise(bench, Wishes(coarse=True, also=frozenset({"backwash", "rinse"})))
    for each in found.policies:
        for tried in each.tried:
            for knob, value in zip(each.knobs, tried.candidate.values, strict=True):
                assert value >= knob.present if knob.of_a_step else value <= knob.present
    assert any(each.endswith("no wash or rinse shorter than at present was tried.") for each in remarks(found, "si"))
