"""The sections of a new case: run, feed, demand, filters."""

import math
from collections.abc import Sequence

from sim.case.series.schema import USES
from sim.case.series.waters import WATERS
from sim.case.spelling import listed
from sim.case.stage.longest_run import Usual
from sim.case.units import HOUR, TURBIDITY
from sim.write.answers import Answers
from sim.write.bed_limits import Limit
from sim.write.document import Section
from sim.write.filters import HEIGHT, RINSE_VOLUMES, SETTLE_MINUTES
from sim.write.plan import Filter, first_hour
from sim.write.ways import FIRST, rule_words
from sim.write.written import clock, number, plain_span, quantity, span

HEAD = """\
# A case begun from a few numbers. Read it from the top, put in what you know better, and compare again.
#
# Two kinds of lines end in "# assumed: low / typical / high, source":
#   commented out   a constant of the model that nobody has given. The program takes the typical value, counts it as
#                   assumed and names it with every result. Take away the "# " in front to give a value of your own.
#   in effect       a setting of the plant taken from common practice. Look up your own: it counts as given.
# Blocks of lines with "## " in front are not read: what may be added. Each works as it is once the "## " is taken
# away from all its lines; its figures are of no plant: put in your own."""

SOLIDS_ONLY = "simulated as a filter of solids for now: {beside} are not followed"


def opening(answers: Answers, filters: Sequence[Filter], first: Sequence[str]) -> list[Section]:
    """Everything before the filters; `first`: what has to be known before all else."""
    start = filters[0].washes_at
    return [_head(answers, first), _run(start), *_feed(answers), _demand(answers), _drain(answers, filters)]


def _head(answers: Answers, first: Sequence[str]) -> Section:
    said = [f"{FIRST}{line}" for line in first]
    section = Section("", "", [*said, *HEAD.split("\n"), "#", *rule_words(answers.units)])
    section.suggest('today = "calendar"', "the way that the plant washes by: every other is held against it")
    water = answers.water[0].upper() + answers.water[1:]
    section.say(f'title = "{water}: {", ".join(answers.train)}"')
    if answers.use is None:
        words = f"what the water is for: {listed(USES)}; until it is stated it counts as drinking water"
        section.suggest('use = "process"', words)
    else:
        section.say(f'use = "{answers.use}"', "as given")
    return section


def _run(first_wash: float) -> Section:
    """It starts at the hour of the first wash, so that a calendar's first run is as long as those that follow."""
    section = Section("[run]", "run")
    section.say(f"start = 2027-03-01T{clock(first_wash)}", "a Monday, at the hour of the first wash")
    section.say('length = "365 d"', "a year, cold and warm water")
    section.suggest(
        'allowed_breach = "24 h"',
        "more hours over the limit make a bad year; with random weather, --replicates shows how often",
    )
    return section


def _feed(answers: Answers) -> list[Section]:
    section, water = Section("[feed]", "feed"), WATERS[answers.water]
    section.say(f'water = "{water.kind}"', f"{water.carries}; it decides what is assumed of the solids")
    section.say(f"temperature = {_temperature(answers)}", "the coldest and the warmest of the year as given")
    section.say(f'{_solids_key(answers)} = "{answers.turbidity.text}"', "as given")
    section.lines.append(_storms(answers))
    return [section, *_coagulant(answers)]


def _coagulant(answers: Answers) -> list[Section]:
    """What is dosed, as far as it is known; no dose is ever proposed."""
    given = answers.coagulant
    if not given.used:
        return []
    if given.product:
        section = Section("[feed.coagulant]", "feed.coagulant")
        section.say(f'product = "{given.product}"', "as given")
        section.say(f'dose = "{given.dose}"', "as given")
        return [section]
    section = Section("", "feed.coagulant", [""])
    section.suggest("[feed.coagulant]", "what is dosed adds its own solids: put in the plant's product and dose")
    section.suggest('product = "alum"', "or ferric chloride, ferric sulfate; aluminium or iron for the metal of any")
    section.suggest('dose = "9 mg/L"', "shows the form, advises nothing; in mg/L per NTU it follows the turbidity")
    return [section]


def _temperature(answers: Answers) -> str:
    low, high, unit = answers.temperature.low, answers.temperature.high, answers.temperature.unit
    mean, swing = number((low + high) / 2.0, 6), number((high - low) / 2.0, 6)
    if low == high:
        return f'"{mean} {unit}"'
    return f'{{ mean = "{mean} {unit}", swing = "{swing} {unit}", highest_on = 2027-07-25 }}'


def _storms(answers: Answers) -> str:
    """The line that makes the water as given random, with the storms of its kind, and what it is."""
    water, key = WATERS[answers.water], _solids_key(answers)
    a_year, times, hours = (
        number(value) for value in
        (water.storms_a_year.value, water.storm_strength.value, water.storm_length.value / HOUR)
    )  # fmt: skip
    storms = f'{{ per_year = {a_year}, height = {times}, length = "{hours} h" }}'
    return (
        f'# or  {key} = {{ median = "{answers.turbidity.text}", storms = {storms} }}'
        f"  # in place of the line above: random weather, no two years alike; {water.storms_a_year.source}"
    )


def _solids_key(answers: Answers) -> str:
    return "turbidity" if answers.turbidity.kind is TURBIDITY else "suspended_solids"


