"""What a person sees of a study while it goes on, by a clock of our own."""

import pytest

from plots.words import Name, label
from sim.cli.progress import FIRST, OFTEN, Phases

WAY = label("phase.searching", place=2, count=4, way=Name("meter"))


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr("sim.cli.progress.monotonic", clock)
    return clock


def test_a_first_answer_waits_and_a_better_one_replaces_it(clock: Clock) -> None:
    said: list[str] = []
    shown = Phases(said.append, None)
    shown.so_far("one")
    shown.so_far("two")
    assert not said
    clock.now = FIRST + 0.1
    shown.runs(3, 0)
    shown.runs(4, 0)
    assert said == ["two"]
    shown.so_far("three")
    assert said == ["two", "three"]


def test_without_a_terminal_a_line_now_and_then_says_what_is_left(clock: Clock) -> None:
    """Two of five parts took 60 s each: three more take 180 s."""
    said: list[str] = []
    shown = Phases(said.append, None)
    for place in range(1, 4):
        clock.now = 60.0 * (place - 1)
        shown.phase(label("phase.searching", place=place, count=5, way=Name("meter")), "searching", place, 5)
    shown.runs(70, 0)
    clock.now += OFTEN + 1.0
    shown.runs(80, 0)
    assert said[-1] == "searching 3 of 5: meter; 80 runs done in 141 s, about 3 min left of this part"
    told = len(said)
    clock.now += OFTEN / 2.0
    shown.runs(90, 0)
    assert len(said) == told
