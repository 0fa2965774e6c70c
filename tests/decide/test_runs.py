"""Runs of a study: counted, told as they go on, kept in a file, and not more of them than are needed."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.study.decide.advice import SCOUTS, Advice, Wishes, advise, searching
from sim.study.decide.limits import Limit, exceeded
from sim.study.decide.trials import Bench, Phase, Rough
from sim.study.many.study_file import study_file
from sim.study.many.workers import local
from sim.tell.decision.phase_words import phase_words
from sim.tell.decision.rough_words import rough_words
from tests.decide.steady import changeable, steady

REPLICATES = 12


def studied(path: Path, wishes: Wishes, replicates: int = 1, **more: object) -> tuple[Advice, Bench]:
    with local(1) as crew:
        bench = Bench(path=path, case=load_case(path), crew=crew, seed=1, replicates=replicates, **more)  # type: ignore[arg-type]
        return advise(bench, wishes), bench


def test_runs_are_told_as_one_rising_count_with_phases_by_name(tmp_path: Path) -> None:
    told: list[int] = []
    phases: list[Phase] = []
    path = steady(tmp_path, days=20)
    found, bench = studied(
        path, Wishes(coarse=True), progress=lambda done, goal: told.append(done), phase=phases.append
    )
    assert told == sorted(told)
    assert told[-1] == bench.tally.runs == found.runs
    assert found.runs == len(bench.known)  # nothing twice
    names = [each.name for each in load_case(path).policies]
    assert [phase_words(each) for each in phases if each.what == "searching"] == [
        f"searching {place} of {len(names)}: {name}" for place, name in enumerate(names, 1)
    ]


def test_rough_answers_come_after_each_search_and_get_no_worse(tmp_path: Path) -> None:
    """The first one is of the settings as the case has them; the last one lacks the search of the last way alone."""
    told: list[Rough] = []
    found, _ = studied(steady(tmp_path, days=20), Wishes(coarse=True), rough=told.append)
    assert [(each.number, each.count) for each in told] == [(1, 3), (2, 3), (3, 3)]
    as_they_are = [each.present for each in found.policies if not exceeded(found.limits, each.present, found.today)]
    first, *_, last = [each.tried for each in told]
    assert first is not None
    assert last is not None
    assert first.mean("cost") == min(each.mean("cost") for each in as_they_are)
    costs = [each.tried.mean("cost") for each in told if each.tried is not None]
    assert costs == sorted(costs, reverse=True)
    bests = {each.policy: each.best for each in found.policies}
    searched = [bests[name] for name in list(bests)[:2]]
    assert last.mean("cost") <= min(each.mean("cost") for each in searched if each is not None) * (1.0 + 1e-9)
    words = rough_words(told[0], found.case, "si")
    assert words.startswith(f"Rough, look 1 of 3: of what keeps the limits, “{told[0].way}” costs least so far, ")


def test_what_a_study_file_holds_is_not_run_again(tmp_path: Path) -> None:
    path, file = steady(tmp_path, days=20), tmp_path / "kept.study"
    with study_file(file) as kept:
        first, _ = studied(path, Wishes(coarse=True), kept=kept)

    before = file.stat().st_size
    with study_file(file) as kept:
        assert kept is not None
        count = kept.count()
        second, _ = studied(path, Wishes(coarse=True), kept=kept)
        assert kept.count() == count == first.runs
    assert second.policies[0].best is not None
    assert first.policies[0].best is not None
    assert second.policies[0].best.figures["cost"] == first.policies[0].best.figures["cost"]
    assert file.stat().st_size == before


@pytest.mark.long
def test_what_does_not_promise_is_tried_on_a_few_replicates_only(tmp_path: Path) -> None:
    """What promises is on the searching replicates, what is advised on all of the study's."""
    found, bench = studied(changeable(tmp_path), Wishes(limits=(Limit("over_limit_h", 40.0),)), REPLICATES)
    whole = searching(bench).replicates
    assert whole > SCOUTS
    searched = [len(one.figures["water"]) for each in found.policies for one in each.tried]
    assert set(searched) == {SCOUTS, whole}
    for each in found.policies:
        if each.best is not None:
            assert len(each.best.figures["water"]) == REPLICATES
    known = [len(one.figures["water"]) for one in bench.known.values()]
    assert found.runs == sum(known)
