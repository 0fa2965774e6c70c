"""The sections of a new case: run, feed, demand, filters."""

import math
from collections.abc import Sequence
from dataclasses import replace

from hydraulics.stoichiometry import EQUIVALENTS
from sim.case.records import USES
from sim.case.series.waters import WATERS
from sim.case.spelling import listed
from sim.case.stage.longest_run import Usual
from sim.case.units import HOUR, TURBIDITY
from sim.write.answers import Answers, Dosing
from sim.write.bed_limits import Limit
from sim.write.dissolved_limits import dissolved_limits
from sim.write.document import Section, block, section
from sim.write.filters import HEIGHT, RINSE_VOLUMES, SETTLE_MINUTES
from sim.write.plan import Filter, dose_known, doses_here, first_hour
from sim.write.regenerating import steps_of as regeneration_steps
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

SOLIDS_ONLY = "followed as a filter of solids alone: for what else it does give {missing}"

FLOC = (
    "what oxidises is taken to hold in the bed as coagulated solids do: common practice, from memory; false where the"
    " plant shows otherwise"
)

CAUTIONS = """\
# Chemicals: keep to their data sheets. Hypochlorite and acid never meet; permanganate is kept away from anything
# organic; brine and permanganate go to the drain only with its owner's consent. Doses are the plant's own: none is
# recommended here. Softened water and health are not judged.
#"""


def opening(answers: Answers, filters: Sequence[Filter], first: Sequence[str]) -> list[Section]:
    """Everything before the filters; `first`: what has to be known before all else."""
    start = filters[0].washes_at
    return [_head(answers, filters, first), _run(start), *_feed(answers), _demand(answers), _drain(answers, filters)]


def _head(answers: Answers, filters: Sequence[Filter], first: Sequence[str]) -> Section:
    water = answers.water[0].upper() + answers.water[1:]
    use = f'use = "{answers.use}"  # as given'
    if answers.use is None:
        words = f"what the water is for: {listed(USES)}; until it is stated it counts as drinking water"
        use = f'## use = "process"  # {words}'
    chemicals = [CAUTIONS] * (bool(answers.oxidant.product) or any(each.regeneration for each in filters))
    rule = rule_words(answers.units, regenerates=any(each.regeneration for each in filters))
    said = "\n".join([*(f"{FIRST}{line}" for line in first), HEAD, "#", *chemicals, rule])
    made = section("", "", f"""
## today = "calendar"  # the way that the plant washes by: every other is held against it
title = "{water}: {", ".join(answers.train)}"
{use}""")
    return replace(made, lines=[*said.split("\n"), *made.lines])


def _run(first_wash: float) -> Section:
    """It starts at the hour of the first wash, so that a calendar's first run is as long as those that follow."""
    words = "more hours over the limit make a bad year; with random weather, --replicates shows how often"
    return section("[run]", "run", f"""
start = 2027-03-01T{clock(first_wash)}  # a Monday, at the hour of the first wash
length = "365 d"  # a year, cold and warm water
## allowed_over_limit = "24 h"  # {words}""")


def _feed(answers: Answers) -> list[Section]:
    water, solids = WATERS[answers.water], _solids_key(answers)
    made = section("[feed]", "feed", f"""
water = "{water.kind}"  # {water.carries}; it decides what is assumed of the solids
temperature = {_temperature(answers)}  # the coldest and the warmest of the year as given
{solids} = "{answers.turbidity.text}"  # as given""")
    made.lines.append(_storms(answers, solids))
    for key, given, words in (
        ("hardness", answers.hardness, "as CaCO3"),
        ("iron", answers.iron, f"dissolved; the {solids} is that before it is oxidised, and has none of it"),
        ("manganese", answers.manganese, "dissolved"),
        ("free_chlorine", answers.chlorine, "as Cl2"),
    ):
        if given is not None:
            made.say(f'{key} = "{given.text}"', f"as given, {words}")
    if answers.pH is not None:
        made.say(f"pH = {number(answers.pH)}", "as given")
    return [made, *_coagulant(answers.coagulant)]


def _coagulant(given: Dosing) -> list[Section]:
    """What is dosed, as far as it is known; no dose is ever proposed."""
    if not given.used:
        return []
    if given.product:
        dosed = f'product = "{given.product}"  # as given\ndose = "{given.dose}"  # as given'
        return [section("[feed.coagulant]", "feed.coagulant", dosed)]
    asked = block("""
[feed.coagulant]  # what is dosed adds its own solids: put in the plant's product and dose
product = "alum"  # or ferric chloride, ferric sulfate; aluminium or iron for the metal of any
dose = "9 mg/L"  # shows the form, advises nothing; in mg/L per NTU it follows the turbidity""")
    return [replace(asked, path="feed.coagulant")]


