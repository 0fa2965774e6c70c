"""What must hold for every case, over cases drawn at random.

A few dozen in the default run, always the same ones; 300 fresh ones with `-m long`.
"""

import math
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from sim.case.records import Case
from sim.case.stage.records import Mat, Ripening, Sloughing
from sim.case.trigger.records import Pressure
from sim.plant.line import Line
from sim.plant.records import Figure, RunResult
from sim.plant.simulate import Plant, simulate
from sim.weather import build_forcing
from tests.plant.builders import BACKWASH, DAY, FILTER, RINSE, TRIGGERS, make_case, policy, replace, train
from tests.plant.random_cases import POLICY, cases

CLOSES_TO = 1e-9
WASHES_LOOKED_AT = 10
LOOKS = 12  # at times of no meaning, between everything that happens
FEW = settings(max_examples=8, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
FEWER = settings(FEW, max_examples=4)
MANY = settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def books_close(case: Case, result: RunResult) -> None:
    """Solids in are out or held, for each stage and the site; water asked for was delivered or not."""
    for figures in (*result.stages.values(), result.site):
        out = sum(number(figures, f"solids_{way}_kg") for way in ("to_service", "to_drain", "held"))
        came = number(figures, "solids_in_kg") + (figures["solids_dosed_kg"] or 0.0)
        assert came == pytest.approx(out, rel=CLOSES_TO, abs=1e-12)
        drained = number(figures, "backwash_m3") + number(figures, "rinse_m3")
        assert number(figures, "drain_m3") == pytest.approx(drained, rel=CLOSES_TO)
    forcing = build_forcing(case.run, case.feed, case.demand)
    asked = math.fsum(forcing.flow * np.diff(forcing.end, prepend=0.0))
    given_out = number(result.site, "treated_m3") + number(result.site, "unmet_m3")
    assert given_out == pytest.approx(asked, rel=CLOSES_TO, abs=1e-9)


def number(figures: dict[str, Figure], key: str) -> float:
    value = figures[key]
    assert value is not None
    assert math.isfinite(value)
    return float(value)


def looks(plant: Plant, times: list[float]) -> Iterator[tuple[float, Line]]:
    """A run that stops at every one of these times and is looked at."""
    for time in times:
        plant.run_until(time)
        yield time, plant.look()


def nothing_is_negative(line: Line) -> None:
    """No deposit, concentration or mass below zero."""
    for k, s in enumerate(line.vessel):
        assert min(line.deposits(k)) >= -1e-12 * max(line.deposits(k))
        assert s.vessel_solids >= -1e-12 * max(s.in_total, 1.0)
        for name in ("mat", "remnant", "slough_solids", "slough_left", "treated", "filtered", "load"):
            assert s[name] >= 0.0, name
        _, pressure, inlet, outlet = line.reading(k)
        assert pressure >= 0.0
        assert inlet >= 0.0
        assert outlet >= 0.0


def filtered_water_is_no_dirtier_than_the_feed(line: Line) -> None:
    """But for what a wash left in the vessel, and for what a higher flow has just shed.

    The model keeps no feed in the pores, so that a fall in feed needs no exception.
    """
    for k, s in enumerate(line.vessel):
        flow, _, inlet, outlet = line.reading(k)
        if flow > 0.0 and s.slough_left <= 0.0:
            highest = max(inlet, s.remnant) if s.filtered < s.displaced else inlet
            assert outlet <= highest * (1.0 + 1e-12)


def no_signal_stands_above_a_set_point_without_hold(case: Case, line: Line) -> None:
    """While the whole train serves nobody waits for a turn, so whoever came to the set point has gone to wash.

    Only for times at which nothing happens: what is due at the very time of a look has not happened yet.
    """
    if any(line.phase(k) != "service" for k in range(len(line.names))):
        return
    for k, (_, trigger) in enumerate(case.policies[0].triggers):
        flow, pressure, _, _ = line.reading(k)
        if isinstance(trigger, Pressure) and trigger.hold == 0.0 and flow > 0.0:
            assert pressure <= trigger.above * (1.0 + 1e-9)


def held_in_layers(case: Case, line: Line, k: int) -> list[float]:
    """Deposit of each layer of stage k [g/m2], the mat counted to the top one."""
    cells = np.array(line.deposits(k)).reshape(len(case.stages[k].layers), -1)
    held = cells.sum(axis=1).tolist()
    return [held[0] + line.vessel[k].mat, *held[1:]]


def washes_of(result: RunResult) -> list[tuple[float, str]]:
    """When backwashes began and ended, and of which stage; the first few of a run."""
    marks, begun = [], {}
    for entry in result.log:
        if entry.what == "backwash ends":
            marks += [(begun[entry.who], entry.who), (entry.time_s, entry.who)]
        begun[entry.who] = entry.time_s
    return marks[: 2 * WASHES_LOOKED_AT]


def a_run_in_parts_is_a_run_in_one(case: Case, whole: RunResult) -> None:
    """Stopped at washes and in between, the same log and figures to the last bit; and every look is sound."""
    marks = washes_of(whole)
    between = [case.run.length * (i + 0.5003) / LOOKS for i in range(LOOKS)]
    plant = Plant(case, POLICY)
    seen = {}
    for time, line in looks(plant, sorted({*between, *(time for time, _ in marks)})):
        nothing_is_negative(line)
        filtered_water_is_no_dirtier_than_the_feed(line)
        if time in between:
            no_signal_stands_above_a_set_point_without_hold(case, line)
        seen[time] = line
    for (begin, who), (end, _) in zip(marks[::2], marks[1::2], strict=True):
        k = seen[begin].names.index(who)
        before, after = held_in_layers(case, seen[begin], k), held_in_layers(case, seen[end], k)
        assert all(left <= held * (1.0 + 1e-12) for held, left in zip(before, after, strict=True))
    plant.run_until(case.run.length)
    parts = plant.result()
    assert (parts.log, parts.runs, parts.site, parts.stages) == (whole.log, whole.runs, whole.site, whole.stages)


def holds_for(case: Case) -> None:
    """All of it, on one case."""
    result = simulate(case, POLICY, seed=7)
    books_close(case, result)
    assert repr(simulate(case, POLICY, seed=7)) == repr(result)
    a_run_in_parts_is_a_run_in_one(case, result)


def compiled_and_plain_agree(case: Case) -> None:
    """Events, their times and every figure, to the bit."""
    fast = simulate(case, POLICY)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FILTERRUN_PLAIN", "1")
        plain = simulate(case, POLICY)
    assert (plain.log, plain.runs, plain.site, plain.stages) == (fast.log, fast.runs, fast.site, fast.stages)


def try_on(check: Callable[[Case], None], most_days: float, how_many: settings) -> None:
    how_many(given(cases(most_days))(check))()


def test_a_few_random_cases_hold() -> None:
    try_on(holds_for, 40.0, FEW)


@pytest.mark.long
def test_many_random_cases_hold() -> None:
    try_on(holds_for, 40.0, MANY)


@pytest.mark.parametrize("name", sorted(TRIGGERS))
def test_compiled_and_plain_agree_on_a_train_that_has_everything(name: str) -> None:
    full = replace(
        FILTER,
        ripening=Ripening(share=0.5, volume=2.0),
        sloughing=Sloughing(exponent=0.25),
        mat=Mat(share=0.2, resistance=1e10),
        unfilterable=0.1,
        velocity_exponent=0.5,
        cells_per_layer=4,
        steps=(replace(BACKWASH, water="raw", cleaning_rate=None), RINSE),
    )
    stages = train("first", "second", like=full)
    trigger = replace(TRIGGERS[name], longest_run=1.3 * DAY)
    case = make_case(days=4.0, stages=stages, policies=(policy(POLICY, trigger, stages=stages),))
    assert len(simulate(case, POLICY).log) > 16
    compiled_and_plain_agree(case)


def test_compiled_and_plain_agree_on_a_few() -> None:
    try_on(compiled_and_plain_agree, 1.0, FEWER)


@pytest.mark.long
def test_compiled_and_plain_agree_on_many() -> None:
    try_on(compiled_and_plain_agree, 2.0, MANY)
