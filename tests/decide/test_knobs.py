"""What is tried of a policy, and the floors that always hold."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.longest_run import USUAL
from sim.case.records import Case
from sim.case.trigger_records import AnyOf, Pressure, Volume, VolumeReserve
from sim.case.units import DAY, HOUR
from sim.study.decide.knobs import knobs_of, least_rinse, settable, short_rinses, with_values
from sim.study.decide.whatif import seen_share
from tests.decide.steady import steady

CASES = Path(__file__).parents[2] / "cases"


@pytest.fixture
def case(tmp_path: Path) -> Case:
    return load_case(steady(tmp_path))


def test_ranges_about_the_present_value(case: Case) -> None:
    (every,), (volume,), (above, hold) = (knobs_of(case, policy, frozenset()) for policy in case.policies)
    assert (every.low, every.high) == (DAY, 7 * DAY)
    assert [value / DAY for value in every.coarse()] == [1, 2, 3, 4, 5, 6, 7]
    assert (volume.low, volume.high, volume.part) == (10.0, 160.0, "volume")
    assert volume.coarse()[0] == 10.0
    assert 40.0 in volume.coarse()
    assert (above.part, hold.part) == ("above", "hold")


def test_nothing_is_tried_right_beside_the_present_value(case: Case) -> None:
    """Between 4 psi, 27.579 kPa, and 27.6 kPa there is nothing to look for, and all above would stay unseen."""
    policy = case.policies[2]
    ((stage, trigger),) = policy.triggers
    odd = replace(policy, triggers=((stage, replace(trigger, above=4.0 * 6894.757293)),))
    above, _ = knobs_of(case, odd, frozenset())
    assert above.present in above.coarse()
    assert above.within([27_600.0]) == (above.present,)
    assert all(above.between(above.present, each) for each in above.coarse() if each > above.present)


def test_a_range_goes_on_where_the_best_lies_at_its_end(case: Case) -> None:
    (volume,) = knobs_of(case, case.policies[1], frozenset())
    grown = volume.grown(160.0)
    assert grown is not None
    assert grown.high == 640.0
    assert volume.grown(100.0) is None
    (gallons,) = knobs_of(case, case.policies[1], frozenset(), "us")
    last = gallons.coarse()[-1]
    assert gallons.grown(last) is not None  # also where it is round in another unit


def test_for_drinking_nothing_gets_longer_or_shorter_than_is_kind(case: Case) -> None:
    drinking = replace(case, use="drinking")
    also = frozenset({"backwash", "rinse"})
    for policy in drinking.policies:
        for knob in knobs_of(drinking, policy, also):  # type: ignore[arg-type]
            if knob.of_a_step:
                assert knob.low == knob.present
            else:
                assert knob.high == knob.present
                assert knob.grown(knob.present) is None


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
    assert short_rinses(short) == {"stage.sand.step.1.minutes": least_rinse(short.stages[0]) / 60.0}


def test_the_range_of_a_calendar_ends_at_the_longest_run(case: Case) -> None:
    """Whole days: 4.5 d leave 4, less than a day leaves nothing to try. Without one the usual 10 d of sand hold."""
    calendar, sand = case.policies[0], case.stages[0]

    def days(longest: float | None) -> list[float]:
        changed = replace(case, stages=(replace(sand, longest_run=longest),))
        return [knob.most / DAY for knob in knobs_of(changed, calendar, frozenset())]

    assert days(4.5 * DAY) == [4.0]
    assert days(20 * HOUR) == []
    assert days(None) == [USUAL["sand"].typical]
    (knob,) = knobs_of(replace(case, stages=(replace(sand, longest_run=4 * DAY),)), calendar, frozenset())
    assert knob.grown(4 * DAY) is None


def test_several_triggers_at_once_are_not_varied(case: Case) -> None:
    both = AnyOf(triggers=(Volume(volume=40.0, at=None), Pressure(above=9e3, hold=10.0)))  # fmt: skip
    assert knobs_of(case, replace(case.policies[1], triggers=(("sand", both),)), frozenset()) == ()


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
                assert value == knob.present or shown == pytest.approx(settable(shown, fine=fine), rel=1e-6)
        assert all(value <= 120.0 and value % 10.0 == 0.0 for value in hold.coarse())
        assert hold.rounded(217.0) == 240.0
    at = knobs_of(case, case.policies[0], frozenset({"hours"}))[-1]
    assert at.rounded(3.04 * HOUR) == 3.0 * HOUR
    assert at.rounded(3.06 * HOUR) == 3.0 * HOUR + 300.0