def _temperature(answers: Answers) -> str:
    low, high, unit = answers.temperature.low, answers.temperature.high, answers.temperature.unit
    mean, swing = number((low + high) / 2.0, 6), number((high - low) / 2.0, 6)
    if low == high:
        return f'"{mean} {unit}"'
    return f'{{ mean = "{mean} {unit}", swing = "{swing} {unit}", highest_on = 2027-07-25 }}'


def _storms(answers: Answers, key: str) -> str:
    """The line that makes the water as given random, with the storms of its kind, and what it is."""
    water = WATERS[answers.water]
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
    flow, start = answers.flow, first_hour(answers.hours)
    if answers.hours == 24 and answers.days == 7:
        return section("[demand]", "demand", f'flow = "{flow.text}"  # as given, around the clock')
    used = [start <= hour < start + answers.hours for hour in range(24)]
    texts = [f'"{flow.text}"' if on else f'"0 {flow.unit}"' for on in used]
    weekday = ""
    if answers.days < 7:
        factors = ["1.0"] * answers.days + ["0.0"] * (7 - answers.days)
        weekday = f"\nweekday = [{', '.join(factors)}]  # Monday first"
    return section("[demand]", "demand", f"""
hourly = [{", ".join(texts[:12])},  # in use from {start} to {start + answers.hours} h
          {", ".join(texts[12:])}]{weekday}""")


def _drain(answers: Answers, filters: Sequence[Filter]) -> Section:
    """A question that nobody but who stands before the drain can answer."""
    most = quantity(1.3 * max(each.backwash for each in filters), "flow", answers.units, 2)
    look = "Look, then take away the ## in front, or say false: until then `filterrun check` says stop"
    return section("[drain]", "drain", f"""
## air_gap = true  # does the drain end in an air gap? {look}
## capacity = {most}  # what the drain takes, if known: a wash brings far more than service""")


def filter_sections(answers: Answers, filters: Sequence[Filter], place: int, limit: Limit) -> list[Section]:
    """One filter: the stage, its laws, its layers, its wash."""
    planned = filters[place]
    path = f"stage.{planned.name}"
    dissolved = [*dissolved_limits(answers, filters, place), *_oxidant(answers, planned, place)]
    brine = planned.regeneration is not None and planned.regeneration.make_up is not None
    laws = [Section(f"[stage.{name}]", f"{path}.{name}") for name in ("head_loss", "ripening", *["store"] * brine)]
    layers = [_layer(answers, planned, layer) for layer in range(len(planned.layers))]
    bed = [_vessel(answers, planned), *laws, *layers]
    return [_stage(answers, planned, place, limit), *dissolved, *bed, *_wash(answers, planned)]


def _oxidant(answers: Answers, planned: Filter, place: int) -> list[Section]:
    """The dose ahead of a filter, where it is known."""
    if not doses_here(answers, place) or not dose_known(answers):
        return []
    product, amount = answers.oxidant
    key, words = _amount(answers)
    return [section("[stage.oxidant]", f"stage.{planned.name}.oxidant", f"""
product = "{product}"  # as given
{key} = "{amount}"  # as given{words}""")]


def _say_oxidant(made: Section, answers: Answers) -> None:
    """The oxidant of which nobody has said how much, or the pH that air needs; no dose is ever proposed."""
    product = answers.oxidant.product
    if product == "air":
        made.say("# air is dosed, as given: a run follows it where its time of contact and the pH are given too")
        return
    _, words = _amount(answers)
    form = "1.5 mg/L"
    made.say(f'oxidant = "{product}"', "as given; so far no run follows it")
    made.say(
        f'# or  oxidant = {{ product = "{product}", dose = "{form}" }}',
        f"in place of the line above: put in the plant's own dose{words}; {form} shows the form, advises nothing",
    )


def _amount(answers: Answers) -> tuple[str, str]:
    """The key for how much of the oxidant there is, and what the metals of the water use up, by stoichiometry."""
    product = answers.oxidant.product
    if product == "air":
        return "contact", ""
    metals = {"iron": answers.iron, "manganese": answers.manganese}
    known = {name: given.value for name, given in metals.items() if given is not None}
    if not known:
        return "dose", ""
    oxidant = "free_chlorine" if product == "chlorine" else "permanganate"
    demand = math.fsum(EQUIVALENTS[name] * value for name, value in known.items()) / EQUIVALENTS[oxidant]
    uses = f"the {' and '.join(known)} of this water use up at least {number(demand, 3)} mg/L"
    return "dose", f"; by stoichiometry {uses}; the dose is yours"


