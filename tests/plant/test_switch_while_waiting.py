"""A built switch: looked at while it is on, and while a wash that it did not start is due."""

from sim.case.train.records import Switch
from sim.case.trigger.records import AnyOf
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import trace
from tests.plant.builders import (
    DAY,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    PRESSURE,
    Calendar,
    by_the_hour,
    make_case,
    policy,
    replace,
)

SWITCHED = replace(FILTER, switch=Switch(sample=10.0, error=0.0, reset_difference=500.0))
HOURLY = by_the_hour(5.5 * M3_H, 5.4 * M3_H)  # pieces end at every hour, also while the switch is on
HELD = replace(PRESSURE, hold=2 * HOUR)
ALONE = make_case(
    stages=(SWITCHED,), policies=(policy("own", HELD, stages=(SWITCHED,)),), demand=HOURLY, days=8.0
)


def test_a_look_while_the_switch_is_on_trips_nothing() -> None:
    """The signal passes the set point two hours before the wash; a copy on which nobody waits goes through them."""
    case = ALONE
    (first, *_) = [run.end_s for run in simulate(case, "own").runs]
    times = [first - after * HOUR for after in (1.9, 1.0, 0.01)]
    samples = trace(case, "own", times=times)
    assert [each.phase for each in samples] == ["service"] * 3
    assert all(each.signal_kpa >= 14.0 - 0.5 for each in samples)
    plant = Plant(case, "own")
    for time in times:
        plant.run_until(time)
        plant.look()
    plant.run_until(case.run.length)
    assert plant.result().runs[0].end_s == first


def test_a_switch_that_goes_on_while_the_filter_waits_its_turn_starts_no_second_wash() -> None:
    """A calendar wash is due an hour after the set point is passed, before the hold of two; it has to wait."""
    passed = simulate(ALONE, "own").runs[0].end_s - HELD.hold
    due = passed + 1 * HOUR
    backwash = replace(FILTER.steps[0], seconds=600 * MINUTE)
    long = replace(FILTER, name="long", while_washing="passes raw", steps=(backwash,))
    at = Calendar(every=DAY * (due // DAY), at=due % DAY)
    either = AnyOf(triggers=(HELD, at))
    stages = (replace(SWITCHED, name="short"), long)
    before = Calendar(every=at.every, at=at.at - 0.5 * HOUR)
    own = policy("own", either, before, stages=stages)
    case = make_case(stages=stages, policies=(own,), demand=HOURLY, days=due // DAY + 2.0)
    told = [(entry.who, entry.what, entry.why) for entry in simulate(case, "own").log]
    assert ("short", "waits for its turn", "trigger met") in told
    assert [why for who, what, why in told if (who, what) == ("short", "wash starts")] == ["calendar"]
