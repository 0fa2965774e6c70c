"""What starts a wash, as far as it can be judged without a run: volumes, shares, missing limits."""

from sim.case.stage.clean_run import CleanRun, inflow_of
from sim.case.stage.longest_run import usual_longest_run
from sim.case.stage.records import Stage
from sim.case.trigger.records import Policy, Trigger, devices
from sim.case.units import DAY
from sim.review import bands
from sim.review.findings import Band, Finding, Findings, judged, noted
from sim.review.site import Site, wash_volume
from sim.review.without_run import calendar_interval, run_volume

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


def _longest_run(site: Site, stage: Stage) -> Finding:
    """A bed that nothing but water or pressure moves to a wash can stand for months; carbon and resin must not."""
    medium = next((layer.medium for layer in stage.layers if layer.medium in NEED_AN_END), None)
    what = f"longest run of the stage{'' if medium is None else f', which holds {medium}'}"
    if stage.longest_run is not None:
        return judged(
            stage, what, stage.longest_run, "days",
            Band(low=DAY, source="hours of a day, each of which comes once"),
            below=site.easing(
                "a day or more: a shorter one starts washes beside those of every other trigger, however close, and "
                "one shorter than its own wash never leaves the filter in service"
            ),
        )  # fmt: skip
    usual = usual_longest_run(stage)
    return noted(
        "look" if medium is None else "stop",
        stage,
        f"{what}: there is none",
        f"longest_run in its [[stage]], for every policy: a bed that stands grows, packs and feeds on what it "
        f"holds (usual are {usual.low:g} to {usual.high:g} d; {usual.source})",
    )


def _rounded(stage: Stage, policy: Policy, trigger: Trigger) -> Findings:
    """A calendar waits for its hour, which comes once a day."""
    calendar, _, _ = devices(trigger)
    if calendar is not None and calendar_interval(calendar) > calendar.every:
        yield Finding(
            level="look",
            stage=stage.name,
            what=f'time between washes that the calendar of "{policy.name}" comes to: its hour rounds it up',
            measure="days",
            value=calendar_interval(calendar),
            high=calendar.every,
            source="every and at of the case",
            do="every in whole days, to see what it comes to; more than one wash a day takes another trigger",
        )


def _volumes(site: Site, stage: Stage, policy: Policy, volume: float) -> Findings:
    if stage.layers[0].medium in bands.SOLIDS_MEDIA:
        yield judged(
            stage,
            f'volume treated between washes over the area of the bed, "{policy.name}"',
            volume / stage.vessel.area,
            "loading",
            bands.RUN_LOADING,
            below=site.easing("washes further apart, if limit and pressure allow: each one costs water and time"),
            goal=True,
        )
    yield judged(
        stage,
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
    if stage.limit is None or site.usual <= 0.0 or not captures:
        return
    inflow = inflow_of(site.case.stages, place, site.case.feed, flow=site.usual, temperature=site.mean_temperature)
    run = CleanRun(stage=stage, flow=site.usual / stage.vessels.sharing, temperature=site.mean_temperature)
    load = inflow.filterable * volume / stage.vessel.area
    yield judged(
        stage,
        f'solids in the filtered water just before a wash, mean feed and flow, "{policy.name}"',
        run.passing(inflow, load) + inflow.fine,
        "solids",
        Band(high=stage.limit, source="the limit of the case; capture by the case's constants, storms left out"),
        above="washes closer together: a mean day takes the bed past its limit before this one",
    )
