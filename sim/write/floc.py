"""The floc that forms of what is dissolved on its way through a train, and the metal in the solids, for the rule.

The mean feed at the flow of use, its beds as they are when the run begins, as `sim.review.dissolved` has it.
"""

from typing import NamedTuple

from sim.case.records import Case
from sim.case.stage.clean_run import Inflow, inflow_of
from sim.review.dissolved import METALS, floc_along, stated, usual_passages
from sim.review.site import site_of

LEAST_SOLIDS = 1e-9  # g/m3


class Metal(NamedTuple):
    """A metal under a limit of a stage: its limit, what passes dissolved [g/m3], and its share of the solids."""

    name: str
    limit: float
    dissolved: float
    share: float

    @property
    def solids(self) -> float:
        """The solids [g/m3] with which it comes to its limit, 0 or less where it is over it without any."""
        return (self.limit - self.dissolved) / self.share

    def with_solids(self, solids: float) -> float:
        """All of it [g/m3] in water with so many solids [g/m3]."""
        return self.dissolved + self.share * solids


def formed_of(case: Case) -> list[Inflow]:
    """Floc [g/m3] that joins the solids at each stage: ahead of its bed and on its grains."""
    return [formed.floc for formed in floc_along(site_of(case))]


def forms_at(case: Case, k: int) -> bool:
    """Whether stage k gets deposit from what is dissolved, so that no known run can be told by the feed's solids."""
    dosed = any(stage.dosing is not None for stage in case.stages[: k + 1])
    return (dosed and stated(site_of(case), *METALS)) or any(sum(each) > 0.0 for each in formed_of(case)[: k + 1])


def metals_of(case: Case, k: int) -> list[Metal]:
    """The metals that stage k has a limit for, as far as they are among its solids or dissolved behind it."""
    site, shares = site_of(case), dict.fromkeys(METALS, 0.0)
    found = floc_along(site)
    floc = [each.floc for each in found]
    for place, here in enumerate(found[: k + 1]):
        flow, temperature = site.peak, site.mean_temperature
        comes = sum(inflow_of(case.stages, place, case.feed, flow=flow, temperature=temperature, formed=floc))
        for name in METALS:
            shares[name] = (shares[name] * (comes - sum(here.floc)) + here.metal[name]) / max(comes, LEAST_SOLIDS)
    limits, behind = case.stages[k].limits, usual_passages(site)[k].behind
    given = {"iron": limits.iron, "manganese": limits.manganese}
    return [
        Metal(name, limit, behind[name], shares[name])
        for name in METALS
        if (limit := given[name]) is not None and shares[name] > 0.0
    ]
