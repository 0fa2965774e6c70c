"""What may be added to a new case, as blocks of lines that are not read: each works as it is."""

import math
from collections.abc import Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.clean_run import CleanRun
from sim.case.stage.longest_run import usual_longest_run
from sim.case.units import DAY, HOUR, MINUTE
from sim.write.answers import Answers
from sim.write.document import Section
from sim.write.plan import Filter
from sim.write.rule import MARGIN
from sim.write.ways import Ruled
from sim.write.written import number, quantity

RECOVERY, SPARE, MOST_DRAWN = 0.75, 1.06, 1.1
"""Share of the unit's feed that becomes product; what the unit can make over what is asked for; what it may draw over
the flow of use, which the filters are set for."""

LEAST_SEEN = 500.0  # Pa; a gauge shows no less


def site_blocks(answers: Answers, filters: Sequence[Filter], ruled: Sequence[Ruled]) -> list[Section]:
    """Blocks of the site; those of the demand stand first, below its table."""
    return [
        _block("closed = [2027-12-24, 2027-12-27]", "holidays: days on which nothing is asked for"),
        _block('variation = { spread = 1.05, memory = "2 d" }', "unlike days: two in three within this factor"),
        _supply(answers, filters),
        _pump(answers, ruled),
        _washing(filters),
        _prices(answers.units),
    ]


def filter_blocks(answers: Answers, case: Case, k: int, ruled: Ruled) -> list[Section]:
    """Blocks of filter k, below the table of its stage; with the last one goes the unit that it feeds."""
    blocks = [*_known_run(answers, case, k, ruled), _switch(answers.units)]
    return [*blocks, _downstream(answers)] if k == len(case.stages) - 1 else blocks


def _block(*line: str) -> Section:
    section = Section("", "", [""])
    section.suggest(*line)
    return section


def _pressure(value: float, system: System) -> str:
    return quantity(value, "pressure", system, 2)


def _flow(value: float, system: System, digits: int = 3) -> str:
    return quantity(value, "flow", system, digits)


def _supply(answers: Answers, filters: Sequence[Filter]) -> Section:
    system, most = answers.units, max(each.backwash for each in filters)
    section = _block("[supply]", "what drives a backwash: its pump's curve; without it any flow is reached")
    section.suggest(f"flow = [{', '.join(_flow(share * most, system) for share in (0.0, 1.0, 1.6))}]")
    section.suggest(f"pressure = [{', '.join(_pressure(each, system) for each in (330e3, 260e3, 90e3))}]")
    return section


def _pump(answers: Answers, ruled: Sequence[Ruled]) -> Section:
    system, flow = answers.units, answers.flow.value
    delivery, spare = 150e3, 100e3
    head = delivery + spare + 1.5 * math.fsum(each.settings.above for each in ruled)
    section = _block("[pump]", "its curve: the flow falls as the beds load; without it any flow is driven")
    section.suggest(f"flow = [{', '.join(_flow(share * flow, system) for share in (0.0, 1.0, 1.7))}]")
    section.suggest(f"pressure = [{', '.join(_pressure(share * head, system) for share in (1.25, 1.0, 0.5))}]")
    section.suggest(f"delivery = {_pressure(delivery, system)}", "kept behind the last filter")
    return section


def _washing(filters: Sequence[Filter]) -> Section:
    first, last = filters[0].washes_at, filters[-1].washes_at
    hours = f"{_hour(first - 30 * MINUTE)}-{_hour(last + 90 * MINUTE)}"
    section = _block("[washing]", "rules of the site for the start of any wash")
    section.suggest(f'allowed_hours = ["{hours}"]', "washes start at no other hour")
    section.suggest('least_interval = "25 min"', "between the starts of any two")
    section.suggest('together = "wait"', 'one filter at a time; or "share"')
    return section


def _hour(seconds: float) -> str:
    minutes = int(seconds % DAY // MINUTE)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _prices(system: System) -> Section:
    unit, factor = ("per m3", 1.0) if system == "si" else ("per 1000 gal", 3.8)
    section = _block("[prices]", "of no place: put in your own; `filterrun payback` takes them")
    section.suggest('currency = "quills"')
    section.suggest(f'water = "{number(2.2 * factor, 2)} {unit}"')
    section.suggest(f'sewer = "{number(1.9 * factor, 2)} {unit}"')
    section.suggest('labour = "4 per wash"')
    section.suggest('meter = { price = "1300 each", life = "9 years" }')
    section.suggest('switch = { price = "350 each" }')
    return section


def _known_run(answers: Answers, case: Case, k: int, ruled: Ruled) -> list[Section]:
    """The run that is assumed, for the plant's own to be put in its place; none where a gauge would show nothing."""
    use, stage = ruled.ending.use, case.stages[k]
    most = usual_longest_run(stage).high * DAY / HOUR
    hours = max(float(number(min(MARGIN * ruled.ending.hours, most), 2)), 1.0)
    load = ruled.ending.arriving.clean * use.flow * hours * HOUR / stage.vessel.area
    gain = CleanRun(stage=stage, flow=use.flow, temperature=use.temperature).rise(load)
    if gain < LEAST_SEEN:
        return []
    shown = _pressure(gain, answers.units)
    known = f'{{ flow = "{answers.flow.text}", gain = {shown}, after = "{number(hours)} h" }}'
    return [
        _block(
            f"known_run = {known}",
            "one run that the plant remembers: what the pressure drop gained in so much time of flow (here what is"
            " assumed); fixes head_loss_gain; `filterrun new NEW --from FILE` then sets the ways anew",
        )
    ]


def _switch(system: System) -> Section:
    error, reset = _pressure(300.0, system), _pressure(2e3, system)
    return _block(
        f'switch = {{ sample = "4 s", error = {error}, reset_difference = {reset} }}',
        "how its pressure switch reads; without it exactly",
    )


def _downstream(answers: Answers) -> Section:
    """A unit behind the train that gives what is asked for; its own figures are its maker's."""
    system, a_day = answers.units, answers.flow.value * answers.hours * HOUR
    used = SPARE * answers.hours / 24.0
    recovery = max(RECOVERY, math.ceil(100.0 * used / MOST_DRAWN) / 100.0)
    feed = answers.flow.value * max(1.0, used / recovery)
    tank = max(a_day, 6.0 * HOUR * answers.flow.value)
    section = _block("hold_unit = { from_minute = 0 }", "holds the unit while this filter washes; others may too")
    section.suggest("[downstream]", "the unit that this filter feeds: [demand] is then what leaves its tank")
    if answers.use == "membrane":
        section.suggest('membrane = "polyamide"', "what an oxidant can harm; left out if it is none")
    section.suggest(f"feed_flow = {_flow(feed, system)}", "while it runs")
    section.suggest(f"recovery = {recovery:g}", "share that becomes product; with a smaller one it draws more")
    volume = quantity(tank, "volume", system, 2)
    section.suggest(f"tank = {{ volume = {volume}, start_below = 0.7, stop_above = 0.95 }}", "starts and stops it")
    return section
