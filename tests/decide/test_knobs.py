"""What is tried of a policy, and the floors that always hold."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.case.stage.longest_run import USUAL
from sim.case.trigger.records import AnyOf, Pressure, Volume, VolumeReserve
from sim.case.units import DAY, HOUR
from sim.review.bearable import USUAL_SUPPLY
from sim.review.site import Site, site_of
from sim.study.decide.knobs import HOLDS, Knob, knobs_of, settable, short_rinses, with_values
from sim.study.decide.whatif import seen_share
from sim.study.settable import Part, least_rinse
from sim.tell.decision.told import value_text, value_words
from tests.decide.steady import steady

CASES = Path(__file__).parents[2] / "cases"
LAUNDRY_DAY = 60.9  # m3: its 24 hourly flows added up


@pytest.fixture
def case(tmp_path: Path) -> Case:
    return load_case(steady(tmp_path))


def test_ranges_follow_from_the_plant(case: Case, tmp_path: Path) -> None:
    """By hand: 6 m3/h are 144 m3 a day; a quarter of that to what 20 days let through; 3 % above the clean bed."""
    (every,), (volume,), (above, hold) = (knobs_of(case, policy, frozenset()) for policy in case.policies)
    assert (every.low, every.high) == (DAY, 20 * DAY)
    days = [value / DAY for value in every.coarse()]
    assert (days[0], days[-1], len(days)) == (1, 20, 9)
    assert (volume.low, volume.high, volume.part) == (36.0, pytest.approx(20 * 144.0, rel=0.01), "volume")
    clean = Site.clean(site_of(case), case.stages[0])
    assert clean < above.low < 1.05 * clean
    assert above.high == USUAL_SUPPLY
    assert (above.part, hold.part) == ("above", "hold")
    rated = load_case(steady(tmp_path), {"stage.sand.vessel.pressure_rating": "1.2 bar"})
    assert knobs_of(rated, rated.policies[2], frozenset())[0].high == 1.2e5


@pytest.mark.parametrize(("name", "part", "other"), [("volume", "volume", 900.0), ("pressure", "above", 3e5)])
def test_the_range_does_not_follow_from_the_present_value(case: Case, name: str, part: str, other: float) -> None:
    (policy,) = (each for each in case.policies if each.name == name)
    ((stage, trigger),) = policy.triggers
    moved = replace(policy, triggers=((stage, replace(trigger, **{part: other})),))
    one, two = (knobs_of(case, each, frozenset()) for each in (policy, moved))
    assert one[0].present != two[0].present == other
    assert [replace(each, present=0.0) for each in one] == [replace(each, present=0.0) for each in two]
    assert one[0].coarse() == two[0].coarse()


def test_the_largest_day_by_hand() -> None:
    """The reference demand: 8 h at 1.8 and 16 h at 5.5 m3/h; the laundry's working day, and 60 % more in June."""
    reference = load_case(CASES / "reference.toml")
    assert site_of(reference).largest_day == pytest.approx(8 * 1.8 + 16 * 5.5)
    assert site_of(load_case(CASES / "laundry.toml")).largest_day == pytest.approx(1.6 * LAUNDRY_DAY)


def test_neighbours_are_the_next_values_that_can_be_set(case: Case) -> None:
    (volume,) = knobs_of(case, case.policies[1], frozenset())
    above, hold = knobs_of(case, case.policies[2], frozenset())
    assert volume.beside(200.0) == (198.0, 205.0)
    assert above.beside(20_000.0) == (19_900.0, 20_200.0)
    assert hold.beside(60.0) == (30.0, 60.0, 180.0)


def knob(part: Part, low: float, high: float) -> Knob:
    return Knob(stage="sand", part=part, quantity="minutes", present=low, low=low, high=high)


def test_values_are_rounded_to_what_can_be_set() -> None:
    """Whole days, 5 min of the clock, the nearest hold, half minutes of a step, which never gets shorter by it."""
    assert [knob("every", DAY, 9 * DAY).rounded(each * DAY) for each in (0.2, 2.4, 2.6)] == [DAY, 2 * DAY, 3 * DAY]
    assert [knob("at", 0.0, DAY).rounded(each) for each in (3 * HOUR + 140.0, DAY - 100.0)] == [3 * HOUR, 0.0]
    assert [knob("hold", 10.0, 720.0).rounded(each) for each in (19.0, 100.0, 150.0)] == [10.0, 60.0, 180.0]
    assert [knob("backwash", 60.0, 900.0).rounded(each) for each in (570.0, 571.0, 600.0)] == [570.0, 600.0, 600.0]


def test_a_first_look_takes_every_day_up_to_eight() -> None:
    assert [each / DAY for each in knob("every", DAY, 8 * DAY).coarse()] == [1, 2, 3, 4, 5, 6, 7, 8]
    assert len(knob("every", DAY, 9 * DAY).coarse()) < 9


def test_a_day_an_hour_and_half_a_minute_are_next_to_each_other() -> None:
    assert knob("every", DAY, 9 * DAY).beside(3 * DAY) == (2 * DAY, 4 * DAY)
    assert knob("at", 0.0, DAY).beside(3 * HOUR) == (2 * HOUR, 4 * HOUR)
    assert knob("rinse", 60.0, 900.0).beside(300.0) == (270.0, 330.0)
    assert knob("rinse", 300.0, 900.0).beside(300.0) == (330.0,)


def test_for_drinking_nothing_gets_longer_or_shorter_than_is_kind(case: Case) -> None:
    drinking = replace(case, use="drinking")
    also = frozenset({"backwash", "rinse"})
    for policy in drinking.policies:
        for knob in knobs_of(drinking, policy, also):  # type: ignore[arg-type]
            if knob.of_a_step:
                assert knob.low == knob.present
            else:
                assert knob.high == knob.present


