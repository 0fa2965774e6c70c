"""Coagulant ahead of the filters: whether the mass of its dose is counted, and what its floc costs in pressure."""

from sim.case.records import Case
from sim.review.findings import Findings, noted

GROWTH = ("head_loss_gain", "deposit_density")
"""Last parts of the keys that say how deposit adds to the head loss."""


def coagulant_findings(case: Case) -> Findings:
    """One of a dose that the case leaves out where no oxidant forms the floc, or of typical values for its loss."""
    if case.feed.coagulant is None:
        if any(stage.coagulated and stage.dosing is None for stage in case.stages):
            yield noted("dose_left_out", "look", None)
    elif _growth_is_typical(case):
        yield noted("dose_growth_typical", "look", None)


def _growth_is_typical(case: Case) -> bool:
    """Whether some stage with coagulated water takes a typical value for the growth of its head loss."""
    coagulated = tuple(f"stage.{stage.name}.layer." for stage in case.stages if stage.coagulated)
    return any(each.key.startswith(coagulated) and each.key.endswith(GROWTH) for each in case.assumptions)