def _stage(answers: Answers, planned: Filter, place: int, limit: Limit) -> Section:
    kind, given = planned.kind, answers.coagulant
    said = f"  # {SOLIDS_ONLY.format(missing=kind.missing)}" if planned.solids_only else ""
    coagulated = "" if given.product else f"\ncoagulated = {str(given.used).lower()}  # as given"
    if kind.name == "oxidising" and not planned.solids_only:
        coagulated = f"\ncoagulated = true  # {FLOC}"
    made = section("[[stage]]", f"stage.{planned.name}", f"""
name = "{planned.name}"{said}
limit = "{limit.text}"  # {limit.comment}{coagulated}
longest_run = "{number(kind.longest_run.typical)} d"  # {plain_span(kind.longest_run, "d")}
longest_run_at = {clock(planned.washes_at)}  # its hour, whatever starts the other washes""")
    if doses_here(answers, place) and not dose_known(answers):
        _say_oxidant(made, answers)
    return made


def _vessel(answers: Answers, planned: Filter) -> Section:
    mark = span(HEIGHT, "length", answers.units, math.fsum(depth for _, depth in planned.layers))
    if planned.heightened:
        mark += "; higher here, so that the wash keeps the bed in the vessel in the coldest water"
    return section("[stage.vessel]", f"stage.{planned.name}.vessel", f"""
diameter = "{answers.diameter.text}"  # as given
height = {quantity(planned.height, "length", answers.units)}  # {mark}""")


def _layer(answers: Answers, planned: Filter, place: int) -> Section:
    medium, depth = planned.layers[place]
    several = len(planned.layers) > 1
    top = "  # the top layer" if place == 0 and several else ""
    mark = span(planned.kind.layers[place][1], "length", answers.units)
    if answers.depth is not None:
        mark = f"its share of {answers.depth.text}, as given" if several else "as given"
    return section("[[stage.layer]]", f"stage.{planned.name}.layer.{place}", f"""
medium = "{medium}"{top}
depth = {quantity(depth, "length", answers.units)}  # {mark}""")


def _wash(answers: Answers, planned: Filter) -> list[Section]:
    kind, path = planned.kind, f"stage.{planned.name}.step"
    steps = {
        "backwash": f"""
do = "backwash"
minutes = {number(kind.backwash_minutes.typical)}  # {plain_span(kind.backwash_minutes, "min")}
flow = {quantity(planned.backwash, "flow", answers.units)}  # {_backwash_mark(answers, planned)}""",
        "settle": f"""
do = "settle"
minutes = {number(SETTLE_MINUTES.typical)}  # {plain_span(SETTLE_MINUTES, "min")}""",
        "rinse": f"""
do = "rinse"  # to drain, with the filter's own feed
minutes = {number(planned.rinse_minutes)}  # {plain_span(_rinse(planned), "min")}
flow = "{answers.flow.text}"  # the flow of use""",
    }  # fmt: skip
    if planned.regeneration is not None:
        steps |= regeneration_steps(planned.regeneration, answers.units)
    order = ("backwash", "settle", "regenerant", "displacement", "rinse", "make-up")
    return [section("[[stage.step]]", f"{path}.{name}", steps[name]) for name in order if name in steps]


def _backwash_mark(answers: Answers, planned: Filter) -> str:
    """Where the flow of the backwash comes from."""
    rate, area = planned.kind.backwash_rate, answers.area
    usual = span(rate, "flow", answers.units, area)
    if answers.backwash is None:
        typical = math.isclose(planned.backwash, rate.typical * area)
        return usual if typical else f"{usual}; here what expands the bed as is usual in cold and in warm water"
    if planned.backwash_capped:
        return f"{usual}; {answers.backwash.text} would be too much for these media"
    return "as given"


def _rinse(planned: Filter) -> Usual:
    """Minutes for the usual numbers of vessel volumes."""
    one = planned.rinse_minutes / RINSE_VOLUMES.typical
    volumes = " / ".join(f"{each:g}" for each in (RINSE_VOLUMES.low, RINSE_VOLUMES.typical, RINSE_VOLUMES.high))
    source = f"{volumes} volumes of the vessel's water: {RINSE_VOLUMES.source}"
    return Usual(RINSE_VOLUMES.low * one, planned.rinse_minutes, RINSE_VOLUMES.high * one, source)
