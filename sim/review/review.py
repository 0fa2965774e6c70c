"""The review of a design: every finding about a case, in the order of the train."""

from collections.abc import Iterator

from sim.case.records import Case
from sim.review.backwash import backwash_findings
from sim.review.dose import coagulant_findings
from sim.review.downstream import downstream_findings
from sim.review.findings import Finding
from sim.review.known import known_findings
from sim.review.meeting import meeting_findings
from sim.review.pump import pump_findings
from sim.review.regeneration import regeneration_findings
from sim.review.service import pressure_findings, service_findings
from sim.review.site import Site, site_of
from sim.review.steps import step_findings
from sim.review.supply import drain_findings, supply_findings
from sim.review.tank import unit_findings, window_findings
from sim.review.uptake import uptake_findings
from sim.review.volumes import policy_findings


def review(case: Case) -> tuple[Finding, ...]:
    """What can be said about a case before anything is run: the site first, then each stage."""
    site = site_of(case)
    findings = list(_site(site))
    for place in range(len(case.stages)):
        findings += _stage(site, place)
    return tuple(findings)


def _site(site: Site) -> Iterator[Finding]:
    yield from drain_findings(site)
    yield from coagulant_findings(site.case)
    yield from downstream_findings(site)
    yield from unit_findings(site)
    yield from pump_findings(site)
    yield from meeting_findings(site)


def _stage(site: Site, place: int) -> Iterator[Finding]:
    stage = site.case.stages[place]
    yield from service_findings(site, stage)
    yield from pressure_findings(site, stage)
    yield from supply_findings(site, stage)
    yield from backwash_findings(site, stage)
    yield from step_findings(site, stage)
    yield from uptake_findings(site, place)
    yield from regeneration_findings(site, stage)
    yield from window_findings(site, stage)
    yield from policy_findings(site, place)
    yield from known_findings(site.case, stage)
