"""Cheap runs in place of a plant: figures drawn from known laws by the weather of a replicate."""

import time
from dataclasses import replace

from sim.case.records import Case
from sim.case.trigger.records import Calendar, Policy
from sim.plant.ledger import CHEMISTRY
from sim.study.many.outcome import YEAR, Outcome
from sim.tell.kpis import KPIS
from sim.weather.streams import stream
from tests.study.made import made_case

MEAN, RISK, ALLOWED_H = 50.0, 0.2, 24.0  # of over_limit_h and of a year with more than allowed


def case_of(
    names: tuple[str, ...] = ("one", "two"), *, days: float = 365.0, allowed_h: float | None = ALLOWED_H
) -> Case:
    """A case whose runs last so long."""
    made = made_case(names=names)
    allowed = None if allowed_h is None else allowed_h * 3600.0
    return replace(made, run=replace(made.run, length=days * 86_400.0, allowed_over_limit=allowed))


def with_every(case: Case, days: float, *names: str) -> Case:
    """The case with another calendar in these policies."""
    other = Calendar(every=days * 86_400.0, at=10_800.0)
    changed = {name: Policy(name=name, triggers=(("filter", other),)) for name in names}
    return replace(case, policies=tuple(changed.get(each.name, each) for each in case.policies))


def noisy(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """Skew hours over the limit of mean MEAN that the weather decides; a policy that washes less adds its own."""
    weather = stream("made weather", seed=seed, replicate=replicate)
    ((_, trigger),) = next(each.triggers for each in case.policies if each.name == policy)
    assert isinstance(trigger, Calendar)
    days = trigger.every / 86_400.0
    hours = float(weather.gamma(4.0, MEAN / 4.0)) + (days - 4.0) * (1.0 + float(weather.normal(0.0, 0.2)))
    years = int(case.run.length // YEAR)
    avoidable = tuple(ALLOWED_H + (1.0 if each < RISK else -1.0) for each in weather.random(years).tolist())
    figures = {
        **dict.fromkeys((*KPIS, *CHEMISTRY)),
        "washes": 365.0 / days, "downtime_h": 365.0 / days / 4.0, "treated_m3": 4e4, "unmet_m3": 0.0,
        "drain_m3": 4.0 * 365.0 / days, "backwash_m3": 3.0 * 365.0 / days, "rinse_m3": 365.0 / days,
        "drain_fraction": 0.01, "over_limit_h": hours, "over_limit_unavoidable_h": 0.0,
        "breakthrough_risk": 0.1, "wash_short_fraction": 1.0, "longest_run_share": 0.0, "pressure_share": 0.0,
        "solids_to_service_kg": hours / 50.0, "dirty_water_min": 5.0, "dirty_water_kg": 0.01,
        "dirty_water_peak_mg_l": 1.0,
        "peak_dp_kpa": 20.0, "mean_run_h": 24.0 * days, "unused_capacity": None, "bad_year_share": None,
    }  # fmt: skip
    return Outcome(
        policy=policy, replicate=replicate, site=figures, stages={"filter": figures}, avoidable_h=avoidable
    )


def slow(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """The same after a hundredth of a second."""
    time.sleep(0.01)
    return noisy(case, policy, seed, replicate)


def failing(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """The same, but the fourth replicate cannot go on."""
    if replicate == 3:
        from sim.plant.errors import StalledError

        raise StalledError(86_400.0, "filter", "rinse")
    return noisy(case, policy, seed, replicate)
