"""What may be added to a new case, as blocks of lines that are not read: each works as it is."""

import math
from collections.abc import Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.clean_run import CleanRun
from sim.case.stage.longest_run import usual_longest_run
from sim.case.units import DAY, HOUR, MINUTE
from sim.write.answers import Answers
from sim.write.document import Section, block, section
from sim.write.floc import forms_at
from sim.write.plan import Filter
from sim.write.rule import MARGIN
from sim.write.ways import Ruled
from sim.write.written import clock, number, quantity

RECOVERY, SPARE, MOST_DRAWN = 0.75, 1.06, 1.1
"""Share of the unit's feed that becomes product; what the unit can make over what is asked for; what it may draw over
the flow of use, which the filters are set for."""

LEAST_SEEN = 500.0  # Pa; a gauge shows no less


def site_blocks(answers: Answers, filters: Sequence[Filter], ruled: Sequence[Ruled]) -> list[Section]:
    """Blocks of the site; those of the demand stand first, below its table."""
    return [
        block("closed = [2027-12-24, 2027-12-27]  # holidays: days on which nothing is asked for"),
        block('variation = { spread = 1.05, memory = "2 d" }  # unlike days: two in three within this factor'),
        _supply(answers.units, max(each.backwash for each in filters)),
        _pump(answers, ruled),
        _washing(answers, filters),
        _prices(answers.units, filters),
    ]


def filter_blocks(answers: Answers, case: Case, k: int, ruled: Ruled) -> list[Section]:
    """Blocks of filter k, below the table of its stage; with the last one goes the unit that it feeds."""
    blocks = [*_known_run(answers, case, k, ruled), _switch(answers.units)]
    return [*blocks, _downstream(answers)] if k == len(case.stages) - 1 else blocks


def _supply(system: System, most: float) -> Section:
    flows = ", ".join(quantity(share * most, "flow", system, 3) for share in (0.0, 1.0, 1.6))
    pressures = ", ".join(quantity(each, "pressure", system, 2) for each in (330e3, 260e3, 90e3))
    return block(f"""
[supply]  # what drives a backwash: its pump's curve; without it any flow is reached
flow = [{flows}]
pressure = [{pressures}]""")


def _pump(answers: Answers, ruled: Sequence[Ruled]) -> Section:
    system, delivery, spare = answers.units, 150e3, 100e3
    head = delivery + spare + 1.5 * math.fsum(each.settings.above for each in ruled)
    flows = ", ".join(quantity(share * answers.flow.value, "flow", system, 3) for share in (0.0, 1.0, 1.7))
    pressures = ", ".join(quantity(share * head, "pressure", system, 2) for share in (1.25, 1.0, 0.5))
    return block(f"""
[pump]  # its curve: the flow falls as the beds load; without it any flow is driven
flow = [{flows}]
pressure = [{pressures}]
delivery = {quantity(delivery, "pressure", system, 2)}  # kept behind the last filter""")


TOGETHER = {
    "overlap": "nothing stops two filters from washing at once: each has its own timer or switch",
    "wait": "as given: one filter at a time",
}


def _washing(answers: Answers, filters: Sequence[Filter]) -> Section:
    """The rules of the site; with several filters it always says whether these wait for each other."""
    first, last = filters[0].washes_at - 30 * MINUTE, filters[-1].washes_at + 90 * MINUTE
    hours = "-".join(clock(each % DAY).removesuffix(":00") for each in (first, last))
    rules = f"""allowed_hours = ["{hours}"]  # washes start at no other hour
least_interval = "25 min"  # between the starts of any two"""
    if len(filters) == 1:
        return block(f"[washing]  # rules of the site for the start of any wash\n{rules}")
    made = section("[washing]", "washing", f'together = "{answers.together}"  # {TOGETHER[answers.together]}')
    made.lines += block(rules).lines[1:]
    return made


def _prices(system: System, filters: Sequence[Filter]) -> Section:
    plans = [each.regeneration for each in filters if each.regeneration is not None]
    mass = "kg" if system == "si" else "lb"
    of_salt = f'\nsalt = "0.3 per {mass}"' if any(not each.batch for each in plans) else ""
    of_batches = f'\npermanganate = "7 per {mass}"' if any(each.batch for each in plans) else ""
    unit, factor = ("per m3", 1.0) if system == "si" else ("per 1000 gal", 3.8)
    return block(f"""
[prices]  # of no place: put in your own; `filterrun payback` takes them
currency = "quills"
water = "{number(2.2 * factor, 2)} {unit}"
sewer = "{number(1.9 * factor, 2)} {unit}"
labour = "4 per wash"{of_salt}{of_batches}
meter = {{ price = "1300 each", life = "9 years" }}
switch = {{ price = "350 each" }}""")


def _known_run(answers: Answers, case: Case, k: int, ruled: Ruled) -> list[Section]:
    """The run that is assumed, for the plant's own to be put in its place; none where a gauge would show nothing, or
    where a run has more deposit than the solids of the feed."""
    if forms_at(case, k):
        return []
    use, stage = ruled.ending.use, case.stages[k]
    most = usual_longest_run(stage).high * DAY / HOUR
    hours = max(float(number(min(MARGIN * ruled.ending.hours, most), 2)), 1.0)
    load = ruled.ending.arriving.clean * use.flow * hours * HOUR / stage.vessel.area
    gain = CleanRun(stage=stage, flow=use.flow, temperature=use.temperature).rise(load)
    if gain < LEAST_SEEN:
        return []
    shown = quantity(gain, "pressure", answers.units, 2)
    known = f'{{ flow = "{answers.flow.text}", gain = {shown}, after = "{number(hours)} h" }}'
    words = (
        "one run that the plant remembers: what the pressure drop gained in so much time of flow (here what is"
        " assumed); fixes head_loss_gain; `filterrun new NEW --from FILE` then sets the ways anew"
    )
    return [block(f"known_run = {known}  # {words}")]


def _switch(system: System) -> Section:
    error, reset = (quantity(each, "pressure", system, 2) for each in (300.0, 2e3))
    keys = f'{{ sample = "4 s", error = {error}, reset_difference = {reset} }}'
    return block(f"switch = {keys}  # how its pressure switch reads; without it exactly")


def _downstream(answers: Answers) -> Section:
    """A unit behind the train that gives what is asked for; its own figures are its maker's."""
    flow, used = answers.flow.value, SPARE * answers.hours / 24.0
    recovery = max(RECOVERY, math.ceil(100.0 * used / MOST_DRAWN) / 100.0)
    feed = quantity(flow * max(1.0, used / recovery), "flow", answers.units, 3)
    volume = quantity(flow * max(answers.hours, 6) * HOUR, "volume", answers.units, 2)
    membrane = '\nmembrane = "polyamide"  # what an oxidant can harm; left out if it is none'
    return block(f"""
hold_unit = {{ until = "back in service" }}  # holds the unit while this filter washes; others may too
[downstream]  # the unit that this filter feeds: [demand] is then what leaves its tank\
{membrane if answers.use == "membrane" else ""}
feed_flow = {feed}  # while it runs
recovery = {recovery:g}  # share that becomes product; with a smaller one it draws more
tank = {{ volume = {volume}, start_below = 0.7, stop_above = 0.95 }}  # starts and stops it""")
