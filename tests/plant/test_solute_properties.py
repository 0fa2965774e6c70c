"""Treated trains drawn at random: ledgers of water, solids and every solute, a run in parts, compiled and plain."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings

from sim.case.records import Case
from sim.plant.records import RunResult
from sim.plant.simulate import simulate
from tests.plant.random_cases import POLICY
from tests.plant.random_trains import treated_trains
from tests.plant.test_properties import compiled_and_plain_agree, number
from tests.plant.test_train_properties import (
    FEW,
    MANY,
    a_run_in_parts_is_a_run_in_one,
    figures_make_sense,
    one_washes_at_a_time,
)

CLOSES_TO = 1e-9
CAME = ("in", "dosed", "formed")
WENT = ("to_service", "to_drain", "held", "converted")


def water_and_solids_close(case: Case, result: RunResult) -> None:
    """Solids in, dosed and formed are out or held; what goes to drain is told by step; demand is met or not."""
    for figures in (*result.stages.values(), result.site):
        out = math.fsum(number(figures, f"solids_{way}_kg") for way in ("to_service", "to_drain", "held"))
        came = number(figures, "solids_in_kg")
        came += math.fsum(figures[f"solids_{way}_kg"] or 0.0 for way in ("dosed", "formed"))
        assert came == pytest.approx(out, rel=CLOSES_TO, abs=1e-12)
        steps = ("backwash", "rinse", "brine", "displacement")
        drained = math.fsum(figures[f"{step}_m3"] or 0.0 for step in steps)
        assert number(figures, "drain_m3") == pytest.approx(drained, rel=CLOSES_TO, abs=1e-12)


def every_solute_closes(case: Case, result: RunResult) -> None:
    """For each stage and the site; only a bed that began with something may hold less than it began with."""
    assert set(result.solutes) in (set(), {"site", *(stage.name for stage in case.stages)})
    for place, ledger in result.solutes.items():
        for solute, row in ledger.items():
            assert all(math.isfinite(each) for each in row.values()), (place, solute, row)
            least = -math.inf if solute == "hardness" else -1e-12
            assert row["held"] >= least, (place, solute, row)
            assert all(each >= -1e-12 for way, each in row.items() if way != "held"), (place, solute, row)
            came = math.fsum(row[column] for column in CAME)
            went = math.fsum(row[column] for column in WENT)
            assert came == pytest.approx(went, rel=CLOSES_TO, abs=1e-12), (place, solute, row)


def the_site_is_its_stages(case: Case, result: RunResult) -> None:
    """What is dosed, held and converted on the site is so in its stages; its service is that of the last."""
    for solute, row in result.solutes.get("site", {}).items():
        of_stages = [result.solutes[stage.name][solute] for stage in case.stages]
        for column in ("dosed", "formed", "held", "converted"):
            together = math.fsum(each[column] for each in of_stages)
            assert row[column] == pytest.approx(together, rel=1e-9, abs=1e-12), (solute, column)
        assert row["to_service"] == pytest.approx(of_stages[-1]["to_service"], rel=1e-9, abs=1e-12), solute


def regenerations_make_sense(case: Case, result: RunResult) -> None:
    site = result.site
    assert (site["regenerations_without"] or 0.0) <= (site["regenerations"] or 0.0)
    assert 0.0 <= (site["capacity_lost_fraction"] or 0.0) <= 1.0 + 1e-9
    for run in result.runs:
        assert run.capacity_left is None or -1e-9 <= run.capacity_left <= 1.0 + 1e-9
    if result.solutes:
        assert result.solutes["site"]["salt"]["in"] == pytest.approx(site["salt_kg"] or 0.0, rel=1e-9, abs=1e-12)


def holds_for(case: Case) -> None:
    result = simulate(case, POLICY, seed=7)
    assert repr(simulate(case, POLICY, seed=7)) == repr(result)
    water_and_solids_close(case, result)
    every_solute_closes(case, result)
    the_site_is_its_stages(case, result)
    regenerations_make_sense(case, result)
    figures_make_sense(case, result)
    one_washes_at_a_time(case, result)
    a_run_in_parts_is_a_run_in_one(case, result)


def try_on(check: Callable[[Case], None], most_days: float, how_many: settings) -> None:
    how_many(given(treated_trains(most_days))(check))()


def test_a_few_treated_trains_hold() -> None:
    try_on(holds_for, 10.0, settings(FEW, max_examples=4))


@pytest.mark.long
def test_many_treated_trains_hold() -> None:
    try_on(holds_for, 16.0, MANY)


def test_compiled_and_plain_agree_on_a_few_treated_trains() -> None:
    try_on(compiled_and_plain_agree, 1.0, settings(FEW, max_examples=2))


@pytest.mark.long
def test_compiled_and_plain_agree_on_twenty_treated_trains() -> None:
    try_on(compiled_and_plain_agree, 2.0, settings(FEW, max_examples=20))