def _demand(answers: Answers) -> Section:
    section, flow = Section("[demand]", "demand"), answers.flow
    if answers.hours == 24 and answers.days == 7:
        section.say(f'flow = "{flow.text}"', "as given, around the clock")
        return section
    start = first_hour(answers.hours)
    used = [start <= hour < start + answers.hours for hour in range(24)]
    texts = [f'"{flow.text}"' if on else f'"0 {flow.unit}"' for on in used]
    section.say(f"hourly = [{', '.join(texts[:12])},", f"in use from {start} to {start + answers.hours} h")
    section.say(f"          {', '.join(texts[12:])}]")
    if answers.days < 7:
        factors = ["1.0"] * answers.days + ["0.0"] * (7 - answers.days)
        section.say(f"weekday = [{', '.join(factors)}]", "Monday first")
    return section


def _drain(answers: Answers, filters: Sequence[Filter]) -> Section:
    """A question that nobody but who stands before the drain can answer."""
    section = Section("[drain]", "drain")
    section.suggest(
        "air_gap = true",
        "does the drain end in an air gap? Look, then take away the ## in front, or say false: until then"
        " `filterrun check` says stop",
    )
    most = quantity(1.3 * max(each.backwash for each in filters), "flow", answers.units, 2)
    section.suggest(f"capacity = {most}", "what the drain takes, if known: a wash brings far more than service")
    return section


def filter_sections(answers: Answers, planned: Filter, limit: Limit) -> list[Section]:
    """One filter: the stage, its laws, its layers, its wash."""
    path = f"stage.{planned.name}"
    law, ripening = Section("[stage.head_loss]", f"{path}.head_loss"), Section("[stage.ripening]", f"{path}.ripening")
    layers = [_layer(answers, planned, number) for number in range(len(planned.layers))]
    vessel = _vessel(answers, planned)
    return [_stage(answers, planned, limit), vessel, law, ripening, *layers, *_wash(answers, planned)]


def _stage(answers: Answers, planned: Filter, limit: Limit) -> Section:
    kind = planned.kind
    section = Section("[[stage]]", f"stage.{planned.name}")
    said = SOLIDS_ONLY.format(beside=kind.beside) if kind.beside else ""
    section.say(f'name = "{planned.name}"', said)
    section.say(f'limit = "{limit.text}"', limit.comment)
    if not answers.coagulant.product:
        section.say(f"coagulated = {str(answers.coagulant.used).lower()}", "as given")
    section.say(f'longest_run = "{number(kind.longest_run.typical)} d"', plain_span(kind.longest_run, "d"))
    section.say(f"longest_run_at = {clock(planned.washes_at)}", "its hour, whatever starts the other washes")
    return section


def _vessel(answers: Answers, planned: Filter) -> Section:
    section = Section("[stage.vessel]", f"stage.{planned.name}.vessel")
    section.say(f'diameter = "{answers.diameter.text}"', "as given")
    bed = sum(depth for _, depth in planned.layers)
    system = answers.units
    mark = span(HEIGHT, "length", system, bed)
    if planned.heightened:
        mark += "; higher here, so that the wash keeps the bed in the vessel in the coldest water"
    section.say(f"height = {quantity(planned.height, 'length', system)}", mark)
    return section


def _layer(answers: Answers, planned: Filter, place: int) -> Section:
    medium, depth = planned.layers[place]
    section = Section("[[stage.layer]]", f"stage.{planned.name}.layer.{place}")
    section.say(f'medium = "{medium}"', "the top layer" if place == 0 and len(planned.layers) > 1 else "")
    usual = planned.kind.layers[place][1]
    mark = span(usual, "length", answers.units)
    if answers.depth is not None:
        mark = f"its share of {answers.depth.text}, as given" if len(planned.layers) > 1 else "as given"
    section.say(f"depth = {quantity(depth, 'length', answers.units)}", mark)
    return section


def _wash(answers: Answers, planned: Filter) -> list[Section]:
    kind, system, path = planned.kind, answers.units, f"stage.{planned.name}.step"
    area = answers.area
    backwash = Section("[[stage.step]]", f"{path}.backwash")
    backwash.say('do = "backwash"')
    backwash.say(f"minutes = {number(kind.backwash_minutes.typical)}", plain_span(kind.backwash_minutes, "min"))
    usual = span(kind.backwash_rate, "flow", system, area)
    mark = "as given"
    if answers.backwash is None:
        typical = math.isclose(planned.backwash, kind.backwash_rate.typical * area)
        mark = usual if typical else f"{usual}; here what expands the bed as is usual in cold and in warm water"
    if planned.backwash_capped:
        mark = f"{usual}; {answers.backwash.text if answers.backwash else ''} would be too much for these media"
    backwash.say(f"flow = {quantity(planned.backwash, 'flow', system)}", mark)
    settle = Section("[[stage.step]]", f"{path}.settle")
    settle.say('do = "settle"')
    settle.say(f"minutes = {number(SETTLE_MINUTES.typical)}", plain_span(SETTLE_MINUTES, "min"))
    rinse = Section("[[stage.step]]", f"{path}.rinse")
    rinse.say('do = "rinse"', "to drain, with the filter's own feed")
    rinse.say(f"minutes = {number(planned.rinse_minutes)}", plain_span(_rinse(planned), "min"))
    rinse.say(f'flow = "{answers.flow.text}"', "the flow of use")
    return [backwash, settle, rinse]


def _rinse(planned: Filter) -> Usual:
    """Minutes for the usual numbers of vessel volumes."""
    one = planned.rinse_minutes / RINSE_VOLUMES.typical
    volumes = " / ".join(f"{each:g}" for each in (RINSE_VOLUMES.low, RINSE_VOLUMES.typical, RINSE_VOLUMES.high))
    source = f"{volumes} volumes of the vessel's water: {RINSE_VOLUMES.source}"
    return Usual(RINSE_VOLUMES.low * one, planned.rinse_minutes, RINSE_VOLUMES.high * one, source)
