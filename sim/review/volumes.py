"""What starts a wash, as far as it can be judged without a run: volumes, shares, missing limits."""

import math

from sim.case.stage.clean_run import CleanRun
from sim.case.stage.longest_run import usual_longest_run
from sim.case.stage.records import Stage
from sim.case.trigger.records import Policy, Trigger, devices
from sim.case.units import DAY
from sim.review import bands
from sim.review.dissolved import solids_at
from sim.review.findings import Band, Finding, Findings, at_least, at_most, judged
from sim.review.regeneration import store_findings
from sim.review.site import Site, wash_volume
from sim.review.uptake import past_the_capacity
from sim.review.without_run import calendar_interval, is_rounded, run_volume

NEED_AN_END = frozenset({"carbon", "resin"})


def policy_findings(site: Site, place: int) -> Findings:
    """Every policy's trigger for the stage at a place of the train."""
    stage = site.case.stages[place]
    yield _longest_run(site, stage)
    for policy in site.case.policies:
        trigger = dict(policy.triggers)[stage.name]
        yield from _rounded(stage, policy, trigger)
        volume = run_volume(site, stage, trigger)
        if volume is not None and volume > 0.0:
            yield from _volumes(site, stage, policy, volume)
            yield from _past_the_limit(site, place, policy, volume)
            yield from past_the_capacity(site, place, policy.name, volume)
            yield from store_findings(site, stage, policy.name, volume)


def _longest_run(site: Site, stage: Stage) -> Finding:
    """A bed that only water or pressure brings to a wash can be idle for months; carbon and resin must not."""
    if stage.longest_run is not None:
        day = at_least(DAY, "hours")
        return judged("longest_run", stage, stage.longest_run, "days", day, below=site.easing("below"))
    usual, needed = usual_longest_run(stage), any(layer.medium in NEED_AN_END for layer in stage.layers)
    return judged(
        "no_longest_run", stage, math.inf, "days", Band(low=usual.low * DAY, high=usual.high * DAY, source="memory"),
        above="needed" if needed else "above", outside="stop" if needed else "look",
    )  # fmt: skip


def _rounded(stage: Stage, policy: Policy, trigger: Trigger) -> Findings:
    """A calendar waits for its hour, which comes once a day."""
    calendar, *_ = devices(trigger)
    if calendar is not None and calendar.every is not None and is_rounded(calendar):
        every = at_most(calendar.every, "calendar")
        yield judged("rounded_interval", stage, calendar_interval(calendar), "days", every, way=policy.name)


def _volumes(site: Site, stage: Stage, policy: Policy, volume: float) -> Findings:
    if stage.layers[0].medium in bands.SOLIDS_MEDIA:
        yield judged(
            "run_loading", stage, volume / stage.vessel.area, "loading", bands.RUN_LOADING,
            below=site.easing("below"), above=None, goal=True, way=policy.name,
        )  # fmt: skip
    yield judged(
        "washwater_share", stage, wash_volume(site, stage) / volume, "share", bands.WASHWATER_SHARE,
        below=None, above=site.easing("above"), goal=True, way=policy.name,
    )  # fmt: skip


def _past_the_limit(site: Site, place: int, policy: Policy, volume: float) -> Findings:
    """What the bed lets through when this much has been treated, at mean flow, feed and temperature.

    The beds before it count as clean, so that it gets at least this much.
    """
    stage = site.case.stages[place]
    captures = any(max(layer.filter_coefficients) > 0.0 for layer in stage.layers)
    if stage.limit is None or site.usual <= 0.0 or not captures:
        return
    inflow = solids_at(site, place)
    run = CleanRun(stage=stage, flow=site.usual / stage.vessels.sharing, temperature=site.mean_temperature)
    load = inflow.filterable * volume / stage.vessel.area
    limit, passing = at_most(stage.limit, "limit"), run.passing(inflow, load) + inflow.fine
    yield judged("solids_before_wash", stage, passing, "solids", limit, way=policy.name)
