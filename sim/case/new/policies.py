"""What starts a wash in a new case: four ways, set from the run that each filter is expected to have."""

import math
from collections.abc import Sequence

from sim.case.new.document import Section
from sim.case.new.expected import (
    AT_ONCE,
    LEAST_RISE,
    LIMIT,
    NOTHING,
    Expected,
    Triggers,
    Use,
    days_of,
    hours_of_use,
    triggers_of,
)
from sim.case.new.filters import HOLD_MINUTES
from sim.case.new.plan import Filter
from sim.case.new.questions import System
from sim.case.new.written import clock, number, plain_span, quantity

FROM_RUN = "from the expected run"


def policy_sections(filters: Sequence[Filter], runs: Sequence[Expected], use: Use, system: System) -> list[Section]:
    """Calendar, volume, volume with reserve and pressure drop, each for every filter."""
    told = [
        (planned, expected, triggers_of(expected, planned, use))
        for planned, expected in zip(filters, runs, strict=True)
    ]
    return [
        *(_calendar(planned, triggers) for planned, _, triggers in told),
        *(_volume(planned, triggers, system) for planned, _, triggers in told),
        *(_reserve(planned, triggers, system) for planned, _, triggers in told),
        *(_pressure(planned, expected, triggers, system) for planned, expected, triggers in told),
    ]


def _section(policy: str, planned: Filter) -> Section:
    section = Section(f'[policy."{policy}".{planned.kind.name}]', f"policy.{policy}.{planned.kind.name}")
    section.say(f'start_on = "{policy}"')
    return section


def _calendar(planned: Filter, triggers: Triggers) -> Section:
    section = _section("calendar", planned)
    longest = plain_span(planned.kind.longest_run, "d")
    section.say(f'every = "{triggers.every} d"', longest if triggers.by_custom else FROM_RUN)
    section.say(f"at = {clock(planned.washes_at)}", "one filter after the other")
    return section


def _volume(planned: Filter, triggers: Triggers, system: System) -> Section:
    section = _section("volume", planned)
    section.say(f"volume = {quantity(triggers.volume, 'volume', system, 2)}", _volume_from(triggers))
    return section


def _volume_from(triggers: Triggers) -> str:
    return "what passes in the longest run" if triggers.by_custom else FROM_RUN


def _reserve(planned: Filter, triggers: Triggers, system: System) -> Section:
    section = _section("volume with reserve", planned)
    section.say(f"volume = {quantity(triggers.total, 'volume', system, 2)}", _volume_from(triggers))
    section.say(
        f"reserve = {quantity(triggers.reserve, 'volume', system, 2)}", "about a day's use, or less of a short run"
    )
    section.say(f"at = {clock(planned.washes_at)}")
    return section


def _pressure(planned: Filter, expected: Expected, triggers: Triggers, system: System) -> Section:
    section = _section("pressure drop", planned)
    clean = quantity(expected.clean, "pressure", system, 3).strip('"')
    mark = f"{clean} when clean in the coldest water"
    if expected.ended_by == LIMIT and expected.rise < LEAST_RISE:
        mark += "; the limit is reached before the pressure drop shows much, so this trigger comes late"
    section.say(f"above = {quantity(triggers.above, 'pressure', system, 3)}", mark)
    section.say(f'hold = "{number(HOLD_MINUTES.typical)} min"', plain_span(HOLD_MINUTES, "min"))
    return section


def expectation_words(expected: Expected, use: Use, system: System, limit: str) -> tuple[str, ...]:
    """What a clean bed can be expected to do at the flow of use."""
    words = []
    if expected.ended_by == AT_ONCE:
        words.append(f"even the clean bed lets more than {limit} through: its hours of use count as over the limit")
    if expected.volume == math.inf:
        return (*words, "at the flow of use neither the limit nor the usual rise of the pressure drop ends its run")
    volume = quantity(expected.volume, "volume", system, 2).strip('"')
    hours, days = number(hours_of_use(expected.volume, use), 2), number(days_of(expected.volume, use), 2)
    run = f"expected run from a clean bed: {volume}, {hours} h of use, {days} d"
    if expected.ended_by == NOTHING:
        return (*words, run)
    rise = quantity(expected.rise, "pressure", system, 2).strip('"')
    if expected.ended_by == LIMIT:
        return (*words, f"{run}, ended by the limit; the pressure drop has risen by {rise} then")
    return (*words, f"{run}, ended by the usual rise of the pressure drop, {rise}")
