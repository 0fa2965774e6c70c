"""What goes first at one instant: water; trips; phase ends; policy; grants; records; then the order of the train."""

from itertools import combinations

import pytest
import simpy

from sim.case.trigger.records import Calendar, Volume
from sim.plant.clock import Order
from sim.plant.environment import LeapingEnvironment
from sim.plant.shared import Shared
from sim.plant.simulate import simulate
from tests.plant.builders import DAY, EXACT_FLOW, HOUR, make_case, policy, steady, train
from tests.plant.fakes import Diary, ScriptedWater, told, wash_starts

NOON = 43_200.0
WASH = 960.0  # seconds of backwash and rinse
WRITTEN = ("trip", "phase", "policy", "grant", "record")
PAIRS = tuple(combinations(WRITTEN, 2))
STARTS, WAITS, BACK = "wash starts", "waits for its turn", "back in service"


class Instant:
    """One instant at which things happen, asked for in any order."""

    def __init__(self) -> None:
        self.water = ScriptedWater()
        self.env = LeapingEnvironment(self.water)
        self.diary = Diary(self.env)

    def ask_for(self, kind: str, stage: int = 0) -> None:
        """Let one thing of a kind happen at noon, the way it comes about in a plant."""
        name = f"{kind} {stage}"
        if kind == "trip":
            self.water.trips.append((NOON, stage, self.diary.keep(self.env.event(), name)))
        elif kind == "grant":
            self._grant(stage, name)
        else:
            self.diary.expect(NOON, Order[kind.upper()], stage, name)

    def _grant(self, stage: int, name: str) -> None:
        """A turn handed on at noon: given back before everything else that happens then."""
        turn = Shared(self.env, 1, "turn")
        assert turn.claim(9) is None
        handed_over = turn.claim(stage)
        assert handed_over is not None
        self.diary.keep(handed_over, name)
        given_back = self.env.at(NOON, Order.TRIP)
        given_back.callbacks.append(lambda _: turn.give_back())

    def happenings(self) -> list[str]:
        self.env.run_until(NOON + 1.0)
        assert {time for time, _ in self.diary.entries} == {NOON}
        return [what for _, what in self.diary.entries]


# The clock alone, pair by pair


@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_of_two_kinds_the_written_one_goes_first(first: str, second: str) -> None:
    for asked in ((first, second), (second, first)):
        instant = Instant()
        for kind in asked:
            instant.ask_for(kind)
        assert instant.happenings() == [f"{first} 0", f"{second} 0"]


@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_the_kind_weighs_more_than_the_place_in_the_train(first: str, second: str) -> None:
    instant = Instant()
    instant.ask_for(second, stage=0)
    instant.ask_for(first, stage=999)
    assert instant.happenings() == [f"{first} 999", f"{second} 0"]


@pytest.mark.parametrize("kind", [kind for kind in WRITTEN if kind != "trip"])
def test_of_one_kind_the_earlier_stage_goes_first(kind: str) -> None:
    instant = Instant()
    for stage in (2, 0, 1):
        instant.ask_for(kind, stage)
    assert instant.happenings() == [f"{kind} {stage}" for stage in (0, 1, 2)]


def test_of_one_kind_and_stage_the_first_asked_for_goes_first() -> None:
    instant = Instant()
    for name in ("first", "second", "third"):
        instant.diary.expect(NOON, Order.POLICY, 1, name)
    assert instant.happenings() == ["first", "second", "third"]


def test_trips_of_several_stages_all_go_before_the_rest() -> None:
    instant = Instant()
    instant.ask_for("phase")
    for stage in (0, 1):
        instant.ask_for("trip", stage)
    assert instant.happenings() == ["trip 0", "trip 1", "phase 0"]


@pytest.mark.parametrize("kind", WRITTEN)
def test_the_water_is_there_before_anything_happens(kind: str) -> None:
    instant = Instant()
    instant.ask_for(kind)
    arrived: list[float] = []
    instant.diary.write = lambda what: arrived.append(instant.water.carried[-1])  # type: ignore[method-assign]
    instant.env.run_until(NOON + 1.0)
    assert arrived == [NOON]


