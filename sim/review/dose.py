"""Coagulant ahead of the filters: whether the mass of its dose is counted, and what its floc costs in pressure."""

from sim.case.records import Case
from sim.review.findings import Findings, noted

GROWTH = ("head_loss_gain", "deposit_density")
"""Last parts of the keys that say how deposit adds to the head loss."""


def coagulant_findings(case: Case) -> Findings:
    """One of a dose that the case leaves out, or of typical values for the head loss of a dose that it has."""
    if case.feed.coagulant is None:
        if any(stage.coagulated for stage in case.stages):
            yield noted(
                "look",
                None,
                "water coagulated before it comes: the mass of the dose counts only if the solids given hold it",
                "coagulant under [feed] with the product and the dose in use, or solids measured behind the dose",
            )
    elif _growth_is_typical(case):
        yield noted(
            "look",
            None,
            "growth of the head loss by typical values: hydroxide costs more head for each dry gram than silt, "
            "and one value for both understates it",
            "a known_run of the plant in each stage with coagulated water, at the dose in use",
        )


def _growth_is_typical(case: Case) -> bool:
    """Whether some stage with coagulated water takes a typical value for the growth of its head loss."""
    coagulated = tuple(f"stage.{stage.name}.layer." for stage in case.stages if stage.coagulated)
    return any(each.key.startswith(coagulated) and each.key.endswith(GROWTH) for each in case.assumptions)
