"""Limits of what a filter sends on dissolved: common practice, and of hardness one that its bed can keep."""

import math
from collections.abc import Sequence

from hydraulics.capture import outlet_share
from hydraulics.carbon import passing_share
from hydraulics.media import UPTAKE
from sim.case.quantities import System
from sim.case.stage.longest_run import PRACTICE, Usual
from sim.case.units import HARDNESS
from sim.write.answers import Answers
from sim.write.document import Section
from sim.write.plan import Filter, oxidant_reaches
from sim.write.rule import MARGIN, ROOM_BEHIND
from sim.write.written import number, plain_span, quantity, span

IRON = Usual(0.1, 0.3, 0.5, f"stains and taste: {PRACTICE}")
MANGANESE = Usual(0.02, 0.05, 0.1, f"stains and taste: {PRACTICE}")
CHLORINE = Usual(0.05, 0.1, 0.5, PRACTICE)
TO_MEMBRANE = Usual(0.02, 0.05, 0.1, f"ahead of a polyamide membrane, whose maker's figure rules: {PRACTICE}")
"""mg/L."""

GRAIN = HARDNESS.units["gpg"].factor
SOFTENED = Usual(0.3 * GRAIN, GRAIN, 3.0 * GRAIN, f"softened water: {PRACTICE}")
"""g CaCO3 per m3."""


def dissolved_limits(answers: Answers, filters: Sequence[Filter], place: int) -> list[Section]:
    """The table of limits of the filter at a place, if it has any."""
    planned, system = filters[place], answers.units
    made = Section("[stage.limits]", f"stage.{planned.name}.limits")
    if not planned.solids_only and planned.kind.name == "softener":
        made.say(*_hardness(answers, planned, system))
    if planned.kind.name == "oxidising":
        for name, given, usual in (("iron", answers.iron, IRON), ("manganese", answers.manganese, MANGANESE)):
            if given is not None:
                made.say(f'{name} = "{number(usual.typical)} mg/L"', plain_span(usual, "mg/L"))
    membrane = answers.use == "membrane"
    carbon = planned.kind.name == "carbon" and not planned.solids_only
    last = membrane and place == len(filters) - 1
    if carbon or (last and oxidant_reaches(answers, place)):
        usual = TO_MEMBRANE if membrane else CHLORINE
        made.say(f'chlorine = "{number(usual.typical)} mg/L"', plain_span(usual, "mg/L"))
    return [made] if made.lines else []


def _hardness(answers: Answers, planned: Filter, system: System) -> tuple[str, str]:
    """The usual limit, or more where a restored bed lets more through until MARGIN of its capacity is spent."""
    assert answers.hardness is not None, "it is known where a softener is followed"
    hardness, rate = answers.hardness.value, answers.flow.value / answers.area
    slower = rate / UPTAKE["uptake_reference_rate"].value * UPTAKE["resin_half_length"].value
    depth = sum(depth for _, depth in planned.layers)
    a = -math.log(passing_share(depth, slower))
    leakage = UPTAKE["resin_leakage_co_current"].value
    passing = hardness * (leakage + (1.0 - leakage) * outlet_share(a, MARGIN * a))
    if ROOM_BEHIND * passing <= SOFTENED.typical <= hardness:
        return f"hardness = {quantity(SOFTENED.typical, 'hardness', system, 3)}", span(SOFTENED, "hardness", system)
    value = min(ROOM_BEHIND * passing, hardness)
    words = f"{ROOM_BEHIND:g} times what the bed lets through until its regeneration, at most the hardness itself"
    usual = Usual(0.5 * value, value, 2.0 * value, f"{words}; {PRACTICE}")
    return f"hardness = {quantity(value, 'hardness', system, 3)}", span(usual, "hardness", system)
