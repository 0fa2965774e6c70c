"""Washing and the way back to service against hand arithmetic.

The bed is thin, as in `test_line`: its deposit grows in proportion to the load and changes nothing.
"""

import math
from typing import Any

import pytest
from scipy.integrate import quad

from sim.case.records import Case
from sim.case.stage.records import Mat, Ripening, Sloughing, Stage, Step, Vessel
from sim.case.trigger.records import Calendar
from sim.plant.errors import LedgerError
from sim.plant.line import Line
from sim.plant.records import RunResult
from sim.plant.simulate import Plant, simulate
from tests.cross_checks import remaining_integral, ripening_factor
from tests.plant.builders import (
    BACKWASH,
    CALENDAR,
    DAY,
    FILTER,
    HOUR,
    MINUTE,
    RINSE,
    SAND,
    by_the_hour,
    feed,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.shear_by_hand import cleaning_by_hand

AREA = FILTER.vessel.area
RATE = FILTER.reference_rate  # 12 m/h
START = 4 * DAY + 3 * HOUR  # of the first wash by the calendar
WASHED = START + 600.0
WASH = 960.0
THIN = 1e13  # g/m3
LAYER = replace(SAND, ultimate_deposit=THIN, deposit_density=10 * THIN, firm_share=0.3)
PASSED = math.exp(-2.5)  # of a clean layer: 10/m over 0.25 m
WHOLE = AREA * (1.5 - 0.25 * (1.0 - 0.42))  # water in the vessel [m3]
PORES = AREA * 0.25 * 0.42
TURNOVERS = BACKWASH.flow * 600.0 / WHOLE


def sand(*steps: Step, **given: Any) -> Stage:
    """One thin layer of sand, washed by these steps."""
    return replace(FILTER, layers=(LAYER,), steps=steps, **given)


def case_of(*stages: Stage, trigger: Calendar = CALENDAR, **given: Any) -> Case:
    """A train under a calendar, at a steady 12 m/h."""
    case = {"demand": steady(RATE * AREA), "policies": (policy("own", trigger, stages=stages),), **given}
    return make_case(stages=stages, **case)


def run(*stages: Stage, **given: Any) -> RunResult:
    return simulate(case_of(*stages, **given), "own")


def look(plant: Plant, time: float) -> Line:
    plant.run_until(time)
    return plant.look()


def held(line: Line) -> float:
    """Deposit in the first bed [g]."""
    return math.fsum(line.deposits(0)) * AREA


# Water


def test_a_wash_drains_what_its_steps_say() -> None:
    """17 m3/h for 10 min and 9 m3/h for 6: 2.8333 and 0.9 m3; 16 min off line at 1.8 m3/h not delivered."""
    site, washes = simulate(make_case(), "calendar").site, 14
    asked, unmet = 60 * (8 * 1.8 + 16 * 5.5), washes * 1.8 * 16 / 60
    assert site["washes"] == washes
    assert site["backwash_m3"] == pytest.approx(washes * 17 / 6)
    assert site["rinse_m3"] == pytest.approx(washes * 0.9)
    assert site["drain_m3"] == pytest.approx(washes * 3.73333333)
    assert site["drain_peak_m3_h"] == pytest.approx(17.0)
    assert site["downtime_h"] == pytest.approx(washes * 16 / 60)
    assert site["unmet_m3"] == pytest.approx(unmet)
    assert site["treated_m3"] == pytest.approx(asked - unmet)
    assert site["drain_fraction"] == pytest.approx(washes * 3.73333333 / (asked - unmet + washes * 3.73333333))


def test_each_step_is_logged_with_its_end_and_its_water() -> None:
    log = simulate(make_case(days=5.0), "calendar").log
    assert [(entry.time_s, entry.what, entry.why) for entry in log] == [
        (START, "wash starts", "calendar"),
        (WASHED, "backwash ends", "time up"),
        (START + WASH, "rinse ends", "time up"),
        (START + WASH, "back in service", "time up"),
        (5 * DAY, "run ends", "run ended"),
    ]
    assert [entry.volume_m3 for entry in log[1:3]] == pytest.approx([17 / 6, 0.9])


def test_the_outlet_of_one_stage_is_the_feed_of_the_next() -> None:
    first, second = run(*train("first", "second", like=sand(BACKWASH, RINSE))).stages.values()
    assert second["solids_in_kg"] == pytest.approx(first["solids_to_service_kg"], rel=1e-12)
    assert 0.0 < second["solids_to_service_kg"] < 0.1 * second["solids_in_kg"]


def test_the_rinse_of_the_second_stage_runs_through_the_first() -> None:
    result = run(*train("first", "second", like=sand(BACKWASH, RINSE)))
    first, second = result.stages.values()
    assert (first["washes"], second["washes"]) == (14, 14)
    assert first["treated_m3"] == pytest.approx(second["treated_m3"] + second["rinse_m3"], rel=1e-12)
    assert result.site["treated_m3"] == second["treated_m3"]
    assert result.site["unmet_m3"] == pytest.approx(2 * 14 * RATE * AREA * WASH)
    assert result.site["solids_to_service_kg"] == second["solids_to_service_kg"]


@pytest.mark.parametrize(
    ("water", "solids", "brought"), [("raw", None, 5.0), ("filtered", 0.2, 0.2), ("clean", None, 0.0)]
)
def test_wash_water_brings_its_own_solids(water: str, solids: float | None, brought: float) -> None:
    """Raw water comes from a header: as dirty for the second stage as for the first."""
    wash = replace(BACKWASH, water=water, water_solids=solids)
    for stages in (train("only", like=sand(wash)), train("first", "second", like=sand(wash))):
        line = look(Plant(case_of(*stages), "own"), START + 2 * WASH)
        each = [s.wash_in_total for s in line.vessel]
        assert each == pytest.approx([brought * BACKWASH.flow * 600.0] * len(stages), rel=1e-12, abs=1e-12)


# Solids


def test_a_backwash_leaves_and_drains_what_its_balance_says() -> None:
    """dM/dt = -k M, dW/dt = k M - (Q/V) W: M e^(-kt) stays, evenly; W stays suspended; the rest is drained."""
    plant, k = Plant(case_of(sand(BACKWASH)), "own"), BACKWASH.cleaning_rate
    attached = held(look(plant, START))
    assert attached == pytest.approx(5.0 * RATE * AREA * START * (1.0 - PASSED), rel=1e-9)
    line, q = look(plant, WASHED), BACKWASH.flow / WHOLE
    left = attached * math.exp(-600 * k)
    suspended = attached * k * (math.exp(-600 * k) - math.exp(-600 * q)) / (q - k)
    assert held(line) == pytest.approx(left, rel=1e-9)
    assert line.deposits(0) == pytest.approx([left / AREA / 20] * 20, rel=1e-9)
    assert line.vessel[0].vessel_solids == pytest.approx(suspended, rel=1e-9)
    assert line.vessel[0].drain_total == pytest.approx(attached - left - suspended, rel=1e-9)


def test_firm_deposit_accumulates_as_a_geometric_series() -> None:
    """A wash keeps e^-8f of the loose, e^-0.6f of the firm pool, f for shear; a run adds 0.3 of its deposit."""
    plant = Plant(case_of(sand(replace(BACKWASH, cleaning_rate=None)), trigger=replace(CALENDAR, every=DAY)), "own")
    cleaning = cleaning_by_hand(BACKWASH.flow / AREA, 15.0, size=LAYER.size, layer=LAYER)
    loose, firm, keeps_loose, keeps_firm = 0.0, 0.0, math.exp(-8.0 * cleaning), math.exp(-0.6 * cleaning)
    for wash in range(1, 31):
        at = wash * DAY + 3 * HOUR
        fresh = held(look(plant, at)) - loose - firm
        loose, firm = (loose + 0.7 * fresh) * keeps_loose, (firm + 0.3 * fresh) * keeps_firm
        assert held(look(plant, at + 600.0)) == pytest.approx(loose + firm, rel=1e-9)
    assert firm == pytest.approx(0.3 * fresh * keeps_firm / (1.0 - keeps_firm), rel=1e-6)


def test_a_mat_is_washed_away_like_the_deposit_of_the_top_layer() -> None:
    plant = Plant(case_of(sand(BACKWASH, mat=Mat(share=0.4, resistance=1e10))), "own")
    before = look(plant, START)
    attached = held(before) + before.vessel[0].mat * AREA
    after = look(plant, WASHED)
    assert after.vessel[0].mat == 0.0
    assert held(after) == pytest.approx(attached * math.exp(-8.0), rel=1e-9)


# What a wash leaves in the vessel

DIRTY = replace(BACKWASH, water="filtered", water_solids=50.0)
LEFT_SUSPENDED = 50.0 * (1.0 - math.exp(-TURNOVERS))  # g/m3 after ten minutes of it


def test_all_that_a_wash_left_suspended_leaves_the_vessel() -> None:
    """Nothing in the feed: what is in the pores leaves as it is, what is above them through the bed."""
    line = look(Plant(case_of(sand(DIRTY), feed=feed(0.0)), "own"), 5 * DAY)
    assert line.vessel[0].out_total == pytest.approx(LEFT_SUSPENDED * (PORES + (WHOLE - PORES) * PASSED), rel=1e-5)
    assert held(line) == pytest.approx(LEFT_SUSPENDED * (WHOLE - PORES) * (1.0 - PASSED), rel=1e-5)
    assert 0.0 <= line.vessel[0].vessel_solids <= 1.1e-6 * LEFT_SUSPENDED * WHOLE


def test_the_first_water_after_a_wash_is_what_the_wash_left() -> None:
    line = look(Plant(case_of(sand(DIRTY), feed=feed(0.0)), "own"), WASHED + 1e-3)
    assert line.reading(0)[2:] == pytest.approx((0.0, LEFT_SUSPENDED), rel=1e-6)


@pytest.mark.parametrize("minutes", [2, 6, 20])
def test_a_rinse_drains_its_part_of_what_the_wash_left(minutes: int) -> None:
    """Both parts of the vessel as three tanks: C (V_b I(B/V_b) + e^-2.5 (V I(B/V) - V_b I(B/V_b)))."""
    rinse = replace(RINSE, seconds=minutes * MINUTE)
    plant = Plant(case_of(sand(DIRTY, rinse), feed=feed(0.0)), "own")
    before = look(plant, WASHED).vessel[0].drain_total
    drained = look(plant, WASHED + minutes * MINUTE).vessel[0].drain_total - before
    volume = minutes * 9.0 / 60
    pores = PORES * remaining_integral(volume / PORES, 3)
    above = WHOLE * remaining_integral(volume / WHOLE, 3) - pores
    assert drained == pytest.approx(LEFT_SUSPENDED * (pores + PASSED * above), rel=1e-5)


def test_water_under_the_bed_leaves_unfiltered() -> None:
    dry = look(Plant(case_of(sand(DIRTY), feed=feed(0.0)), "own"), 5 * DAY)
    wet = look(Plant(case_of(sand(DIRTY, underdrain_volume=0.1), feed=feed(0.0)), "own"), 5 * DAY)
    left = 50.0 * (1.0 - math.exp(-BACKWASH.flow * 600.0 / (WHOLE + 0.1)))
    assert wet.vessel[0].out_total == pytest.approx(left * (PORES + 0.1 + (WHOLE - PORES) * PASSED), rel=1e-5)
    assert wet.vessel[0].out_total > dry.vessel[0].out_total


# Ripening

RIPENS = Ripening(share=0.5, volume=10.0)
FLUSHED = replace(BACKWASH, seconds=2 * HOUR, cleaning_rate=10 / MINUTE)  # leaves nothing in bed and water
BARE = Vessel(diameter=0.762, height=0.25, pressure_rating=None)  # no water above the bed: soon displaced


def ripening_plant() -> tuple[Plant, float]:
    """A bed that comes back clean, and when it does."""
    return Plant(case_of(sand(FLUSHED, ripening=RIPENS, vessel=BARE)), "own"), START + 2 * HOUR


def unripe(volume: float) -> float:
    """Share that passes after so many metres since the wash."""
    return math.exp(-2.5 * ripening_factor(volume, 0.5, 10.0))


@pytest.mark.parametrize("metres", [1.5, 5.0, 10.0, 30.0])
def test_a_washed_bed_ripens_with_the_volume(metres: float) -> None:
    """Held constant in short pieces of volume, so that the factor is that of a few per cent earlier or later."""
    plant, back = ripening_plant()
    outlet = look(plant, back + metres / RATE).reading(0)[3]
    assert 5.0 * unripe(1.08 * metres) <= outlet <= 5.0 * unripe(0.92 * metres)


def test_what_an_unripe_bed_sends_on_is_the_integral_over_its_ripening() -> None:
    plant, back = ripening_plant()
    from_here, to_here = (look(plant, back + metres / RATE).vessel[0].out_total for metres in (1.0, 100.0))
    expected = 5.0 * AREA * quad(unripe, 1.0, 100.0)[0]
    assert to_here - from_here == pytest.approx(expected, rel=1e-3)


def test_a_run_starts_with_a_ripe_bed() -> None:
    plant, _ = ripening_plant()
    assert look(plant, MINUTE).reading(0)[3] == pytest.approx(5.0 * PASSED, rel=1e-9)


# Sloughing

SHED = 100.0 * 0.25 * AREA * (1.0 - 2.0**-0.5)  # g that a full bed sheds when 12 m/h become 24
RISE = 12 * HOUR


def sloughing_plant() -> Plant:
    """Half a day at 12 m/h and half at 24; the bed holds 100 g/m3 at most, and 2^-0.5 of that at the higher rate."""
    slow, fast = RATE * AREA, 2 * RATE * AREA
    small = replace(SAND, ultimate_deposit=100.0)
    stage = replace(sand(BACKWASH), layers=(small,), sloughing=Sloughing(exponent=0.5))
    return Plant(case_of(stage, demand=by_the_hour(*[slow] * 12, *[fast] * 12)), "own")


def test_a_rise_of_the_flow_sheds_deposit_within_one_pore_volume() -> None:
    plant, pore = sloughing_plant(), PORES / (2 * RATE * AREA)
    times = (-1.0, 0.1, 0.5 * pore, 1.01 * pore)
    before, shedding, half, after = (look(plant, RISE + t).reading(0)[3] for t in times)
    assert before == pytest.approx(5.0, rel=1e-6)
    assert shedding == pytest.approx(half) == pytest.approx(5.0 + SHED / PORES, rel=1e-6)
    assert after == pytest.approx(5.0, rel=1e-6)


def test_what_is_shed_is_recorded_and_only_at_a_rise() -> None:
    plant = sloughing_plant()
    shed = [look(plant, RISE + t).vessel[0].slough_total for t in (-1.0, 60.0, 11 * HOUR, 23 * HOUR, 25 * HOUR)]
    assert shed == pytest.approx([0.0, SHED, SHED, SHED, 2 * SHED], rel=1e-6)
    assert plant.result().site["solids_held_kg"] == pytest.approx(100.0 * 0.25 * AREA * 2.0**-0.5 / 1e3, rel=1e-6)


# The books


@pytest.mark.parametrize(
    ("row", "name", "what"), [("vessel", "drain_total", "solids"), ("control", "unmet_total", "water asked for")]
)
def test_books_that_do_not_close_are_an_error(row: str, name: str, what: str) -> None:
    plant = Plant(make_case(), "calendar")
    plant.run_until(5 * DAY)
    assert plant.result().site["washes"] == 1
    getattr(plant._line._tables, row)[name] += 0.1
    with pytest.raises(LedgerError, match="does not close") as caught:
        plant.result()
    assert caught.value.what == what
    assert abs(caught.value.given - caught.value.found) == pytest.approx(0.1, rel=1e-3)
