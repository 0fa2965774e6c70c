"""The steps of a wash: whether the rinse replaces what the vessel holds, and which steps only cost time."""

import math

from sim.case.stage.records import Stage, Step
from sim.review import bands
from sim.review.findings import Finding, Findings, judged, noted
from sim.review.site import Site, vessel_water


def step_findings(site: Site, stage: Stage) -> Findings:
    """The rinse, and every step that does nothing on this stage."""
    yield from _rinse(site, stage)
    yield from _idle(site, stage)


def _rinse(site: Site, stage: Stage) -> Findings:
    rinses = _behind_the_backwash(stage, "rinse")
    if not rinses:
        fed = site.case.downstream is not None
        yield noted(
            "stop" if fed else "look",
            stage,
            "rinse to the drain behind the backwash: there is none",
            "a rinse step: what the backwash stirred up is sent on otherwise"
            + (", to the unit downstream" if fed else ""),
        )
        return
    volumes = math.fsum(step.flow * step.seconds for step in rinses) / vessel_water(stage)
    again = len(rinses) > 1
    yield judged(
        stage,
        "volumes of the vessel's water that the rinse replaces",
        volumes,
        "number",
        bands.RINSE_VOLUMES,
        below="a longer rinse, or one with more flow: part of the dirty water stays",
        above=site.easing(
            f"{'one rinse less' if again else 'a shorter rinse'}: nothing is left to displace, and it only lengthens "
            "the downtime"
        ),
    )


def _behind_the_backwash(stage: Stage, what: str) -> list[Step]:
    last = max(place for place, step in enumerate(stage.steps) if step.do == "backwash")
    return [step for step in stage.steps[last + 1 :] if step.do == what]


def _idle(site: Site, stage: Stage) -> Findings:
    """Steps whose place makes them useless: they only lengthen the downtime."""
    before = ""
    for step in stage.steps:
        why = _useless(step, before)
        if why:
            yield Finding(
                level="look",
                stage=stage.name,
                what=f"{step.do} {why}: it only lengthens the downtime",
                measure="minutes",
                value=step.seconds,
                do=site.easing(f"the wash without this {step.do}"),
            )
        elif step.do == "settle":
            yield judged(
                stage,
                "time for the bed to settle behind the backwash",
                step.seconds,
                "minutes",
                bands.SETTLE_TIME,
                above=site.easing("a shorter one: a bed lies still soon, and more only lengthens the downtime"),
            )
        before = step.do


def _useless(step: Step, before: str) -> str:
    if step.do == "settle" and before != "backwash":
        return f"after a {before}, which lifts nothing" if before else "before anything has been lifted"
    if step.do == "rinse" and not before:
        return "before the backwash"
    return ""
