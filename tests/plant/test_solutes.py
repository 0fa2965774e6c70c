"""What is dissolved, through the plant, against hand arithmetic."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from sim.case.chemistry.records import Limits, Store
from sim.case.records import Case
from sim.case.series.records import Demand, Feed, Profile
from sim.case.stage.records import HeadLoss, Stage
from sim.case.train.records import Downstream, Vessels
from sim.case.trigger.records import Calendar, Pressure, Trigger, Volume, VolumeLearned, VolumeReserve
from sim.plant.records import Figure, RunResult
from sim.plant.simulate import simulate
from tests.plant.builders import BACKWASH, DAY, FILTER, HOUR, M3_H, MINUTE, make_case, policy, steady
from tests.plant.solute_builders import (
    BRINE,
    CARBON,
    CHLORINE,
    DISPLACEMENT,
    MAKE_UP,
    NEVER,
    RINSE,
    SOFTENER,
    WASH,
    bed_volume,
    by_day,
    deeper,
    well,
    with_uptake,
)

POLICY = "by hand"
SALT_PER_HARDNESS = 2 * (22.990 + 35.45) / (40.078 + 12.011 + 3 * 15.999)
"""g NaCl per g CaCO3, atomic masses (IUPAC abridged values)."""
FLOC = (55.845 + 3 * (15.999 + 1.008)) / 55.845
"""g Fe(OH)3 per g Fe, atomic masses (IUPAC abridged values)."""
NIGHT = Calendar(every=DAY, at=2 * HOUR)
UNIT = Downstream(membrane="polyamide", unit=None, feed_limit=None, cartridge=None)


def case_of(*stages: Stage, trigger: Trigger = NEVER, **given: object) -> Case:
    return make_case(stages=stages, policies=(policy(POLICY, trigger, stages=stages),), **given)


def run_of(*stages: Stage, trigger: Trigger = NEVER, **given: object) -> RunResult:
    return simulate(case_of(*stages, trigger=trigger, **given), POLICY)


def number(value: Figure) -> float:
    assert value is not None
    return float(value)


# What a dose forms, and what that does to a bed.

GALLON = 3.785411784e-3  # m3, by definition
WELL_FLOW = 25 * GALLON / MINUTE
CLOG = replace(
    FILTER,
    limit=None,
    head_loss=HeadLoss(
        law="ergun", viscous=150.0, inertial=1.75, growth="linear", valve_constant=0.0, tap="vessel"
    ),
    layers=tuple(replace(layer, head_loss_gain=5.0) for layer in FILTER.layers),
    dosing=replace(CHLORINE, dose=5.0),
)  # fmt: skip


def hours_a_day(hours: int) -> Demand:
    return Demand(flow=Profile(hourly=(WELL_FLOW,) * hours + (0.0,) * (24 - hours), weekday=(1.0,) * 7), season=None)


@pytest.mark.parametrize(("hours", "grams"), [(16, 521.6), (24, 782.3)])
def test_iron_by_chlorine_forms_floc_by_the_day(hours: int, grams: float) -> None:
    """3 mg/L at 25 gpm: 90.85 m3 in 16 h, times 3 and 1.9136 g Fe(OH)3 per g (atomic masses)."""
    result = run_of(CLOG, feed=well(iron=3.0), demand=hours_a_day(hours), days=10.0)
    formed = number(result.site["solids_formed_kg"])
    assert formed == pytest.approx(10.0 * WELL_FLOW * hours * HOUR * 3.0 * FLOC / 1e3, rel=1e-4)
    assert 100.0 * formed == pytest.approx(grams, abs=0.05)
    iron = result.solutes["site"]["iron"]
    assert iron["in"] == pytest.approx(10.0 * WELL_FLOW * hours * HOUR * 3.0 / 1e3, rel=1e-9)


def test_chlorine_short_of_the_iron_forms_what_it_can_and_is_gone() -> None:
    """0.9 mg/L of Cl2 oxidises 0.9 / 0.6348 of Fe(II): 70.90 g for two of 55.845."""
    stage = replace(CLOG, dosing=replace(CHLORINE, dose=0.9))
    result = run_of(stage, feed=well(iron=3.0), demand=hours_a_day(16), days=5.0)
    oxidised = 0.9 * 2 * 55.845 / (2 * 35.45)
    drawn = 5.0 * WELL_FLOW * 16 * HOUR
    assert number(result.site["solids_formed_kg"]) == pytest.approx(drawn * oxidised * FLOC / 1e3, rel=1e-4)
    assert result.solutes["site"]["free_chlorine"]["to_service"] == 0.0


def test_sulphide_takes_chlorine_before_iron_does() -> None:
    """1 mg/L of H2S to sulphur takes 70.90 / 34.08 of Cl2; of 3.0 mg/L what is left oxidises iron."""
    stage = replace(CLOG, dosing=replace(CHLORINE, dose=3.0))
    result = run_of(stage, feed=well(iron=3.0, sulphide=1.0), demand=hours_a_day(16), days=5.0)
    left = 3.0 - 2 * 35.45 / (2 * 1.008 + 32.06)
    iron = left * 2 * 55.845 / (2 * 35.45)
    solids = iron * FLOC + 32.06 / (2 * 1.008 + 32.06)
    drawn = 5.0 * WELL_FLOW * 16 * HOUR
    assert number(result.site["solids_formed_kg"]) == pytest.approx(drawn * solids / 1e3, rel=5e-4)


def test_twice_the_iron_halves_the_run() -> None:
    """No other solids, linear law, no ripening: hours of service to a set point follow the load alone."""
    trigger = Pressure(above=20e3, hold=0.0)
    lengths = []
    for iron in (2.0, 4.0):
        result = run_of(
            replace(CLOG, dosing=replace(CHLORINE, dose=6.0)), trigger=trigger, feed=well(iron=iron),
            demand=steady(WELL_FLOW), days=60.0,
        )  # fmt: skip
        lengths.append(result.runs[0].end_s)
        assert result.runs[0].cause is not None
    assert lengths[0] == pytest.approx(2.0 * lengths[1], rel=0.02)


# Carbon and what passes it.

LASTING = with_uptake(CARBON, capacity=1e13)
"""Carbon that wears so little that what passes it is a matter of its depth alone."""
UNLIKE_HOURS = tuple(0.5 + 0.07 * hour for hour in range(24))


def passing(stage: Stage, flow: float) -> float:
    """2^(-L / L50), with L50 at the reference rate, at another flow [m3/s]."""
    uptake = stage.layers[0].uptake
    rate = flow / stage.vessel.area
    return 2.0 ** (-stage.layers[0].depth / uptake.half_length * uptake.reference_rate / rate)  # type: ignore


def test_oxidant_behind_the_carbon_in_its_worst_hour_and_over_them_all() -> None:
    result = run_of(LASTING, feed=well(free_chlorine=1.7), demand=by_day(UNLIKE_HOURS), downstream=UNIT, days=6.0)
    behind = [1.7 * passing(LASTING, flow * M3_H) for flow in UNLIKE_HOURS]
    assert number(result.site["oxidant_peak_mg_l"]) == pytest.approx(max(behind), rel=1e-6)
    assert number(result.site["oxidant_exposure_g_h_m3"]) == pytest.approx(6.0 * math.fsum(behind), rel=1e-6)
    sent = 6.0 * math.fsum(each * flow for each, flow in zip(behind, UNLIKE_HOURS, strict=True))
    assert result.solutes["site"]["free_chlorine"]["to_service"] == pytest.approx(sent / 1e3, rel=1e-6)


@pytest.mark.parametrize("limit", [0.001, 0.01])
def test_hours_over_the_limit_for_chlorine_are_those_of_the_high_flow(limit: float) -> None:
    stage = replace(LASTING, limits=Limits(chlorine=limit))
    result = run_of(stage, feed=well(free_chlorine=1.7), demand=by_day(UNLIKE_HOURS), downstream=UNIT, days=6.0)
    over = sum(1.7 * passing(LASTING, flow * M3_H) > limit for flow in UNLIKE_HOURS)
    assert 0 < over < 24
    assert number(result.site["oxidant_over_h"]) == pytest.approx(6.0 * over, abs=1e-6)


def test_twice_the_depth_of_carbon_squares_the_share_that_passes() -> None:
    shares = []
    for depth in (0.4, 0.8):
        result = run_of(deeper(LASTING, depth), feed=well(free_chlorine=2.0), demand=steady(1.5 * M3_H), days=3.0)
        ledger = result.solutes["carbon"]["free_chlorine"]
        shares.append(ledger["to_service"] / ledger["in"])
    assert 0.01 < shares[0] < 0.9
    assert shares[1] == pytest.approx(shares[0] ** 2, rel=1e-9)


SMALL = with_uptake(replace(CARBON, steps=(WASH,)), capacity=2e4)


def test_backwashes_with_water_free_of_chlorine_wear_no_carbon() -> None:
    result = run_of(SMALL, trigger=NIGHT, feed=well(free_chlorine=1.5), demand=steady(0.0), days=50.5)
    assert result.site["washes"] == 50
    assert not any(result.solutes["carbon"]["free_chlorine"].values())


def test_backwashes_with_raw_water_wear_carbon_by_what_they_carried() -> None:
    stage = replace(SMALL, steps=(replace(WASH, water="raw"),))
    result = run_of(stage, trigger=NIGHT, feed=well(free_chlorine=1.5), demand=steady(0.0), days=50.5)
    assert result.site["washes"] == 50
    ledger = result.solutes["carbon"]["free_chlorine"]
    carried = 50 * WASH.seconds * WASH.flow * 1.5 / 1e3
    assert ledger["in"] == pytest.approx(carried, rel=1e-9)
    worn = ledger["converted"]
    assert worn == pytest.approx(carried - ledger["to_drain"] - ledger["held"], rel=1e-9)
    passes = 2.0 ** -(0.9 / 0.11 * 14.0 / (WASH.flow * HOUR / stage.vessel.area))
    assert worn == pytest.approx(carried * (1.0 - passes), rel=0.02)


# Regenerations.

HARD = 300.0  # g/m3


def capacity_by_salt(salt: float) -> float:
    """What grams of salt restore of a spent bed of SOFTENER [g CaCO3], by its table, straight lines by hand."""
    dose = salt / bed_volume(SOFTENER)
    points = [(0.0, 0.0), (60e3, 34e3), (120e3, 46e3), (200e3, 55e3), (260e3, 59e3)]
    for (low, least), (high, most) in pairwise(points):
        if dose <= high:
            return bed_volume(SOFTENER) * (least + (most - least) * (dose - low) / (high - low))
    return bed_volume(SOFTENER) * points[-1][1]


def test_brine_on_a_media_filter_costs_minutes_and_water_and_restores_nothing() -> None:
    plain = replace(FILTER, steps=(BACKWASH, replace(BACKWASH, do="settle", flow=0.0, cleaning_rate=None)))
    salted = replace(FILTER, steps=(BACKWASH, BRINE))
    results = [run_of(stage, trigger=NIGHT, days=8.5) for stage in (plain, salted)]
    bare, brined = (result.site for result in results)
    assert bare["washes"] == brined["washes"] == 8
    assert number(brined["downtime_h"]) - number(bare["downtime_h"]) == pytest.approx(8 * 14.0 / 60.0)
    assert number(brined["brine_m3"]) == pytest.approx(8 * 24.0 / 60.0 * 0.25)
    assert number(brined["salt_kg"]) == pytest.approx(96.0)
    assert brined["regenerations"] == brined["regenerations_without"]
    ledger = results[1].solutes["site"]["salt"]
    assert ledger["to_drain"] + ledger["to_service"] + ledger["held"] == pytest.approx(96.0)
    assert ledger["converted"] == 0.0


ONCE = Calendar(every=12 * DAY, at=2 * HOUR)


def gain_of(*brines: float, days: float = 23.0) -> float:
    """Hardness given up by a wholly spent bed [kg CaCO3], by the salt that it took."""
    steps = (WASH, *(replace(BRINE, salt=salt) for salt in brines), DISPLACEMENT, RINSE)
    stage = replace(SOFTENER, steps=steps)
    result = run_of(stage, trigger=ONCE, feed=well(hardness=HARD), demand=steady(0.4 * M3_H), days=days)
    assert result.site["washes"] == 1
    return result.solutes["softener"]["salt"]["converted"] / SALT_PER_HARDNESS


@pytest.mark.parametrize("salt", [4_000.0, 9_000.0, 15_000.0])
def test_a_spent_bed_gives_up_what_its_salt_is_good_for(salt: float) -> None:
    assert gain_of(salt) == pytest.approx(capacity_by_salt(salt) / 1e3, rel=1e-5)


def test_a_softener_treats_again_what_it_gave_up() -> None:
    """Spent twice: its water carries off what came, less what the new bed holds and what the salt made free."""
    result = run_of(SOFTENER, trigger=ONCE, feed=well(hardness=HARD), demand=steady(0.4 * M3_H), days=23.0)
    ledger = result.solutes["softener"]["hardness"]
    gain = capacity_by_salt(12_000.0) / 1e3
    assert ledger["in"] == pytest.approx(ledger["to_service"] + ledger["to_drain"] + ledger["held"], rel=1e-9)
    water = SOFTENER.vessel.area * (1.5 - 0.8 * (1.0 - SOFTENER.layers[0].porosity))
    assert ledger["to_drain"] == pytest.approx(gain, abs=1.5 * HARD * water / 1e3)


def test_salting_twice_restores_more_than_once_and_never_more_than_the_ceiling() -> None:
    once, twice, often = gain_of(9_000.0), gain_of(9_000.0, 9_000.0), gain_of(*[9_000.0] * 5)
    assert once < twice < often
    assert twice == pytest.approx(capacity_by_salt(18_000.0) / 1e3, rel=1e-6)
    assert often == pytest.approx(59e3 * bed_volume(SOFTENER) / 1e3, rel=1e-6)


def test_salt_on_a_bed_that_is_hardly_spent_is_largely_wasted() -> None:
    """Two days at 6.4 m3 spend 3.84 kg; what was free already lies on the flat end of the table."""
    stage = replace(SOFTENER, steps=(WASH, replace(BRINE, salt=24_000.0), DISPLACEMENT, RINSE))
    result = run_of(stage, trigger=NIGHT, feed=well(hardness=HARD), demand=steady(0.1 * M3_H), days=8.5)
    assert result.site["regenerations"] == 8
    ledger = result.solutes["softener"]["salt"]
    assert ledger["converted"] < 0.1 * 8 * 24.0
    assert number(result.site["capacity_lost_fraction"]) > 0.8


@pytest.mark.parametrize("store", [None, Store(salt=0.0, solubility=3.6e5, dissolving=HOUR)])
def test_a_regeneration_without_salt_restores_nothing(store: Store | None) -> None:
    salt = 0.0 if store is None else 12_000.0
    stage = replace(
        SOFTENER, limits=Limits(hardness=30.0), store=store,
        steps=(WASH, replace(BRINE, salt=salt), DISPLACEMENT, RINSE),
    )  # fmt: skip
    result = run_of(stage, trigger=ONCE, feed=well(hardness=HARD), demand=steady(0.4 * M3_H), days=20.0)
    assert (result.site["regenerations"], result.site["regenerations_without"]) == (1, 1)
    assert result.site["salt_kg"] == 0.0
    assert result.solutes["softener"]["salt"]["converted"] == 0.0
    full = capacity_by_salt(12_000.0) / HARD / 0.4  # h to a spent bed
    assert number(result.site["hardness_over_h"]) > 0.9 * (20 * 24 - 1.6 - full)


def test_a_store_runs_out_and_its_last_salt_restores_in_part() -> None:
    """30 kg: two of 12 kg, one of 6 kg, none after; nobody brings more."""
    stage = replace(SOFTENER, store=Store(salt=30_000.0, solubility=3.6e5, dissolving=HOUR))
    result = run_of(stage, trigger=NIGHT, feed=well(hardness=HARD), demand=steady(0.5 * M3_H), days=6.5)
    assert (result.site["regenerations"], result.site["regenerations_without"]) == (6, 3)
    assert number(result.site["salt_kg"]) == pytest.approx(30.0, rel=1e-9)


def test_a_store_that_is_made_up_lasts() -> None:
    """The same, made up again every second day."""
    stage = replace(SOFTENER, store=Store(salt=30_000.0, refilled=2 * DAY, solubility=3.6e5, dissolving=HOUR))
    result = run_of(stage, trigger=NIGHT, feed=well(hardness=HARD), demand=steady(0.5 * M3_H), days=6.5)
    assert (result.site["regenerations"], result.site["regenerations_without"]) == (6, 0)
    assert number(result.site["salt_kg"]) == pytest.approx(72.0, rel=1e-9)


def brine_tank(dissolving: float) -> Stage:
    """A softener whose salt is what its make-up dissolves: 40 L at 360 g/L are 14.4 kg."""
    steps = (WASH, replace(BRINE, salt=None), DISPLACEMENT, RINSE, MAKE_UP)
    return replace(SOFTENER, steps=steps, store=Store(solubility=3.6e5, dissolving=dissolving))


def salt_between(stage: Stage, first: int, last: int) -> float:
    """What the regenerations after `first` up to `last` used, one a night [kg each]."""
    used = [
        number(
            run_of(
                stage, trigger=NIGHT, feed=well(hardness=HARD), demand=steady(0.5 * M3_H), days=count + 0.5
            ).site["salt_kg"]
        )
        for count in (first, last)
    ]
    return (used[1] - used[0]) / (last - first)


def test_make_up_water_dissolves_what_a_litre_holds() -> None:
    assert salt_between(brine_tank(HOUR), 2, 5) == pytest.approx(14.4, rel=1e-6)


def test_brine_drawn_too_soon_is_weak() -> None:
    """A night later the lack of salt has fallen by e^(-t / 20 h), t some 22.5 h from make-up to draught."""
    drawn = salt_between(brine_tank(20 * HOUR), 2, 5)
    between = 24.0 - (8 + 24 + 50 + 12 + 20) / 60.0
    low, high = (14.4 * (1.0 - math.exp(-hours / 20.0)) for hours in (between, between + (8 + 24 + 20) / 60.0))
    assert low <= drawn <= high


# A meter against a clock.

SET = 0.9 * capacity_by_salt(12_000.0) / HARD
"""The volume by which a bed is set to regenerate [m3], less than what its own displacement and rinse spend."""
USE = 4.8  # m3 on a day of factor 1
DAYTIME = (0.0,) * 6 + (USE / 16.0,) * 16 + (0.0,) * 2
FACTORS = (1.0, 0.6, 1.4, 0.9, 0.5, 1.8, 0.3)
WEEKS = 8
OFF = sum(step.seconds for step in SOFTENER.steps) / HOUR


def use(day: int, factors: tuple[float, ...]) -> float:
    return USE * factors[day % 7]


def by_hand_at_once(factors: tuple[float, ...]) -> int:
    """Regenerations the moment the volume is treated, hour by hour; none is delivered meanwhile."""
    count, treated, busy = 0, 0.0, 0.0
    for hour in range(24 * 7 * WEEKS):
        flow, now = DAYTIME[hour % 24] * factors[hour // 24 % 7], float(hour)
        while now < hour + 1.0:
            if busy > now:
                now = min(busy, hour + 1.0)
            elif flow > 0.0 and now + (SET - treated) / flow <= hour + 1.0:
                now += (SET - treated) / flow
                count, treated, busy = count + 1, 0.0, now + OFF
            else:
                treated += flow * (hour + 1.0 - now)
                now = hour + 1.0
    return count


def by_hand_at_night(factors: tuple[float, ...], reserve: float, weekday: bool) -> int:
    """Regenerations at two in the morning where what is left has come down to the reserve, day by day.

    Learned: the largest use of the last two weeks' days of the weekday that begins, once there are two weeks.
    """
    count, treated, uses = 0, 0.0, [0.0]  # up to the first night nothing is used
    for day in range(1, 7 * WEEKS):
        used = use(day - 1, factors)
        uses.append(used)
        treated += used
        assert treated <= SET
        kept = reserve if len(uses) < 15 or not weekday else max(uses[-7], uses[-14])
        if SET - treated <= kept:
            count, treated = count + 1, 0.0
    return count


MOST = max(FACTORS) * USE
WAYS: dict[str, Trigger] = {
    "calendar": Calendar(every=2 * DAY, at=2 * HOUR),
    "volume": Volume(volume=SET, at=None),
    "reserve": VolumeReserve(volume=SET, reserve=MOST, at=2 * HOUR),
    "learned": VolumeLearned(volume=SET, reserve=MOST, quantile=1.0, days=14, by="weekday", at=2 * HOUR),
}


def unlike_days(way: Trigger, factors: tuple[float, ...] = FACTORS) -> RunResult:
    stage = replace(SOFTENER, limits=Limits(hardness=30.0))
    return run_of(
        stage, trigger=way, feed=well(hardness=HARD), demand=by_day(DAYTIME, *factors), days=7.0 * WEEKS
    )  # fmt: skip


def test_the_best_calendar_is_two_days() -> None:
    """No two days in a row use more than is set; some three days do."""
    spans = {n: max(math.fsum(use(day + k, FACTORS) for k in range(n)) for day in range(7)) for n in (2, 3)}
    assert spans[2] <= SET < spans[3]
    result = unlike_days(WAYS["calendar"])
    assert result.site["regenerations"] == 7 * WEEKS // 2 - 1
    assert result.site["hardness_over_h"] == 0.0


def test_regenerations_by_volume_are_those_counted_by_hand() -> None:
    result = unlike_days(WAYS["volume"])
    assert result.site["regenerations"] == by_hand_at_once(FACTORS)
    assert result.site["hardness_over_h"] == 0.0


def test_regenerations_by_a_fixed_reserve_are_those_counted_by_hand() -> None:
    result = unlike_days(WAYS["reserve"])
    assert result.site["regenerations"] == by_hand_at_night(FACTORS, MOST, weekday=False)
    assert result.site["unmet_m3"] == 0.0
    assert result.site["hardness_over_h"] == 0.0


def test_regenerations_by_a_learned_reserve_are_those_counted_by_hand() -> None:
    result = unlike_days(WAYS["learned"])
    assert result.site["regenerations"] == by_hand_at_night(FACTORS, MOST, weekday=True)
    assert result.site["hardness_over_h"] == 0.0


def test_a_meter_uses_less_salt_on_unlike_days_and_none_less_on_equal_ones() -> None:
    salt = {name: number(unlike_days(way).site["salt_kg"]) for name, way in WAYS.items()}
    assert salt["volume"] < salt["learned"] < salt["calendar"]
    equal = (1.0,) * 7
    ways = {
        "calendar": Calendar(every=2 * DAY, at=2 * HOUR),
        "reserve": VolumeReserve(volume=SET, reserve=USE, at=2 * HOUR),
        "learned": replace(WAYS["learned"], reserve=USE),
    }
    counts = {name: unlike_days(way, equal).site["regenerations"] for name, way in ways.items()}
    assert 2.0 * USE <= SET < 3.0 * USE
    assert set(counts.values()) == {(7 * WEEKS - 1) // 2}


def test_one_of_two_in_turn_needs_no_reserve() -> None:
    """Alternating: the spent one regenerates at once, the other serves; nobody goes short."""
    pair = replace(SOFTENER, vessels=Vessels(count=2, arrangement="alternating"))
    result = run_of(
        pair, trigger=WAYS["volume"], feed=well(hardness=HARD), demand=by_day(DAYTIME, *FACTORS), days=7.0 * WEEKS
    )
    assert result.site["unmet_m3"] == 0.0
    assert result.site["regenerations"] == int(math.fsum(use(day, FACTORS) for day in range(7 * WEEKS)) / SET)


# The front.


def volume_restored(result: RunResult, flow: float, days: float, limited: str) -> float:
    """Volume treated until the outlet went over the limit, and stayed there [m3]."""
    return flow * (days * DAY - HOUR * number(result.site[f"{limited}_over_h"]))


def test_a_sharp_front_is_half_through_at_capacity_over_concentration() -> None:
    flow = 0.4 * M3_H
    stage = replace(with_uptake(SOFTENER, half_length=0.01), limits=Limits(hardness=HARD / 2))
    result = run_of(stage, feed=well(hardness=HARD), demand=steady(flow), days=12.0)
    whole = capacity_by_salt(12_000.0)
    assert volume_restored(result, flow, 12.0, "hardness") == pytest.approx(whole / HARD, rel=1e-6)


def test_metals_take_the_resin_by_their_equivalents_and_pass_together() -> None:
    """1 g Fe is 100.087 / 55.845 g CaCO3, 1 g Mn 100.087 / 54.938 (atomic masses)."""
    flow = 0.4 * M3_H
    feed: Feed = well(hardness=200.0, iron=20.0, manganese=10.0)
    stage = replace(with_uptake(SOFTENER, half_length=0.01), limits=Limits(hardness=100.0, manganese=5.0))
    result = run_of(stage, feed=feed, demand=steady(flow), days=14.0)
    together = 200.0 + 20.0 * 100.087 / 55.845 + 10.0 * 100.087 / 54.938
    whole = capacity_by_salt(12_000.0)
    for limited in ("hardness", "manganese"):
        assert volume_restored(result, flow, 14.0, limited) == pytest.approx(whole / together, rel=1e-5)


def test_leakage_passes_whatever_the_bed_holds() -> None:
    stage = with_uptake(SOFTENER, leakage=0.04)
    result = run_of(stage, feed=well(hardness=HARD), demand=steady(0.4 * M3_H), days=1.0)
    assert number(result.site["hardness_leak_kg"]) == pytest.approx(0.4 * 24 * HARD * 0.04 / 1e3, rel=1e-9)


def test_a_blend_goes_round_the_bed() -> None:
    stage = replace(SOFTENER, blend=0.25)
    result = run_of(stage, feed=well(hardness=HARD), demand=steady(0.4 * M3_H), days=1.0)
    assert number(result.site["hardness_leak_kg"]) == pytest.approx(0.4 * 24 * HARD * 0.25 / 1e3, rel=1e-9)


def test_hard_rinse_water_loads_resin_like_service() -> None:
    """An hour more of rinse, 2.4 m3 at 300 g/m3, leaves as much more in the bed."""
    long = replace(SOFTENER, steps=(WASH, BRINE, DISPLACEMENT, replace(RINSE, seconds=72 * MINUTE)))
    trigger = replace(ONCE, every=6 * DAY)
    runs = [
        run_of(stage, trigger=trigger, feed=well(hardness=HARD), demand=by_day(DAYTIME), days=7.3)
        for stage in (SOFTENER, long)
    ]
    short_of, long_of = (result.solutes["softener"]["hardness"] for result in runs)
    assert long_of["held"] - short_of["held"] == pytest.approx(2.4 * HARD / 1e3, rel=1e-3)
    assert long_of["to_service"] == pytest.approx(short_of["to_service"], abs=1e-3)
    assert number(runs[1].runs[-1].capacity_left) < number(runs[0].runs[-1].capacity_left)
