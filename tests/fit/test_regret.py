"""What a fit is worth to settings: how it is judged, and one plant of the bench."""

from dataclasses import asdict, replace
from pathlib import Path

import pytest

from sim.study.many.workers import local
from tests.fit.regret import FIRST_SEED, Judged, Outcome, outcome, plant_of, read, table

LEAST = Judged(way="a", values=(1.0,), more=0.0, excess=0.0)


def judged(more: float, excess: float = 0.0) -> Judged:
    return replace(LEAST, more=more, excess=excess)


def made(before: Judged, after: Judged) -> Outcome:
    return Outcome(
        seed=1, law="linear", decided=None, least=10.0, best=("a", (1.0,)), before=before, after=after,
        today=judged(0.5), seconds=1.0,
    )  # fmt: skip


def test_a_regret_is_more_water_or_what_is_over_a_limit() -> None:
    assert judged(0.2).regret == pytest.approx(0.2)
    assert judged(-0.3, 0.1).regret == pytest.approx(0.1), "water that a broken limit saves is no gain"


def test_a_bench_goes_on_from_its_file() -> None:
    one = made(judged(0.1), judged(0.0))
    assert read(asdict(one)) == one
    assert read(None) is None


def test_the_table_counts() -> None:
    """Regrets before are 10, 0 and 30 %, after it 0, 0 and 40 %: medians 10 and 0 %, smaller once, equal once."""
    found = [
        made(judged(0.1), judged(0.0)), made(judged(0.0), judged(0.0)), made(judged(-0.2, 0.3), judged(0.4)),
    ]  # fmt: skip
    text = table(found)
    assert "| before | 10.0% | 30% | 1 of 3 |" in text
    assert "| after | 0.0% | 40% | 0 of 3 |" in text
    assert "Smaller after the fit in 1 of 3, equal in 1 (to none in 1), greater in 1." in text


@pytest.mark.long
def test_a_plant_whose_log_brings_its_best_settings(tmp_path: Path) -> None:
    """As the recorded bench has it: settings before the fit drain a tenth more than need be."""
    with local(1) as crew:
        found = outcome(plant_of(FIRST_SEED + 1, tmp_path), tmp_path, crew)
    assert found is not None
    assert found.after.regret < 0.05 < found.before.regret
    assert found.today.regret > found.before.regret
