"""The largest pressure drop that means anything: what the supply can give, and what a vessel is rated for."""

from typing import Literal, NamedTuple

from sim.case.stage.records import Stage
from sim.review.site import Site, left_at

USUAL_SUPPLY = 4e5
"""Pa: what a supply gives where the case says nothing of it; common practice, from memory."""

Bound = Literal["rating", "pump", "shared line", "usual supply"]


class Most(NamedTuple):
    """A pressure [Pa] and what bounds it."""

    value: float
    bound: Bound


def supply_gives(site: Site) -> Most:
    """What drives the service through all beds together, at the most.

    A pump gives most at hardly any flow; a supply shared with the wash has least left at the largest service flow,
    at which a bed shows most.
    """
    pump, supply = site.case.pump, site.case.supply
    if pump is not None:
        return Most(pump.pressures[0] - pump.delivery, "pump")
    if supply is not None and supply.shared_with_service:
        return Most(left_at(site, site.peak), "shared line")
    return Most(USUAL_SUPPLY, "usual supply")


def bearable(site: Site, stage: Stage) -> Most:
    """The largest pressure drop of a stage: its rating or what the supply gives, whichever is less."""
    given, rating = supply_gives(site), stage.vessel.pressure_rating
    return given if rating is None or rating > given.value else Most(rating, "rating")