def test_what_a_process_does_next_follows_at_once() -> None:
    """A process wakes, and a condition is met, before the next thing of the same instant."""
    instant = Instant()
    env, diary = instant.env, instant.diary

    def process() -> simpy.events.ProcessGenerator:
        yield env.any_of([env.at(NOON, Order.PHASE), env.at(2 * NOON, Order.PHASE)])
        diary.write("woken")
        yield env.at(NOON, Order.PHASE)
        diary.write("and again")

    env.process(process())
    instant.ask_for("policy")
    assert instant.happenings() == ["woken", "and again", "policy 0"]


def test_a_trip_before_the_next_event_comes_first_and_late_water_waits() -> None:
    """The water trips on its way to noon; it goes on from there, not from noon."""
    instant = Instant()
    instant.ask_for("phase")
    instant.water.trips.append((NOON - 7.0, 3, instant.diary.keep(instant.env.event(), "on the way")))
    instant.env.run_until(NOON + 1.0)
    assert instant.diary.entries == [(NOON - 7.0, "on the way"), (NOON, "phase 0")]
    assert list(dict.fromkeys(instant.water.carried)) == [NOON - 7.0, NOON, NOON + 1.0]


@pytest.mark.parametrize("kind", WRITTEN)
def test_a_phase_that_ends_as_something_else_happens_keeps_its_place(kind: str) -> None:
    """A phase whose end nothing comes before takes no place in the queue; where something does, it waits."""
    instant = Instant()
    env, diary = instant.env, instant.diary

    def wash() -> simpy.events.ProcessGenerator:
        wait = env.leap(NOON, Order.PHASE, 1)
        if wait is not None:
            yield wait
        diary.write("phase 1")

    env.process(wash())
    instant.ask_for(kind)
    written = ["phase 1", f"{kind} 0"]
    assert instant.happenings() == (written[::-1] if kind in ("trip", "phase") else written)


def test_a_phase_alone_goes_to_its_end_at_once_and_counts_as_an_event() -> None:
    instant = Instant()
    env, entries = instant.env, instant.diary.entries

    def wash() -> simpy.events.ProcessGenerator:
        for end in (NOON, 2 * NOON, 3 * NOON):
            wait = env.leap(end, Order.PHASE)
            if wait is not None:
                yield wait
            instant.diary.write(f"{instant.water.carried[-1]:g}")

    env.process(wash())
    env.run_until(3 * NOON)
    assert entries == [(NOON, f"{NOON:g}"), (2 * NOON, f"{2 * NOON:g}")]  # what lies at the end waits
    assert (env.events, env.longest_queue, env.now) == (3, 1, 2 * NOON)  # the start of the process is one
    env.run_until(4 * NOON)
    assert entries[2:] == [(3 * NOON, f"{3 * NOON:g}")]


def test_water_that_trips_on_the_way_to_the_end_of_a_phase_is_not_passed_by() -> None:
    instant = Instant()
    env, diary = instant.env, instant.diary

    def wash() -> simpy.events.ProcessGenerator:
        wait = env.leap(NOON, Order.PHASE)
        if wait is not None:
            yield wait
        diary.write("ends")

    env.process(wash())
    instant.water.trips.append((NOON - 7.0, 0, diary.keep(env.event(), "on the way")))
    env.run_until(NOON + 1.0)
    assert diary.entries == [(NOON - 7.0, "on the way"), (NOON, "ends")]


# The plant


def at_three(days: float) -> Calendar:
    return Calendar(every=days * DAY, at=3 * HOUR)


def after(seconds: float) -> Volume:
    """Due when so many seconds have been served since a wash, at the flow of these tests."""
    return Volume(volume=EXACT_FLOW * seconds, at=None)


def after_latest(seconds: float) -> Volume:
    """Due after so long, whatever the volume."""
    return Volume(volume=1e6, at=None, longest_run=seconds)


