"""How a first case regenerates a bed: the salt of a softener and its brine, or a batch of permanganate as given.

Flows stand in m3/s, rates in bed volumes a second, minutes as a file has them.
"""

import math
from typing import NamedTuple

from hydraulics.brine import brine_volume
from hydraulics.media import RESIN_TABLES, UPTAKE
from sim.case.quantities import System
from sim.case.record import record
from sim.case.stage.longest_run import PRACTICE, Usual
from sim.case.units import FLOW, FOOT, GALLON, MINUTE
from sim.write.written import number, plain, plain_span, quantity, span

GAL_FT3 = GALLON / FOOT**3
SOFTENERS = "MIL-HDBK-1164 and UFC 3-240-13FN, softeners"
TABLE = RESIN_TABLES["co-current"]
DOSE, CAPACITY = TABLE.doses[1], TABLE.capacities[1]
"""Salt for a volume of resin and the hardness that it restores [g/m3]: the second dose of the usual table. A plain
choice: more salt restores more, and less for each gram."""

BRINE_RATE = Usual(0.05 * GAL_FT3, 0.15 * GAL_FT3, 0.3 * GAL_FT3, f"saturated brine, {PRACTICE}")
SLOW_RATE = Usual(0.2 * GAL_FT3, 0.4 * GAL_FT3, 0.6 * GAL_FT3, PRACTICE)
MAKE_UP_RATE = Usual(0.1 * GAL_FT3, 0.3 * GAL_FT3, 0.6 * GAL_FT3, PRACTICE)
"""Bed volumes a minute."""

DISPLACED = Usual(7.5 * GAL_FT3, 15.0 * GAL_FT3, 22.5 * GAL_FT3, SOFTENERS)
RINSED = Usual(35.0 * GAL_FT3, 60.0 * GAL_FT3, 100.0 * GAL_FT3, SOFTENERS)
"""Bed volumes."""

BATCH_MINUTES = Usual(15.0, 30.0, 60.0, PRACTICE)

LONGEST_STEP = 240.0  # min, where the flow of use is far below what is usual for the bed
LEAST_FLOW = FLOW.units["L/h"].factor  # the least that a case takes
SLACK = 1.001
"""Of the brine: flow and minutes are rounded in the file."""


class Timed(NamedTuple):
    """A step of a wash: its flow [m3/s] and minutes."""

    flow: float
    minutes: float


@record
class Regeneration:
    """What restores a bed [m3] and the water that follows it; a batch of permanganate as it was given, "" for brine.

    `make_up` fills the brine tank, and `rinse` takes the place of the usual one: both None with a batch.
    """

    bed: float
    batch: str
    regenerant: Timed
    displacement: Timed
    rinse: Timed | None = None
    make_up: Timed | None = None

    @property
    def minutes(self) -> float:
        """What it adds to a wash, the rinse aside."""
        return self.regenerant.minutes + self.displacement.minutes + (self.make_up.minutes if self.make_up else 0.0)


def softening(bed: float, use: float) -> Regeneration:
    """Of a softener with so much resin [m3] at a flow of use [m3/s]: a tank of brine that a make-up fills again."""
    salt = DOSE * bed
    water = salt / UPTAKE["salt_solubility"].value
    drawn = _flow(BRINE_RATE, bed)
    return Regeneration(
        bed=bed,
        batch="",
        regenerant=Timed(drawn, max(math.ceil(SLACK * brine_volume(water, salt) / drawn / MINUTE), 1.0)),
        displacement=_passing(DISPLACED, bed, _flow(SLOW_RATE, bed)),
        rinse=_passing(RINSED, bed, use),
        make_up=_timed(water, _flow(MAKE_UP_RATE, bed)),
    )


def by_batch(bed: float, batch: str) -> Regeneration:
    """Of oxidising media [m3] by a batch of permanganate as given."""
    slow = _flow(SLOW_RATE, bed)
    return Regeneration(
        bed=bed,
        batch=batch,
        regenerant=Timed(slow, BATCH_MINUTES.typical),
        displacement=_passing(DISPLACED, bed, slow),
    )


