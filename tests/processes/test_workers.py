"""Work that is given up ends, whatever its workers are doing then."""

import time
from pathlib import Path

import pytest

from sim.study.many.workers import local

SIZE = 200_000_000  # bytes: a pipe takes far longer for these than for this test to go on


def large(mark: Path) -> bytes:
    """An answer that is long on its way; the mark is made just before."""
    answer = b"x" * SIZE
    mark.touch()
    return answer


def given_up(mark: Path, after: float) -> None:
    """Work that fails for another reason, some time after a worker has begun to answer [s]."""
    with local(2) as crew:
        crew.executor.submit(large, mark)
        while not mark.exists():
            time.sleep(0.001)
        time.sleep(after)
        raise ValueError("given up")


@pytest.mark.parametrize("after", [0.03, 0.06, 0.1, 0.15, 0.25])
def test_a_worker_that_is_ended_amid_its_answer_is_not_waited_for(tmp_path: Path, after: float) -> None:
    """At one of these moments half a message has come; the other half never does."""
    with pytest.raises(ValueError, match="given up"):
        given_up(tmp_path / "mark", after)