def first_day(*triggers: Calendar | Volume, days: float = 1.0) -> list[tuple[float, str, str]]:
    """Starts, waits and returns of a train with these triggers, at a steady flow."""
    stages = train(*"ABC"[: len(triggers)])
    case = make_case(
        days=days, stages=stages, demand=steady(EXACT_FLOW), policies=(policy("own", *triggers, stages=stages),)
    )
    return told(simulate(case, "own"), STARTS, WAITS, BACK)


def test_two_stages_due_at_one_hour_wash_in_the_order_of_the_train() -> None:
    three = 3 * HOUR
    assert first_day(at_three(0.1), at_three(0.1)) == [
        (three, "A", STARTS),
        (three, "B", WAITS),
        (three + WASH, "A", BACK),
        (three + WASH, "B", STARTS),
        (three + 2 * WASH, "B", BACK),
    ]


def test_a_trip_goes_before_an_hour_even_of_an_earlier_stage() -> None:
    three = 3 * HOUR
    assert first_day(at_three(0.1), after(three))[:4] == [
        (three, "B", STARTS),
        (three, "A", WAITS),
        (three + WASH, "B", BACK),
        (three + WASH, "A", STARTS),
    ]


def test_a_trip_goes_before_the_latest_time_of_its_own_stage() -> None:
    trigger = Volume(volume=EXACT_FLOW * NOON, at=None, longest_run=NOON)
    case = make_case(days=0.6, demand=steady(EXACT_FLOW), policies=(policy("own", trigger),))
    assert wash_starts(simulate(case, "own")) == [(NOON, "volume")]


def test_a_calendar_hour_goes_before_the_latest_time_of_its_own_stage() -> None:
    trigger = Calendar(every=HOUR, at=NOON, longest_run=NOON)
    case = make_case(days=0.6, policies=(policy("own", trigger),))
    assert wash_starts(simulate(case, "own")) == [(NOON, "calendar")]


def test_a_turn_given_back_with_nobody_waiting_is_free_at_that_instant() -> None:
    """A washes from noon; B is due at the very moment A returns: the end of a phase goes before an hour."""
    assert first_day(after_latest(NOON), after_latest(NOON + WASH))[:4] == [
        (NOON, "A", STARTS),
        (NOON + WASH, "A", BACK),
        (NOON + WASH, "B", STARTS),
        (NOON + 2 * WASH, "B", BACK),
    ]


def test_a_turn_given_back_goes_to_who_waited_before_who_becomes_due() -> None:
    """C has waited since noon; B becomes due as A returns, before the grant, and queues behind C."""
    due = first_day(after_latest(NOON), after_latest(NOON + WASH), after_latest(NOON))
    assert due[:7] == [
        (NOON, "A", STARTS),
        (NOON, "C", WAITS),
        (NOON + WASH, "A", BACK),
        (NOON + WASH, "B", WAITS),
        (NOON + WASH, "C", STARTS),
        (NOON + 2 * WASH, "C", BACK),
        (NOON + 2 * WASH, "B", STARTS),
    ]


def test_a_volume_not_reached_in_time_goes_on_from_the_other_stages_return() -> None:
    """B lacks 10 s of flow when A starts to wash; nothing is treated until A is back."""
    assert first_day(after_latest(NOON), after(NOON + 10.0))[:4] == [
        (NOON, "A", STARTS),
        (NOON + WASH, "A", BACK),
        (NOON + WASH + 10.0, "B", STARTS),
        (NOON + 2 * WASH + 10.0, "B", BACK),
    ]


def test_two_trips_at_one_instant_go_in_the_order_of_the_train() -> None:
    """Both stages have treated their volume at noon: B is due then too and waits for its turn."""
    assert first_day(after(NOON), after(NOON))[:4] == [
        (NOON, "A", STARTS),
        (NOON, "B", WAITS),
        (NOON + WASH, "A", BACK),
        (NOON + WASH, "B", STARTS),
    ]
