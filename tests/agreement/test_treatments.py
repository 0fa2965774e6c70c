"""Trains for what is dissolved through the product, against a small-tick twin of them.

Why they differ: a tick ends a run up to half a tick late each time, and what the twin puts into a tick meets the bed
as it was when the tick began. Both shrink with the tick.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from sim.case.chemistry.records import Limits, Store
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.train.records import Downstream, Vessels
from sim.case.trigger.records import Calendar, Policy, Trigger, Volume, VolumeReserve
from sim.plant import RunResult, simulate
from tests.agreement.treatments import train_of
from tests.plant.builders import BACKWASH, DAY, FILTER, HOUR, M3_H, MINUTE, SAND, make_case
from tests.plant.solute_builders import (
    BRINE,
    CARBON,
    CHLORINE,
    DISPLACEMENT,
    MAKE_UP,
    OXIDISER,
    RINSE,
    SOFTENER,
    WASH,
    by_day,
    well,
    with_uptake,
)
from tests.twin.dissolved import DissolvedResult, ledger_error, run_dissolved

POLICY = "compared"
TICK = 30.0
DAYTIME = (0.1,) * 6 + (0.45, 0.8, 0.6, 0.3) * 4 + (0.1,) * 2  # m3/h
UNIT = Downstream(membrane=None, unit=None, feed_limit=None, cartridge=None)
NIGHT = Calendar(every=2 * DAY, at=3 * HOUR)
MANGANESE_WELL = well(iron=2.2, manganese=0.8)
SIEVE = replace(
    FILTER,
    name="sieve",
    limit=None,
    vessel=SOFTENER.vessel,
    layers=(replace(SAND, depth=0.6, filter_coefficients=(6.0,)),),
    steps=(replace(BACKWASH, flow=4.0 * M3_H, cleaning_rate=0.5 / MINUTE), RINSE),
    dosing=replace(CHLORINE, dose=2.4, unfilterable=0.02),
)


def case_of(*washed: tuple[Stage, Trigger], days: float, **given: object) -> Case:
    """Stages, each with what starts its wash."""
    stages = tuple(stage for stage, _ in washed)
    triggers = tuple((stage.name, trigger) for stage, trigger in washed)
    return make_case(
        stages=stages, policies=(Policy(name=POLICY, triggers=triggers),), days=days,
        **{"demand": by_day(DAYTIME), "downstream": UNIT, **given},
    )  # fmt: skip


def softener_by_volume() -> Case:
    """Leakage, a blend, raw wash water that brings hardness."""
    stage = replace(
        with_uptake(SOFTENER, leakage=0.03), blend=0.1, limits=Limits(hardness=60.0),
        steps=(replace(WASH, water="raw"), BRINE, DISPLACEMENT, RINSE),
    )  # fmt: skip
    return case_of((stage, Volume(volume=16.5, at=None)), days=8.0, feed=well(hardness=310.0))


def softener_spent_before_its_night() -> Case:
    """A calendar too slow for its bed: the front passes, and hard water goes round while it regenerates."""
    stage = replace(SOFTENER, limits=Limits(hardness=60.0), while_washing="passes raw")
    return case_of((stage, Calendar(every=3 * DAY, at=3 * HOUR)), days=10.0, feed=well(hardness=330.0))


def softener_hardly_rinsed() -> Case:
    """A short displacement and no rinse: brine and what the bed gave up go on to service."""
    short = replace(DISPLACEMENT, seconds=30 * MINUTE)
    stage = replace(SOFTENER, limits=Limits(hardness=60.0), steps=(WASH, BRINE, short))
    return case_of((stage, VolumeReserve(volume=14.0, reserve=8.0, at=3 * HOUR)), days=8.0, feed=well(hardness=300.0))


def softener_with_a_brine_tank() -> Case:
    stage = replace(
        SOFTENER, store=Store(solubility=3.6e5, dissolving=9 * HOUR),
        steps=(WASH, replace(BRINE, salt=None), DISPLACEMENT, RINSE, MAKE_UP),
    )  # fmt: skip
    return case_of((stage, Calendar(every=DAY, at=3 * HOUR)), days=7.0, feed=well(hardness=300.0))


def softeners_in_turn_with_iron() -> Case:
    """Iron and manganese on resin, a part of them for good; two vessels that take turns."""
    stage = replace(
        with_uptake(SOFTENER, fouling=0.4), limits=Limits(hardness=30.0, iron=0.3),
        vessels=Vessels(count=2, arrangement="alternating"),
    )  # fmt: skip
    feed = well(hardness=260.0, iron=6.0, manganese=2.5)
    return case_of((stage, Volume(volume=15.0, at=None)), days=10.0, feed=feed)


def iron_by_chlorine_then_carbon() -> Case:
    sieve = replace(SIEVE, limits=Limits(iron=0.3))
    carbon = replace(CARBON, limits=Limits(chlorine=0.02))
    return case_of(
        (sieve, NIGHT), (carbon, Calendar(every=3 * DAY, at=4 * HOUR)), days=8.0, feed=well(iron=2.6, sulphide=0.15)
    )  # fmt: skip


def metals_by_permanganate() -> Case:
    """All three at once, a little too much of it."""
    sieve = replace(
        SIEVE, limits=Limits(iron=0.3, manganese=0.2),
        dosing=replace(CHLORINE, product="permanganate", dose=4.6, unfilterable=0.03),
    )  # fmt: skip
    return case_of((sieve, NIGHT), days=6.0, feed=well(iron=1.8, manganese=0.7, sulphide=0.4))


def media_that_lacks_oxidant() -> Case:
    """Manganese and iron on media, half of their oxidant with them, the rest by batch of permanganate."""
    stage = replace(
        with_uptake(OXIDISER, capacity=9.0), limits=Limits(iron=0.3, manganese=0.1),
        dosing=replace(CHLORINE, dose=1.0, unfilterable=0.0),
    )  # fmt: skip
    return case_of((stage, NIGHT), days=9.0, feed=MANGANESE_WELL)


def both_kinds_of_chlorine_on_a_short_carbon() -> Case:
    """A capacity that wears off within the run, raw wash water."""
    stage = replace(
        with_uptake(CARBON, capacity=1500.0, half_length=0.2), limits=Limits(chlorine=0.6),
        steps=(replace(WASH, water="raw"), RINSE),
    )  # fmt: skip
    feed = well(free_chlorine=2.0, combined_chlorine=0.3)
    return case_of((stage, NIGHT), days=9.0, feed=feed)


def all_in_series() -> Case:
    """Iron out, chlorine out, hardness out."""
    stages = (
        (replace(SIEVE, limits=Limits(iron=0.3)), NIGHT),
        (replace(CARBON, limits=Limits(chlorine=0.05)), Calendar(every=3 * DAY, at=4 * HOUR)),
        (replace(SOFTENER, limits=Limits(hardness=30.0)), VolumeReserve(volume=14.0, reserve=8.0, at=HOUR)),
    )
    return case_of(*stages, days=6.0, feed=well(hardness=300.0, iron=2.6, manganese=0.05))


BUILT: dict[str, Callable[[], Case]] = {
    build.__name__: build
    for build in (
        softener_by_volume,
        softener_spent_before_its_night,
        softener_hardly_rinsed,
        softener_with_a_brine_tank,
        softeners_in_turn_with_iron,
        iron_by_chlorine_then_carbon,
        metals_by_permanganate,
        media_that_lacks_oxidant,
        both_kinds_of_chlorine_on_a_short_carbon,
        all_in_series,
    )
}


@cache
def product(name: str) -> RunResult:
    return simulate(BUILT[name](), POLICY)


@cache
def twin_run(name: str) -> DissolvedResult:
    return run_dissolved(train_of(BUILT[name](), POLICY), TICK)


SHOWN = ("softener_by_volume", "metals_by_permanganate")
"""What the default run compares: a twin takes seconds."""
EACH = pytest.mark.parametrize(
    "name", [name if name in SHOWN else pytest.param(name, marks=pytest.mark.long) for name in BUILT]
)


@EACH
def test_the_twin_loses_nothing(name: str) -> None:
    assert ledger_error(twin_run(name)) < 1e-9


COUNTED = ("washes", "regenerations", "regenerations_without")
GIVEN = ("salt_kg", "permanganate_kg", "brine_m3", "displacement_m3", "makeup_m3", "downtime_h")
SHARED = {"treated_m3": 1e-4, "solids_formed_kg": 1e-4, "oxidant_exposure_g_h_m3": 5e-3, "oxidant_peak_mg_l": 3e-3}
"""Each with what counts as nothing. Of what a regenerant left the product lets a millionth lie, the twin nothing: of
600 g of permanganate in 0.13 m3 that is a peak of 3e-3, and at the 0.1 m3/h of a night an exposure of 4e-3."""
LEAKS = 2e-5  # of the hardness that came: the tail of a front, which half a tick moves by more than 2 % of itself


@EACH
def test_regenerations_and_what_they_use(name: str) -> None:
    """Counts are the same; what a step is given is given, but for what a tank has dissolved up to a tick."""
    ours, theirs = product(name).site, twin_run(name).site
    for key in COUNTED:
        assert (ours[key] or 0) == theirs[key], key
    for key in GIVEN:
        assert (ours[key] or 0.0) == pytest.approx(theirs[key], rel=2e-3), key


@EACH
def test_what_reaches_service_and_forms(name: str) -> None:
    ours, theirs = product(name).site, twin_run(name).site
    for key, least in SHARED.items():
        assert (ours[key] or 0.0) == pytest.approx(theirs[key], rel=2e-2, abs=least), key
    came = product(name).solutes["site"]["hardness"]["in"]
    assert (ours["hardness_leak_kg"] or 0.0) == pytest.approx(theirs["hardness_leak_kg"], rel=2e-2, abs=LEAKS * came)


@EACH
def test_hours_over_limits(name: str) -> None:
    """To a tick at both edges of each filter run, or 2 %."""
    ours, theirs, runs = product(name).site, twin_run(name).site, len(product(name).runs)
    for key in ("hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h"):
        if key in theirs:
            assert ours[key] == pytest.approx(theirs[key], rel=2e-2, abs=2 * runs * TICK / HOUR), key


@EACH
def test_ledgers_of_every_stage(name: str) -> None:
    """Each column to 2 % of what came, by species; what is held in a bed and what is converted are one sum here."""
    for stage, ledger in twin_run(name).ledgers.items():
        for solute, ours in product(name).solutes[stage].items():
            theirs = ledger[solute]
            came = theirs["in"] + theirs["dosed"]
            slack = 2e-2 * came + 1e-6
            for column in ("in", "dosed", "to_service", "to_drain"):
                assert ours[column] == pytest.approx(theirs[column], abs=slack), (stage, solute, column)
            kept = [row["held"] + row["converted"] for row in (ours, theirs)]
            assert kept[0] == pytest.approx(kept[1], abs=slack), (stage, solute)


@EACH
def test_capacity_left_as_washes_begin(name: str) -> None:
    result = product(name)
    for stage, shares in twin_run(name).free_at_wash.items():
        ended = sorted((run.end_s, run.capacity_left) for run in result.runs if run.stage == stage and run.cause)
        assert [left for _, left in ended if left is not None] == pytest.approx(shares, abs=1e-2)
