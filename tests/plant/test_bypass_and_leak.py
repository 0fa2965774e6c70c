"""Raw water past the beds of a stage, and a drain valve that passes: mixing and shares by hand."""

import math

import pytest
import simpy

from sim.case.train.records import Pump, Vessels
from sim.plant.line import Line
from tests.plant.builders import (
    DAY,
    EXACT_FLOW,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    SAND,
    make_case,
    replace,
    steady,
    train,
)
from tests.plant.lines import carried, closed, state
from tests.plant.solute_builders import CARBON, CHLORINE, SOFTENER, well

FLOW = 4.0 * M3_H
THIN = replace(SAND, ultimate_deposit=1e13, deposit_density=1e14)
BED = replace(FILTER, layers=(THIN,), limit=1.0)
LEFT = math.exp(-2.5)
"""What a bed of 10/m over 0.25 m lets through."""
ONE = make_case(stages=(BED,), demand=steady(FLOW))
TWO = make_case(stages=train("first", "second", like=BED), demand=steady(FLOW))


def sent(line: Line, k: int) -> float:
    """Solids ahead of stage k [g/m3], as its first vessel is fed."""
    return line.at(line.time).reading(k)[2]


@pytest.mark.parametrize("share", [0.0, 0.02, 0.4, 1.0])
def test_what_goes_past_the_beds_mixes_with_what_they_send_on(share: float) -> None:
    """Behind the first stage (1 - y) e^-2.5 + y of the feed; through its bed (1 - y) of the flow."""
    line = carried(Line(TWO), HOUR)
    line.set_past(0, share)
    carried(line, 3 * HOUR)
    expected = 5.0 * ((1.0 - share) * LEFT + share)
    assert sent(line, 1) == pytest.approx(expected, rel=1e-9)
    assert line.at(line.time).reading(0)[0] == pytest.approx((1.0 - share) * FLOW)
    site = closed(TWO, line)
    assert line.vessel[0].served_total == pytest.approx(4.0 + 8.0 * (1.0 - share))
    assert line.stage[0].round_volume == pytest.approx(8.0 * share)
    assert line.vessel[1].in_total == pytest.approx(4.0 * 5.0 * LEFT + 8.0 * expected, rel=1e-9)
    assert site["treated_m3"] == pytest.approx(12.0)
    line.set_past(0, 0.0)
    carried(line, 4 * HOUR)
    assert sent(line, 1) == pytest.approx(5.0 * LEFT, rel=1e-9)
    closed(TWO, line)


def test_what_no_wash_could_mend_counts_as_unavoidable() -> None:
    """0.4 of 5 g/m3 past a clean bed is over its limit of 1 from the moment it begins, the bed itself never."""
    line = carried(Line(ONE), HOUR)
    line.set_past(0, 0.4)
    carried(line, 3 * HOUR)
    assert (line.stage[0].over_limit_total, line.stage[0].unavoidable_total) == (2 * HOUR, 2 * HOUR)
    assert line.vessel[0].broken == 0


def test_with_all_of_it_past_a_monitor_still_sees_it() -> None:
    line = carried(Line(ONE), HOUR)
    line.set_past(0, 1.0)
    line.watch(0, simpy.Event(simpy.Environment()), monitor=("turbidity", 4.9), monitor_hold=10 * MINUTE)
    trip = line.advance_to(DAY, DAY)
    assert trip is not None
    assert trip[0] == HOUR + 10 * MINUTE


@pytest.mark.parametrize("share", [0.1, 1.0])
def test_what_is_dissolved_goes_past_too(share: float) -> None:
    """A fresh softener lets next to no hardness through: y of 200 g/m3 arrive; behind carbon y of 3 of chlorine."""
    for stage, given, place, whole in (
        (SOFTENER, well(0.0, hardness=200.0), 0, 200.0), (replace(CARBON, dosing=CHLORINE), well(0.0), 3, 3.0)
    ):  # fmt: skip
        case = make_case(stages=(stage,), demand=steady(1.0 * M3_H), feed=given)
        line = carried(Line(case), HOUR)
        line.set_past(0, share)
        closed(case, carried(line, 5 * HOUR))
        told = line.at(line.time).sent_on(0)
        assert told is not None
        assert told[place] == pytest.approx(whole * share, rel=1e-3)