def _flow(rate: Usual, bed: float) -> float:
    return max(rate.typical * bed / MINUTE, LEAST_FLOW)


def _timed(volume: float, flow: float) -> Timed:
    """Whole minutes in which a volume [m3] comes, at about a flow."""
    minutes = max(round(volume / flow / MINUTE), 1)
    return Timed(volume / (minutes * MINUTE), minutes)


def _passing(volumes: Usual, bed: float, flow: float) -> Timed:
    """Whole minutes in which so many bed volumes pass."""
    return Timed(flow, min(math.ceil(volumes.typical * bed / flow / MINUTE), LONGEST_STEP))


def steps_of(plan: Regeneration, system: System) -> dict[str, str]:
    """The lines of the steps that a regeneration adds to a wash, or has otherwise, by what they do."""
    regenerant = _batch(plan, system) if plan.batch else _brine(plan, system)
    texts = {
        "regenerant": regenerant,
        "displacement": f"""
do = "displacement"  # slow rinse, to drain
{_lines(plan.displacement, DISPLACED, plan, system)}""",
    }
    if plan.rinse is not None:
        texts["rinse"] = f"""
do = "rinse"  # fast rinse, to drain, with the filter's own feed at the flow of use
{_lines(plan.rinse, RINSED, plan, system)}"""
    if plan.make_up is not None:
        flow, minutes = plan.make_up
        salt = plain(DOSE * plan.bed, "mass", system, 3)
        texts["make-up"] = f"""
do = "make-up"  # water into the brine tank: it dissolves {salt} of salt for the next regeneration
minutes = {number(minutes)}  # that salt over its solubility and the flow
flow = {quantity(flow, "flow", system)}  # {_rate_span(MAKE_UP_RATE, plan, system)}"""
    return texts


def _brine(plan: Regeneration, system: System) -> str:
    dose, gives = plain(DOSE, "media dose", system, 3), plain(CAPACITY, "hardness capacity", system, 3)
    words = f"of salt, which restore {gives} of hardness; the second dose of the usual table, a plain choice"
    return f"""
do = "regenerant"  # brine from the tank; to the drain only with its owner's consent
minutes = {number(plan.regenerant.minutes)}  # all the brine of a make-up: for the resin {dose} {words}
flow = {quantity(plan.regenerant.flow, "flow", system)}  # {_rate_span(BRINE_RATE, plan, system)}"""


def _batch(plan: Regeneration, system: System) -> str:
    return f"""
do = "regenerant"
permanganate = "{plan.batch}"  # as given; away from anything organic, to the drain only with its owner's consent
minutes = {number(plan.regenerant.minutes)}  # {plain_span(BATCH_MINUTES, "min")}
flow = {quantity(plan.regenerant.flow, "flow", system)}  # {_rate_span(SLOW_RATE, plan, system)}"""


def _lines(step: Timed, volumes: Usual, plan: Regeneration, system: System) -> str:
    """Minutes and flow of a step that passes bed volumes."""
    per = plan.bed / step.flow / MINUTE
    usual = Usual(volumes.low * per, volumes.typical * per, volumes.high * per, _volumes(volumes))
    flow = quantity(step.flow, "flow", system)
    mark = "" if step is plan.rinse else f"  # {_rate_span(SLOW_RATE, plan, system)}"
    return f"minutes = {number(step.minutes)}  # {plain_span(usual, 'min')}\nflow = {flow}{mark}"


def _volumes(volumes: Usual) -> str:
    shown = " / ".join(number(each, 3) for each in (volumes.low, volumes.typical, volumes.high))
    return f"{shown} volumes of the bed: {volumes.source}"


def _rate_span(rate: Usual, plan: Regeneration, system: System) -> str:
    return span(rate, "flow", system, plan.bed / MINUTE)