def test_a_reserve_only_grows_for_drinking() -> None:
    case = load_case(CASES / "reference.toml")
    drinking = replace(case, use="drinking")
    policy = next(each for each in case.policies if each.name == "volume with reserve")
    volume, reserve = knobs_of(drinking, policy, frozenset())
    assert volume.high == volume.present
    assert reserve.low == reserve.present
    assert with_values(policy, (volume, reserve), (50.0, 60.0)) is None  # a reserve is a part of its volume


def test_a_rinse_takes_a_volume_of_the_vessel_at_least(case: Case) -> None:
    """By hand: 0.785 m2 times 1.5 m less 0.7 m of sand that is 58 % grain are 0.859 m3, at 6 m3/h 8.6 min."""
    porosity = case.stages[0].layers[0].porosity
    whole = 0.7853982 * (1.5 - 0.7 * (1.0 - porosity))
    assert least_rinse(case.stages[0]) / 60.0 == pytest.approx(whole / 0.1, abs=0.5)
    assert least_rinse(case.stages[0]) / 60.0 >= whole / 0.1 - 1e-9
    assert short_rinses(case) == {}


def test_a_short_rinse_is_lengthened(tmp_path: Path) -> None:
    path = steady(tmp_path)
    short = load_case(path, {"stage.sand.step.rinse.minutes": 4})
    least = {"stage.sand.step.1.minutes": least_rinse(short.stages[0]) / 60.0}
    assert short_rinses(short) == least
    assert short_rinses(load_case(path, least)) == {}


def test_the_range_of_a_calendar_ends_at_the_longest_run(case: Case) -> None:
    """Whole days: 4.5 d leave 4, less than a day leaves nothing to try. Without one the usual 10 d of sand hold."""
    calendar, sand = case.policies[0], case.stages[0]

    def days(longest: float | None) -> list[float]:
        changed = replace(case, stages=(replace(sand, longest_run=longest),))
        return [knob.high / DAY for knob in knobs_of(changed, calendar, frozenset())]

    assert days(4.5 * DAY) == [4.0]
    assert days(20 * HOUR) == []
    assert days(None) == [USUAL["sand"].typical]


def test_several_triggers_at_once_are_not_varied(case: Case) -> None:
    both = AnyOf(triggers=(Volume(volume=40.0, at=None), Pressure(above=9e3, hold=10.0)))  # fmt: skip
    assert knobs_of(case, replace(case.policies[1], triggers=(("sand", both),)), frozenset()) == ()


def test_a_value_is_shown_in_the_units_of_its_own_range(case: Case) -> None:
    """A set point of another quantity is no pressure."""
    above, _ = knobs_of(case, case.policies[2], frozenset())
    assert (value_words(above, 9000.0, "si"), value_text(above, 9000.0)) == ("9 kPa", "9 kPa")
    assert value_words(above, 6894.757293, "us") == "1.00 psi"
    cloudy = replace(above, quantity="turbidity")
    assert (value_words(cloudy, 4.5, "us"), value_text(cloudy, 4.5)) == ("4.50 NTU", "4.5 NTU")


def test_hours_of_a_train_are_tried() -> None:
    case = load_case(CASES / "greenhouse.toml")
    parts = [knob.part for knob in knobs_of(case, case.policies[0], frozenset())]
    assert parts == ["every", "every", "at", "at"]
    assert isinstance(case.policies[2].triggers[0][1], VolumeReserve)


def test_what_a_meter_sees_by_hand() -> None:
    """The reference demand: 8 h at 1.8 m3/h and 16 h at 5.5 m3/h; below 2 m3/h nothing is seen."""
    case = load_case(CASES / "reference.toml")
    assert seen_share(case, 2.0 / 3600.0) == pytest.approx(88.0 / (88.0 + 14.4))
    assert seen_share(case, 1.0 / 3600.0) == 1.0
    assert seen_share(case, 6.0 / 3600.0) == 0.0


@pytest.mark.parametrize("value", [0.7, 12.9, 21.4, 49.9, 95.1, 509.0, 1999.0, 230358.0])
def test_round_numbers_lie_near(value: float) -> None:
    """A step is at most 2.5 % of the value, so rounding moves it by half of that at most; twice rounds as once."""
    found = settable(value)
    assert abs(found / value - 1.0) <= 0.0125 + 1e-9
    assert settable(found) == found
    assert len(f"{found:g}".replace(".", "").strip("0")) <= 3


def test_values_can_be_set_in_the_units_that_are_shown(case: Case) -> None:
    """What is tried of a volume and a set point is round in gallons and psi, or in m3 and kPa; what stands stays."""
    for units, volume_unit, pressure_unit in (("si", 1.0, 1000.0), ("us", 0.003785411784, 6894.757293)):
        (volume,), (above, hold) = (knobs_of(case, each, frozenset(), units) for each in case.policies[1:])  # type: ignore[arg-type]
        for knob, unit, fine in ((volume, volume_unit, False), (above, pressure_unit, True)):
            for value in knob.coarse():
                shown = value / unit
                assert shown == pytest.approx(settable(shown, fine=fine), rel=1e-6)
        assert hold.coarse() == HOLDS
        assert hold.rounded(217.0) == 180.0
    at = knobs_of(case, case.policies[0], frozenset({"hours"}))[-1]
    assert at.rounded(3.04 * HOUR) == 3.0 * HOUR
    assert at.rounded(3.06 * HOUR) == 3.0 * HOUR + 300.0
