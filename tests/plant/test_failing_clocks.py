"""What clocks that are set or stand still do to what waits for them, by hand: cases that drawn trains found."""

from sim.case.fault.records import Fault, What
from sim.case.train.records import HoursOfDay, Vessels, Washing
from sim.case.trigger.records import Calendar, Clock, Contact, Policy, Signal, Volume, VolumeLearned
from sim.plant.records import Event, RunResult
from sim.plant.simulate import simulate
from tests.plant.builders import DAY, EXACT_FLOW, FILTER, HOUR, MINUTE, make_case, replace, steady
from tests.plant.test_failing import case_of, cut, fault, run, starts_of

TWO = Vessels(count=2)
LOSES_TIME = Clock(keeps_time=False)
NEVER_TREATED = Volume(volume=1e6, at=None)


def test_an_hour_that_a_clock_is_set_past_comes_as_it_is_set() -> None:
    """On Sunday at 20:00 set ahead by 12 h: Monday's 03:00 comes at once, the next on a Sunday at 15:00."""
    mondays = Calendar(at=3 * HOUR, on=(0,))
    result = run(mondays, fault(What.CLOCK_WRONG, 6 * DAY + 20 * HOUR, by=12 * HOUR), days=14.0)
    assert starts_of(result) == [3 * HOUR, 6 * DAY + 20 * HOUR, 13 * DAY + 15 * HOUR]


def longest(run_s: float, *faults: Fault, days: float) -> RunResult:
    """Washes of a longest run that ends at 03:00, and of nothing else."""
    stage = replace(FILTER, longest_run=run_s, longest_run_at=3 * HOUR)
    return simulate(replace(case_of(NEVER_TREATED, *faults, days=days), stages=(stage,)), "own")


def test_so_does_the_last_hour_of_a_longest_run() -> None:
    """Of 5 d 12 h: on day 4 at 20:00 set ahead by 12 h, past the 03:00 of day 5, which was to be the last."""
    result = longest(5.5 * DAY, fault(What.CLOCK_WRONG, 4 * DAY + 20 * HOUR, by=12 * HOUR), days=6.0)
    assert starts_of(result) == [4 * DAY + 20 * HOUR]


def test_the_hour_of_a_longest_run_comes_once_where_a_clock_goes_back() -> None:
    """Of 12 h: washed at 03:00, at 08:00 set back by 7 h. It shows 03:00 again at 10:00; at 15:00 the run is over."""
    result = longest(0.5 * DAY, fault(What.CLOCK_WRONG, 8 * HOUR, by=-7 * HOUR), days=1.0)
    assert starts_of(result) == [3 * HOUR, 15 * HOUR]


def test_what_is_booked_stays_booked_over_a_cut_that_stops_the_clock() -> None:
    """Reached at 20:00, cut from 22:00 to midnight, by which the clock is 2 h behind: 03:00 comes at 05:00."""
    trigger = Volume(volume=EXACT_FLOW * 20 * HOUR, at=3 * HOUR)
    result = run(trigger, cut(22 * HOUR, 2.0), clock=LOSES_TIME, days=1.5)
    assert starts_of(result) == [DAY + 5 * HOUR]


def test_a_meter_is_read_on_after_a_cut_that_stops_the_clock() -> None:
    """Of 80 h of flow one day is kept in reserve: on day 2 at 04:00 51 h are gone and 29 left, on day 3 five."""
    trigger = VolumeLearned(
        volume=EXACT_FLOW * 80 * HOUR, reserve=0.0, quantile=1.0, days=1, by="trailing", at=3 * HOUR
    )
    result = run(trigger, cut(2 * DAY, 1.0), clock=LOSES_TIME, days=4.0)
    assert starts_of(result) == [3 * DAY + 4 * HOUR]


def test_a_contact_is_held_anew_after_a_cut() -> None:
    """Closed from 10:00 on, to be held for 20 min; cut from 10:10 to 11:10: at 11:30."""
    contact = Contact(hours=(HoursOfDay(start=10 * HOUR, end=15 * HOUR),))
    trigger = Signal(of="contact", hold=20 * MINUTE, contact=contact)
    result = run(trigger, cut(10 * HOUR + 10 * MINUTE, 1.0), days=1.0)
    assert starts_of(result) == [11.5 * HOUR]


def test_those_that_wait_for_a_wash_go_on_in_the_order_of_the_train() -> None:
    """Of two vessels the second is due as the first comes back; the stage before, which waits for that, starts first.

    In lengths of a wash, 90 a day: every third the first, one later the second, and at 96.5 the stage before.
    """
    first, last = replace(FILTER, name="first", not_while=("last",)), replace(FILTER, name="last", vessels=TWO)
    length = sum(step.seconds for step in FILTER.steps)
    triggers = (("first", Calendar(every=DAY, at=6.5 * length)), ("last", Calendar(every=3 * length)))
    case = make_case(
        stages=(first, last), days=1.5, demand=steady(EXACT_FLOW), washing=Washing(together="overlap"),
        policies=(Policy(name="own", triggers=triggers),),
    )  # fmt: skip
    starts = [(e.time_s / length, e.who) for e in simulate(case, "own").log if e.event is Event.WASH_STARTS]
    at = starts.index((97.0, "first"))
    assert starts[at - 1 : at + 2] == [(96.0, "last 1"), (97.0, "first"), (97.0, "last 2")]
