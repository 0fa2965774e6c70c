"""What starts a wash, as far as it can be judged without a run: volumes, shares, hours that meet, missing limits."""

import math
from collections.abc import Iterator
from itertools import combinations

from sim.case.clean_run import CleanRun, inflow_of
from sim.case.records import Calendar, Policy, Stage, Trigger, Volume, VolumeReserve
from sim.case.series import mean_of
from sim.case.units import DAY
from sim.review import bands
from sim.review.findings import Band, Finding, judged
from sim.review.site import Site, largest_day, run_volume, wash_length, wash_volume

Findings = Iterator[Finding]

NEED_A_LATEST = frozenset({"carbon", "resin"})


def policy_findings(site: Site, place: int) -> Findings:
    """Every policy's trigger for the stage at a place of the train."""
    stage = site.case.stages[place]
    for policy in site.case.policies:
        trigger = dict(policy.triggers)[stage.name]
        yield from _latest(stage, policy, trigger)
        volume = run_volume(site, trigger)
        if volume is not None and volume > 0.0:
            yield from _volumes(site, stage, policy, volume)
            yield from _past_the_limit(site, place, policy, volume)


def _latest(stage: Stage, policy: Policy, trigger: Trigger) -> Findings:
    """Carbon and resin that nothing but water or pressure moves to a wash can stand for months."""
    medium = next((layer.medium for layer in stage.layers if layer.medium in NEED_A_LATEST), None)
    if medium is None or isinstance(trigger, Calendar):
        return
    what = f'latest time between washes of {medium} under "{policy.name}"'
    if trigger.latest is None:
        yield Finding(
            level="stop",
            stage=stage.name,
            what=f"{what}: there is none",
            do="latest beside the trigger: a bed that stands grows, packs and feeds on what it holds",
        )
    else:
        yield Finding(level="fine", stage=stage.name, what=what, measure="days", value=trigger.latest)


def _volumes(site: Site, stage: Stage, policy: Policy, volume: float) -> Findings:
    if stage.layers[0].medium in bands.SOLIDS_MEDIA:
        yield judged(
            stage.name,
            f'volume treated between washes over the area of the bed, "{policy.name}"',
            volume / stage.vessel.area,
            "loading",
            bands.RUN_LOADING,
            below=site.easing("washes further apart, if limit and pressure allow: each one costs water and time"),
            goal=True,
        )
    yield judged(
        stage.name,
        f'water of a wash over what is treated between two, "{policy.name}"',
        wash_volume(site, stage) / volume,
        "share",
        bands.WASHWATER_SHARE,
        above=site.easing("washes further apart, or shorter ones"),
        goal=True,
    )


def _past_the_limit(site: Site, place: int, policy: Policy, volume: float) -> Findings:
    """What the bed lets through when this much has been treated, at mean flow, feed and temperature.

    The beds before it count as clean, so that it gets at least this much.
    """
    stage = site.case.stages[place]
    captures = any(max(layer.filter_coefficients) > 0.0 for layer in stage.layers)
    if stage.limit is None or site.mean <= 0.0 or not captures:
        return
    solids = mean_of(site.case.feed.solids)
    inflow = inflow_of(site.case.stages, place, flow=site.mean, solids=solids, temperature=site.mean_temperature)
    run = CleanRun(stage=stage, flow=site.mean, temperature=site.mean_temperature)
    load = inflow.filterable * volume / stage.vessel.area
    yield judged(
        stage.name,
        f'solids in the filtered water just before a wash, mean feed and flow, "{policy.name}"',
        run.passing(inflow, load) + inflow.fine,
        "solids",
        Band(high=stage.limit, source="the limit of the case; capture by the case's constants, storms left out"),
        above="washes closer together: a mean day takes the bed past its limit before this one",
    )


def site_policy_findings(site: Site) -> Findings:
    """What the triggers of several stages make together."""
    for policy in site.case.policies:
        yield from _meeting(site, policy)
        yield from _day_of_washes(site, policy)


def _meeting(site: Site, policy: Policy) -> Findings:
    """Stages whose washes fall into the same hour: one of them waits."""
    timed = [
        (stage, trigger.at, wash_length(stage))
        for stage, (_, trigger) in zip(site.case.stages, policy.triggers, strict=True)
        if isinstance(trigger, Calendar | Volume | VolumeReserve) and trigger.at is not None
    ]
    for (one, at, length), (other, other_at, other_length) in combinations(timed, 2):
        overlap = _overlap(at, length, other_at, other_length)
        if overlap > 0.0:
            yield Finding(
                level="look",
                stage=None,
                what=f'time that the washes of {one.name} and {other.name} share where both are due, "{policy.name}"',
                measure="minutes",
                value=overlap,
                high=0.0,
                do="start hours further apart than a wash lasts: one waits for the other and starts late",
            )


def _overlap(one: float, length: float, other: float, other_length: float) -> float:
    """Seconds that two stretches of a day share, midnight included."""
    shared = 0.0
    for shift in (-DAY, 0.0, DAY):
        shared += max(0.0, min(one + length, other + shift + other_length) - max(one, other + shift))
    return shared


def _day_of_washes(site: Site, policy: Policy) -> Findings:
    """All that a day of washes can bring to a sump with a limit by the day."""
    sump = None if site.case.drain is None else site.case.drain.sump
    if sump is None or sump.daily_limit is None:
        return
    most = math.fsum(
        wash_volume(site, stage) * _washes_a_day(site, trigger)
        for stage, (_, trigger) in zip(site.case.stages, policy.triggers, strict=True)
    )
    by_hours = all(isinstance(trigger, Calendar) for _, trigger in policy.triggers)
    yield judged(
        None,
        f'water to the sump on a day when every stage washes, "{policy.name}"',
        most,
        "volume",
        Band(high=sump.daily_limit, source="the drain of the case"),
        above="stages that wash on different days, shorter washes, or a sump that may be given more",
        outside="stop" if by_hours else "look",
    )


def _washes_a_day(site: Site, trigger: Trigger) -> float:
    """The most washes that a day can bring, one at least: where only a run can tell, one."""
    match trigger:
        case Calendar(every=every):
            return max(1.0, math.ceil(DAY / every))
        case Volume(volume=volume, at=None):
            return max(1.0, math.ceil(largest_day(site) / volume))
    return 1.0
