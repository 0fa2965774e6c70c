"""Random trains in which anything fails at any moment: books that close, a run in parts, compiled and plain."""

from collections.abc import Generator, Sequence
from typing import Any, TypeAlias

import pytest
import simpy
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.case.records import Case
from sim.plant.clock import Order
from sim.plant.line import Line
from sim.plant.records import RunResult
from sim.plant.simulate import Plant
from tests.plant.random_cases import POLICY
from tests.plant.random_trains import trains, treated_trains
from tests.plant.test_train_properties import FEW, FEWER, MANY

Failing: TypeAlias = tuple[float, str, int, float]  # share of the run's length, verb, which stage or vessel, how much
VERBS = (
    "wash share", "power", "hold", "dose", "past", "passing", "media", "capacity", "mudball", "unwatched idle",
)  # fmt: skip
FAILING = st.lists(
    st.tuples(st.floats(0.0, 1.0), st.sampled_from(VERBS), st.integers(0, 9), st.floats(0.0, 0.95)),
    min_size=1, max_size=12,
)  # fmt: skip


def fail(line: Line, verb: str, which: int, share: float) -> None:
    """Have something fail; or no longer, where the share is low."""
    k, i, on = which % len(line.stage), which % len(line.vessel), share > 0.3
    match verb:
        case "wash share":
            line.set_wash_share(1.0 - share * on, 1.0 - 0.5 * share)
        case "power":
            line.set_power(not on)
        case "hold" if line.vessel[i].mode not in (0, 4):  # in service, standing by
            line.hold_step(i, not on)
        case "dose":
            line.set_dose(k, 2.0 * share * on)
        case "past":
            line.set_past(k, min(1.1 * share * on, 1.0))
        case "passing":
            line.set_passing(k, share * on)
        case "media":
            line.lose_media(i, 0.5 * share)
        case "capacity":
            line.lose_capacity(i, 0.5 * share)
        case "mudball":
            line.mudball(i, share * on)
        case _:
            assert line.tank_level() >= -1e-9
            assert line.unit_idle() or line.unit.exists


def run(case: Case, failing: Sequence[Failing], *stops: float) -> RunResult:
    """A whole run, with looks on the way; its books are closed at each, and then."""
    plant = Plant(case, POLICY, seed=7)
    env, line = plant._env, plant._line

    def process() -> Generator[simpy.Event, Any, None]:
        for share, verb, which, much in sorted(failing):
            yield env.at(share * case.run.length, Order.RECORD, which)
            fail(line, verb, which, much)

    env.process(process())
    for stop in stops:
        plant.run_until(stop * case.run.length)
        plant.result()
    plant.run_until(case.run.length)
    return plant.result()


def holds_for(case: Case, failing: Sequence[Failing]) -> None:
    whole, parts = run(case, failing), run(case, failing, *[(i + 0.3371) / 12 for i in range(11)])
    assert (parts.log, parts.runs, parts.site, parts.stages) == (whole.log, whole.runs, whole.site, whole.stages)


def compiled_and_plain_agree(case: Case, failing: Sequence[Failing]) -> None:
    fast = run(case, failing)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FILTERRUN_PLAIN", "1")
        plain = run(case, failing)
    assert (plain.log, plain.runs, plain.site, plain.stages) == (fast.log, fast.runs, fast.site, fast.stages)


KINDS = {"trains": trains, "treated trains": treated_trains}


def try_on(check: Any, kind: str, most_days: float, how_many: settings) -> None:
    how_many(given(KINDS[kind](most_days), FAILING)(check))()


@pytest.mark.parametrize("kind", KINDS)
def test_a_few_failing_trains_hold(kind: str) -> None:
    try_on(holds_for, kind, 12.0, FEW)


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_many_failing_trains_hold(kind: str) -> None:
    try_on(holds_for, kind, 20.0, settings(MANY, max_examples=100))


@pytest.mark.parametrize("kind", ["trains", pytest.param("treated trains", marks=pytest.mark.long)])
def test_compiled_and_plain_agree_on_a_few_failing_trains(kind: str) -> None:
    try_on(compiled_and_plain_agree, kind, 1.0, FEWER)
