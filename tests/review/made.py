"""A design with nothing to stop for or look at, and ways to spoil one thing of it."""

from dataclasses import replace
from typing import Any

from sim.case.chemistry.records import Carbon
from sim.case.records import Case
from sim.case.series.records import Feed, Steady
from sim.case.stage.records import Stage, Step
from sim.case.train.records import Downstream, HoldUnit, Pump, Tank, Unit, Vessels
from sim.case.trigger.records import Policy, Trigger, Volume
from sim.case.wash.records import Drain, Supply
from sim.review.findings import Finding, FindingName
from sim.review.review import review
from tests.plant.builders import ANTHRACITE, BACKWASH, FILTER, M3_H, MINUTE, RINSE, SAND, make_case, policy, steady

FLOW = 5.5 * M3_H
COAL = replace(ANTHRACITE, size=1.2e-3, sublayer_sizes=(1.2e-3,))
FINE_SAND = replace(SAND, size=0.55e-3, sublayer_sizes=(0.55e-3,))
CHLORINE_BED = Carbon(capacity=2.7e6, half_length=0.06, combined_half_length=0.6, reference_rate=20.0 * M3_H)
CARBON = replace(
    COAL, medium="carbon", depth=0.7, size=0.9e-3, sublayer_sizes=(0.9e-3,), grain_density=1650.0, uptake=CHLORINE_BED
)
WASH = replace(BACKWASH, flow=17.5 * M3_H)
SETTLE = Step(do="settle", seconds=2 * MINUTE, flow=0.0, water="raw", water_solids=None, cleaning_rate=None)
STAGE = replace(FILTER, layers=(COAL, FINE_SAND), steps=(WASH, RINSE), longest_run=777_600.0)
DRAIN = Drain(pipe=None, air_gap=True, air_gap_height=None, sump=None, capacity=20.0 * M3_H)
SUPPLY = Supply(flows=(0.0, 20.0 * M3_H), pressures=(3e5, 3e5), pipe=None, shared_with_service=False, others=0.0)
MEMBRANE = Downstream(membrane=None, unit=None, feed_limit=None, cartridge=None)
TANK = Tank(volume=10.0, start_below=4.0, stop_above=9.0, level=9.0)
UNIT = Unit(feed_flow=FLOW, recovery=0.75, tank=TANK)
WHOLE = HoldUnit()
TWO_VESSELS = Vessels(count=2, arrangement="parallel", inhibit_while_sister_washes=True)
PUMP = Pump(flows=(0.0, 10.0 * M3_H), pressures=(3e5, 3e5), delivery=2e5, other_loss=0.0)
BY_VOLUME = Volume(volume=110.0, at=None)


def good(*, stages: tuple[Stage, ...] = (STAGE,), trigger: Trigger = BY_VOLUME, **changes: Any) -> Case:
    """Coal over sand at a steady demand; the review finds nothing but fine."""
    feed = Feed(temperature=Steady(value=15.0), solids=Steady(value=3.0), turbidity_ratio=None)
    base = make_case(
        stages=stages,
        feed=feed,
        demand=steady(FLOW),
        drain=DRAIN,
        policies=(policy("volume", trigger, stages=stages),),
        use="process",
    )
    return replace(base, **changes)


def stage(**changes: Any) -> Stage:
    """The good stage with something changed."""
    return replace(STAGE, **changes)


def with_stage(**changes: Any) -> Case:
    """The good case with something of its stage changed."""
    return good(stages=(stage(**changes),))


def fed(*, tank: Tank = TANK, demand: float = 3.0, stage_: Stage | None = None, **changes: Any) -> Case:
    """The good case ahead of a membrane unit, held over the whole wash; `demand` of product [m3/h]."""
    unit = replace(UNIT, tank=tank)
    stages = (stage_ or stage(hold_unit=WHOLE),)
    base = good(stages=stages, demand=steady(demand * M3_H))
    feed = replace(base.feed, oxidant="none")
    downstream = replace(MEMBRANE, membrane="polyamide", unit=unit, **changes)
    return replace(base, feed=feed, downstream=downstream, use="membrane")


def carbon(**changes: Any) -> Stage:
    """A stage of carbon that the review has nothing against."""
    wash = replace(WASH, flow=11.5 * M3_H)
    return replace(stage(layers=(CARBON,), steps=(wash, RINSE), **changes), limit=None)


def policies(*triggers: Trigger, stages: tuple[Stage, ...]) -> tuple[Policy, ...]:
    return (policy("nights", *triggers, stages=stages),)


def told(case: Case) -> list[Finding]:
    """What the review stops for or looks at."""
    return [finding for finding in review(case) if finding.level != "fine"]


def named(finding: Finding) -> str:
    """The name of a finding and what it names."""
    return " ".join(map(str, (finding.name, *finding.facts.values())))


def all_of(case: Case, *names: FindingName) -> list[Finding]:
    """The findings of these names."""
    return [finding for finding in review(case) if finding.name in names]


def found(case: Case, name: FindingName, fact: str = "") -> Finding:
    """The one finding of this name, with this fact."""
    matching = [finding for finding in all_of(case, name) if fact in named(finding)]
    assert len(matching) == 1, matching
    return matching[0]
