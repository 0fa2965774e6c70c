"""What starts a wash, as far as it can be judged without a run: volumes, shares, missing limits."""

from collections.abc import Iterator

from sim.case.clean_run import CleanRun, inflow_of
from sim.case.longest_run import usual_longest_run
from sim.case.records import Stage
from sim.case.series import mean_of
from sim.case.trigger_records import Policy
from sim.review import bands
from sim.review.findings import Band, Finding, judged
from sim.review.site import Site, wash_volume
from sim.review.triggers import run_volume

Findings = Iterator[Finding]

NEED_AN_END = frozenset({"carbon", "resin"})


def policy_findings(site: Site, place: int) -> Findings:
    """Every policy's trigger for the stage at a place of the train."""
    stage = site.case.stages[place]
    yield _longest_run(stage)
    for policy in site.case.policies:
        trigger = dict(policy.triggers)[stage.name]
        volume = run_volume(site, stage, trigger)
        if volume is not None and volume > 0.0:
            yield from _volumes(site, stage, policy, volume)
            yield from _past_the_limit(site, place, policy, volume)


def _longest_run(stage: Stage) -> Finding:
    """A bed that nothing but water or pressure moves to a wash can stand for months; carbon and resin must not."""
    medium = next((layer.medium for layer in stage.layers if layer.medium in NEED_AN_END), None)
    what = f"longest run of the stage{'' if medium is None else f', which holds {medium}'}"
    if stage.longest_run is not None:
        return Finding(level="fine", stage=stage.name, what=what, measure="days", value=stage.longest_run)
    usual = usual_longest_run(stage)
    return Finding(
        level="look" if medium is None else "stop",
        stage=stage.name,
        what=f"{what}: there is none",
        do=f"longest_run in its [[stage]], for every policy: a bed that stands grows, packs and feeds on what it "
        f"holds (usual are {usual.low:g} to {usual.high:g} d; {usual.source})",
    )


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
    if stage.limit is None or site.usual <= 0.0 or not captures:
        return
    solids = mean_of(site.case.feed.solids)
    inflow = inflow_of(site.case.stages, place, flow=site.usual, solids=solids, temperature=site.mean_temperature)
    run = CleanRun(stage=stage, flow=site.usual / stage.vessels.sharing, temperature=site.mean_temperature)
    load = inflow.filterable * volume / stage.vessel.area
    yield judged(
        stage.name,
        f'solids in the filtered water just before a wash, mean feed and flow, "{policy.name}"',
        run.passing(inflow, load) + inflow.fine,
        "solids",
        Band(high=stage.limit, source="the limit of the case; capture by the case's constants, storms left out"),
        above="washes closer together: a mean day takes the bed past its limit before this one",
    )
