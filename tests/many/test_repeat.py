"""Many runs summed up: what is the same is exactly the same, whoever ran it and whatever was on file."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from sim.case.records import Case
from sim.study.errors import Interrupted, RunFailure, StudyError
from sim.study.many.outcome import YEAR, Outcome, run_one
from sim.study.many.precision import Precision
from sim.study.many.repeat import RISK_KPI, repeat
from sim.study.many.study_file import StudyFile
from sim.study.many.workers import Crew, Here, local
from tests.many.made import MEAN, case_of, failing, noisy, with_every
from tests.plant.builders import DAY
from tests.weather.weathers import case_of as weather_case


def here() -> Crew:
    return Crew(Here, 1)


def text(found: Any) -> str:
    return json.dumps(found.to_json(), allow_nan=False)


def stormy(days: float = 30.0) -> Case:
    """A small plant under random weather, its policy under two names."""
    case = weather_case(days=days)
    (policy, *_) = case.policies
    return replace(case, policies=(policy, replace(policy, name="the same again")))


def test_a_policy_under_two_names_differs_by_exactly_nothing() -> None:
    case = stormy()
    found = repeat(case, here(), replicates=6)
    a, b = (policy.name for policy in case.policies)
    pairs = [pair for pair in found.pairs() if (pair.a, pair.b) == (a, b)]
    assert len(pairs) >= 5
    assert all(pair.difference == (0.0, 0.0, 0.0) and pair.variance == 0.0 for pair in pairs)
    solids = found.mean(a, "solids_in_kg")
    assert solids is not None
    assert solids.half is not None
    assert solids.half > 0.0  # and yet no two replicates are alike


def test_processes_give_the_bytes_of_one(tmp_path: Path) -> None:
    case = stormy()
    alone = repeat(case, here(), replicates=9)
    with local(2) as crew, StudyFile(tmp_path / "s.study") as kept:
        assert text(repeat(case, crew, replicates=9, kept=kept)) == text(alone)
        assert kept.count() == 18
        assert text(repeat(case, crew, replicates=9, kept=kept)) == text(alone)


def test_an_interrupted_study_says_what_is_kept_and_goes_on(tmp_path: Path) -> None:
    case, path = case_of(), tmp_path / "s.study"
    whole = text(repeat(case, here(), replicates=30, run=noisy))

    def stop(done: int, goal: int) -> None:
        if done >= 20:
            raise KeyboardInterrupt

    with StudyFile(path) as kept, pytest.raises(Interrupted) as stopped:
        repeat(case, here(), replicates=30, run=noisy, kept=kept, progress=stop)
    with StudyFile(path) as kept:
        count = kept.count()
        assert 20 <= count < 60
        assert f"{count} of 60 runs were done and are kept in {path}" in str(stopped.value)
        told: list[tuple[int, int]] = []
        again = repeat(case, here(), replicates=30, run=noisy, kept=kept, progress=lambda *each: told.append(each))
        assert (told[0], told[-1]) == ((count, 60), (60, 60))  # 30 runs of two policies
        assert text(again) == whole
    with pytest.raises(Interrupted, match="are lost, as no --study"):
        repeat(case, here(), replicates=30, run=noisy, progress=stop)


def test_what_is_on_file_is_used_and_only_for_the_same_question(tmp_path: Path) -> None:
    case = case_of(("one", "two"))

    def run(changed: Case, seed: int = 1, replicates: int = 5) -> int:
        """How many runs were not on file."""
        with StudyFile(tmp_path / "s.study") as kept:
            before = kept.count()
            repeat(changed, here(), seed=seed, replicates=replicates, run=noisy, kept=kept)
            return kept.count() - before

    assert run(case) == 10
    assert run(case) == 0
    assert run(replace(case, title="Another title", source_hash="1" * 64)) == 0
    assert run(case, replicates=7) == 4
    assert run(case, seed=2) == 10
    assert run(with_every(case, 5.0, "two")) == 5  # the other policy is as it was
    assert run(replace(case, demand=replace(case.demand, flow=replace(case.demand.flow, value=0.002)))) == 10


def test_a_changed_program_finds_nothing_on_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from sim.study.many import dispatch, identity, jobs

    with StudyFile(tmp_path / "s.study") as kept:
        repeat(case_of(), here(), replicates=3, run=noisy, kept=kept)
        for module in (dispatch, identity, jobs):
            monkeypatch.setattr(module, "program", lambda: "another program")
        repeat(case_of(), here(), replicates=3, run=noisy, kept=kept)
        assert kept.count() == 12


def test_a_worker_with_another_program_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    from sim.study.many import jobs

    monkeypatch.setattr(jobs, "program", lambda: "another program")
    with pytest.raises(StudyError, match="another version"):
        repeat(case_of(), here(), replicates=3, run=noisy)


def test_a_run_that_fails_is_named_and_the_others_are_kept(tmp_path: Path) -> None:
    with local(2) as crew, StudyFile(tmp_path / "s.study") as kept:
        with pytest.raises(RunFailure, match='run 4 of "one": at 86400 s of the run') as failed:
            repeat(case_of(), crew, replicates=8, run=failing, kept=kept)
        assert (failed.value.policy, failed.value.replicate) == ("one", 3)
        assert kept.count() % 2 == 0


def test_the_risk_is_told_only_where_it_can_be() -> None:
    with_limit = repeat(case_of(), here(), replicates=20, run=noisy)
    risk = with_limit.risk("one")
    assert risk is not None
    over = with_limit.figures.avoidable("one") > 24.0
    assert risk.mean == over.sum() / 20
    assert with_limit.to_json()["policies"][0]["site"][RISK_KPI] == risk.mean
    assert with_limit.to_json()["policies"][0]["interval"][RISK_KPI] == [risk.low, risk.high]
    assert with_limit.to_json()["policies"][0]["stages"]["filter"][RISK_KPI] is None
    for case, count in ((case_of(), 1), (case_of(days=364.0), 20), (case_of(allowed_h=None), 20)):
        found = repeat(case, here(), replicates=count, run=noisy)
        assert found.to_json()["policies"][0]["site"][RISK_KPI] is None
    long = repeat(case_of(days=3 * 365.0 + 9.0), here(), replicates=20, run=noisy).over("one")
    assert long is not None
    assert long.size == 60  # every whole year counts


def test_years_of_a_run_add_up_and_stopping_changes_nothing() -> None:
    case = stormy(days=400.0)
    policy = case.policies[0].name
    alone = run_one(case, policy, 1, 0)
    first = run_one(replace(case, run=replace(case.run, length=YEAR)), policy, 1, 0)
    assert len(alone.avoidable_h) == len(first.avoidable_h) == 1
    over, unavoidable = first.site["over_limit_h"], first.site["over_limit_unavoidable_h"]
    assert over is not None
    assert unavoidable is not None
    assert alone.avoidable_h == pytest.approx((over - unavoidable,), abs=1e-9)
    from sim.plant.simulate import simulate

    assert alone.site == simulate(case, policy).site
    assert case.run.length == 400.0 * DAY


def test_precision_runs_on_until_it_is_met_or_told() -> None:
    wish = Precision("over_limit_h", 0.05)
    met = repeat(case_of(), here(), replicates=20, at_most=2000, precision=[wish], run=noisy)
    mean = met.mean("one", "over_limit_h")
    assert mean is not None
    assert mean.half is not None
    assert mean.half <= 0.05 * mean.mean
    assert mean.mean == pytest.approx(MEAN, rel=0.1)
    assert 20 < met.figures.replicates < 2000
    assert met.missed == ()
    missed = repeat(case_of(), here(), replicates=20, at_most=50, precision=[wish], run=noisy)
    assert missed.figures.replicates == 50
    assert missed.to_json()["precision_missed"] == ["over_limit_h=0.05"]
    risk = repeat(case_of(), here(), replicates=20, at_most=2000, precision=[Precision("risk", 0.06)], run=noisy)
    assert 120 < risk.figures.replicates < 400  # 0.06 = 1.96 sqrt(0.2 * 0.8 / n) at n = 171


def test_means_do_not_depend_on_the_order_of_the_replicates() -> None:
    case = case_of()
    forwards = repeat(case, here(), replicates=12, run=noisy)

    def late(changed: Case, policy: str, seed: int, replicate: int) -> Outcome:
        return replace(noisy(changed, policy, seed, 11 - replicate), replicate=replicate)

    shuffled = repeat(case, here(), replicates=12, run=late)
    for key in ("over_limit_h", "solids_to_service_kg"):
        one, other = forwards.mean("one", key), shuffled.mean("one", key)
        assert one is not None
        assert other is not None
        assert (one.mean, one.half) == (other.mean, other.half)
