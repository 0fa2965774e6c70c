"""Drawn plants: nothing that a search tried beats what it tells, which keeps every limit that it names."""

import math
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from hydraulics import water
from hydraulics.headloss import ergun_gradient
from sim.case.load import load_case
from sim.case.trigger.records import Pressure
from sim.case.units import DAY
from sim.plant.simulate import simulate
from sim.study.decide.advice import Advice, Advised, Wishes, advise
from sim.study.decide.limits import level, unsure
from sim.study.decide.trials import Bench, Tried
from sim.study.many.workers import local
from tests.decide.plants import Drawn, plants

FEW = settings(
    max_examples=3, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.generate],  # a study takes seconds, so nothing is shrunk
)  # fmt: skip
FEWER = settings(FEW, max_examples=2)
MANY = settings(FEW, max_examples=40, derandomize="CI" in os.environ)
FEW_REPLICATES, REPLICATES = 5, 12
SUPPLY_KPA = 400.0  # common practice, where the case says nothing
WASH_H = 0.5  # longer than any wash of these plants


def studied(
    plant: Drawn, check: Callable[[Bench, Advice, Advised], None], replicates: int = REPLICATES
) -> None:
    with TemporaryDirectory() as folder, local(1) as crew:
        path = plant.write(Path(folder))
        bench = Bench(
            path=path, case=load_case(path), crew=crew, seed=1, replicates=replicates if plant.random else 1
        )
        advice = advise(bench, Wishes())
        for each in advice.policies:
            check(bench, advice, each)


def clean_kpa(plant: Drawn, advice: Advice) -> float:
    """Ergun's law at the largest flow in the coldest water; the published coefficients."""
    (stage,) = advice.case.stages
    (layer,) = stage.layers
    rate = plant.peak / 3600.0 / (math.pi * plant.diameter**2 / 4.0)
    gradient = ergun_gradient(
        rate, water.viscosity(plant.coldest), water.density(plant.coldest), size=layer.size,
        sphericity=layer.sphericity, porosity=layer.porosity, viscous=150.0, inertial=1.75,
    )  # fmt: skip
    return layer.depth * gradient / 1000.0


def keeps(plant: Drawn, advice: Advice, tried: Tried) -> bool:
    """Whether a setting keeps the limits, worked out from its figures and by hand; nothing is random."""
    rating = {"": SUPPLY_KPA, "0.8 bar": 80.0, "3 bar": 300.0}[plant.rating]
    figures, today = tried.figures, advice.today.figures
    (_, trigger) = tried.candidate.policy.triggers[0]
    return bool(
        figures["pressure_kpa"][0] <= min(rating, SUPPLY_KPA)
        and figures["over_limit_h"][0] <= today["over_limit_h"][0] + 1e-6
        and (plant.lost_production is not None or figures["unmet_m3"][0] <= today["unmet_m3"][0] + 1e-6)
        and not (isinstance(trigger, Pressure) and trigger.above / 1000.0 <= clean_kpa(plant, advice))
        and figures["downtime_h"][0] <= 0.25 * 365.25 * 24.0
        and figures["idle"][0] != 1.0
    )


def is_the_least_that_keeps_the_limits(plant: Drawn) -> Callable[[Bench, Advice, Advised], None]:
    def check(bench: Bench, advice: Advice, each: Advised) -> None:
        kept = [one for one in each.tried if keeps(plant, advice, one)]
        if each.best is None:
            assert not kept, each.policy
            return
        assert keeps(plant, advice, each.best)
        assert each.best.mean("cost") <= min(one.mean("cost") for one in kept) * (1.0 + 1e-8)
        policy = each.best.candidate.policy
        alone = simulate(replace(bench.case_at(each.best.candidate.steps), policies=(policy,)), policy.name)
        longest = max(run.end_s - run.start_s for run in alone.runs)
        assert longest <= plant.longest * DAY + WASH_H * 3600.0
        assert max(run.end_dp_kpa for run in alone.runs) <= SUPPLY_KPA

    return check


def is_surely_beaten_by_none(bench: Bench, advice: Advice, each: Advised) -> None:
    """Everything tried, on the confirming replicates; paired, 95 % corrected for their number."""
    for limit in advice.limits if each.best is not None else ():
        assert level(limit, each.best) <= limit.allowed(advice.today) * (1.0 + 1e-9)  # type: ignore[arg-type]
    sure = 1.0 - 0.05 / len(each.tried)
    for one in bench.tried([tried.candidate for tried in each.tried]):
        if unsure(advice.limits, one, advice.today, sure):
            continue
        assert each.best is not None, (each.policy, one.candidate.values)
        less = one.less_than(each.best, "cost", sure)
        assert less is not None
        assert less.low is None or less.low <= 0.0, (each.policy, one.candidate.values)


@given(plants(random=False))
@FEW
def test_no_tried_setting_beats_the_one_told(plant: Drawn) -> None:
    studied(plant, is_the_least_that_keeps_the_limits(plant))


@pytest.mark.long
@given(plants(random=False))
@MANY
def test_no_tried_setting_beats_the_one_told_in_many_plants(plant: Drawn) -> None:
    studied(plant, is_the_least_that_keeps_the_limits(plant))


@given(plants(random=True))
@FEWER
def test_in_random_weather_none_surely_does(plant: Drawn) -> None:
    studied(plant, is_surely_beaten_by_none, FEW_REPLICATES)


@pytest.mark.long
@given(plants(random=True))
@MANY
def test_in_random_weather_none_surely_does_in_many_plants(plant: Drawn) -> None:
    studied(plant, is_surely_beaten_by_none)
