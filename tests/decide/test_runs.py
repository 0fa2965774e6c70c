"""Runs of a study: counted, told as they go on, kept in a file, and not more of them than are needed."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.study.decide.advice import SCOUTS, Advice, Wishes, advise, searching
from sim.study.decide.limits import Limit
from sim.study.decide.trials import Bench, Phase
from sim.study.many.study_file import study_file
from sim.study.many.workers import local
from sim.tell.decision.phase_words import phase_words
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