@pytest.mark.parametrize("share", [0.0, 0.05, 0.5])
def test_a_valve_that_passes_sends_a_share_of_the_feed_to_drain(share: float) -> None:
    """Of what flows in, y: the second stage takes in 4/(1 - y) m3/h, which the first has to send on."""
    line = carried(Line(TWO), HOUR)
    line.set_passing(1, share)
    closed(TWO, carried(line, 3 * HOUR))
    taken = 8.0 / (1.0 - share)
    assert line.vessel[1].leaked_total == pytest.approx(share * taken)
    assert line.vessel[1].served_total == pytest.approx(12.0)
    assert line.vessel[0].served_total == pytest.approx(4.0 + taken)
    assert line.vessel[1].spilt_total == pytest.approx(share * taken * 5.0 * LEFT, rel=1e-9)
    line.set_passing(0, share)
    line.set_past(0, 0.25)
    site = closed(TWO, carried(line, 4 * HOUR))
    through = 4.0 / (1.0 - share)
    assert line.vessel[0].leaked_total == pytest.approx(0.75 * through * share / (1.0 - share))
    assert site["drain_m3"] == pytest.approx(line.vessel[0].leaked_total + line.vessel[1].leaked_total)
    assert site["treated_m3"] == pytest.approx(16.0)
    assert site["solids_to_drain_kg"] == pytest.approx(math.fsum(line.vessel["spilt_total"]) / 1000.0)


def test_a_leak_carries_what_is_dissolved_and_what_is_dosed() -> None:
    """2 h of 1 m3/h to service and 1 to drain, each with 200 g/m3 of hardness and 3 of chlorine."""
    stage = replace(SOFTENER, dosing=CHLORINE)
    case = make_case(stages=(stage,), demand=steady(1.0 * M3_H), feed=well(0.0, hardness=200.0))
    line = Line(case)
    line.set_passing(0, 0.5)
    closed(case, carried(line, 2 * HOUR))
    hardness, chlorine = line.read("portion")[0], line.read("portion")[5]
    assert (hardness["drain_total"], chlorine["drain_total"]) == (pytest.approx(400.0), pytest.approx(6.0))
    assert line.read("met")[5]["dosed_total"] == pytest.approx(12.0)


def test_a_pump_gives_what_is_left_beside_a_leak() -> None:
    """A curve that ends at 4 m3/h: with a fifth of the first stage's feed and a quarter of the second's gone, 2.4."""
    pump = Pump(flows=(0.0, 4.0 * M3_H), pressures=(9e5, 8.99e5), delivery=1e5, other_loss=0.0)
    case = replace(TWO, pump=pump, demand=steady(5.0 * M3_H))
    line = carried(Line(case), HOUR)
    line.set_passing(0, 0.2)
    line.set_passing(1, 0.25)
    site = closed(case, carried(line, 2 * HOUR))
    assert site["treated_m3"] == pytest.approx(4.0 + 2.4)
    line.set_past(0, 1.0)
    assert closed(case, carried(line, 3 * HOUR))["treated_m3"] == pytest.approx(6.4 + 3.0)


def test_a_meter_counts_what_passes_its_bed() -> None:
    """2^-10 m3/s, half of it past the bed: 1 m3 comes after 2,048 s."""
    line = Line(replace(ONE, demand=steady(EXACT_FLOW)))
    line.set_past(0, 0.5)
    line.watch(0, simpy.Event(simpy.Environment()), volume=1.0)
    trip = line.advance_to(DAY, DAY)
    assert trip is not None
    assert trip[0] == 2048.0


def test_compiled_and_plain_agree_to_the_bit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sisters behind a pump, rinses and washes among faults that come and go; the plain line in more strides."""
    stage = replace(BED, vessels=Vessels(count=2), dosing=CHLORINE)
    pump = Pump(flows=(0.0, 9.0 * M3_H), pressures=(3e5, 1e5), delivery=1e5, other_loss=0.0)
    case = make_case(stages=(stage, CARBON), demand=steady(5.0 * M3_H), feed=well(20.0, iron=2.0), pump=pump)

    def story(line: Line, *stops: float) -> Line:
        def on(hour: float) -> None:
            for stop in (*[stop * HOUR for stop in stops if line.time < stop * HOUR < hour * HOUR], hour * HOUR):
                assert line.advance_to(hour * HOUR, stop) is None
            closed(case, line)

        on(10.0)
        line.set_past(0, 0.1)
        line.set_passing(0, 0.2)
        on(20.0)
        line.begin(0, 0)
        line.set_passing(1, 0.3)
        on(20.1)
        line.set_wash_share(0.5, 0.8)
        on(20.2)
        line.finish(0)
        line.begin(0, 1)
        on(20.25)
        line.set_power(False)
        on(21.0)
        line.set_power(True)
        line.set_dose(0, 2.0)
        on(21.1)
        line.finish(0)
        line.serve(0)
        line.set_past(0, 0.0)
        on(40.0)
        return line

    fast = story(Line(case))
    monkeypatch.setenv("FILTERRUN_PLAIN", "1")
    assert state(story(Line(case), 3.0, 15.0, 20.05, 30.0)) == state(fast)
