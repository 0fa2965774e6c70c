"""What to test and to measure at a plant whose washes have just been set, in words; ten lines for its readings."""

import math
import shlex
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final, Literal, assert_never, get_args

from plots.commissioning import Check, Commissioning, Reading, Shown, StagePage, commissioning_html
from plots.paper import Paper
from plots.words import Amount, Code, Kind, Label, Name, amount, label, say, span, term
from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.stage.longest_run import longest_run_of
from sim.case.stage.records import Stage
from sim.case.trigger.records import Signal, Volume, devices
from sim.case.units import DAY, HOUR, MINUTE
from sim.log.records import What as Column
from sim.review.site import Site, largest_flow, site_of
from sim.study.commissioning import DRAWS, SET_BY_HAND, Expected, Measurement, What, free_height, measurements
from sim.study.faults_possible import has_clock
from sim.study.faults_read import ERRORS
from sim.study.sheet_runs import Progress, SheetRuns, reading_flows
from sim.study.single import triggers_of
from sim.tell.log.log_sheet import head
from sim.tell.present import ABSENT, amount_of, degrees, duration, measured
from sim.tell.sentences import at_the_plant, day_time, of_chemicals
from sim.tell.sheet.rows import step_name
from sim.tell.sheet.sheet_json import sheet_hash
from sim.tell.trigger.settings_sheet import set_amount

LINES: Final = 10
COLUMNS: Final = (Column.TOTAL, Column.PRESSURE_DROP, Column.FLOW, Column.TEMPERATURE, Column.WASH)
BUCKET: Final = 3.0 / HOUR
"""m3/s: more fills a bucket too fast to time it."""
LET_THROUGH: Final = 2.0 * MINUTE
"""How long a meter is let run into a drum [s], so that opening and closing matter little: ours."""
DOSED: Final = 10.0 * MINUTE
"""How long a dose is watched [s]: ours."""
UNREAD: Final = 0.01
"""The share of its high end below which the low end of a band is left out: ours."""
METER_ERROR: Final = 0.05
"""Within which a meter has to show a known volume where the case does not say: common practice, from memory."""

QUANTITY_OF: Final[dict[What, Quantity]] = {
    "clean": "pressure", "rise": "pressure", "drain": "flow", "lift": "gap", "clear": "minutes",
    "brine": "small volume",
}  # fmt: skip

Metered = Literal["plain", "reserve"]
Meanwhile = Literal["closed", "raw", "sisters", "next"]
Device = Literal["pressure", "turbidity", "hardness", "chlorine", "contact"]
Power = Literal["kept", "lost"]
How = Literal["bucket", "meter"]
When = Literal["at_once", "later"]
Day = Literal["today", "tomorrow", "days"]
Limited = Literal["hardness", "iron", "manganese", "chlorine"]
Dosed = Literal["coagulant", "chlorine", "permanganate"]
Outside = Literal["clean", "rise", "drain", "flow", "lift", "clear", "brine", "quality", "dose"]
"""What a reading is of; the flow of a step other than the backwash has its own advice."""


def commissioning(
    runs: SheetRuns, path: Path, system: System, paper: Paper, progress: Progress = lambda *_: None
) -> str:
    """The page as HTML, beside the settings sheet of some runs; `path` has their case."""
    case, policy, found = runs.case, runs.policy, measurements(runs, path, progress)
    flows = reading_flows(case, runs.water)
    held = [say("sheet.unit")] if any(stage.hold_unit is not None for stage in case.stages) else []
    return commissioning_html(
        Commissioning(
            title=Name(case.title),
            way=Name(policy),
            tests=tuple((label("commissioning.part", day=Kind(day)), tuple(checks))
                        for day, checks in checks_by_day(case, policy, flows, system).items()),
            tools=say("commissioning.tools", step=amount_of(ERRORS["clean"][1] / 2.0, "pressure", system)),
            cautions=(*held, at_the_plant(), *of_chemicals(case.stages)),
            number=label("sheet.hash", sheet=Code(sheet_hash(runs))),
            stages=tuple(_page(case, path, stage, flows[stage.name],
                               [each for each in found if each.stage == stage], system) for stage in case.stages),
            lines=LINES,
            draws=DRAWS,
        ),
        paper,
    )  # fmt: skip


def checks_by_day(
    case: Case, policy: str, flows: Mapping[str, float], system: System
) -> Mapping[Day, tuple[Check, ...]]:
    """The tests of function by the day on which they are made; `flows` [m3/s] of a vessel, by stage."""
    parts: tuple[tuple[Day, Iterable[Check]], ...] = (
        ("today", _today(case, policy, flows, system)), ("tomorrow", _clocks(case, policy)),
        ("days", _in_ten_days(case, policy)),
    )  # fmt: skip
    return {day: checks for day, each in parts if (checks := tuple(each))}


def _clocks(case: Case, policy: str) -> Iterator[Check]:
    triggers = triggers_of(case, policy)
    for stage in case.stages:
        if has_clock(stage, triggers[stage.name]):
            power: Power = "kept" if stage.clock.keeps_time else "lost"
            yield Check(words=say("commissioning.clock", power=Kind(power), stage=Name(stage.name)))


def _in_ten_days(case: Case, policy: str) -> Iterator[Check]:
    triggers = triggers_of(case, policy)
    runs = ((stage, longest_run_of(stage, triggers[stage.name])) for stage in case.stages)
    longest = tuple(label("commissioning.step", step=Name(stage.name), time=duration(length))
                    for stage, length in runs if length is not None)  # fmt: skip
    if longest:
        yield Check(words=say("commissioning.longest", time=duration(DAY)), write=longest)
    yield Check(words=say("commissioning.daily"))


def _today(case: Case, policy: str, flows: Mapping[str, float], system: System) -> Iterator[Check]:
    """What is tested today, in its order."""
    site, triggers = site_of(case), triggers_of(case, policy)
    yield Check(words=say("commissioning.fill"))
    from_tank = max(map(_from_tank, case.stages))
    if from_tank:
        yield Check(words=say("commissioning.tank", volume=amount_of(from_tank, "volume", system)))
    yield from _at_the_drain(site, system)
    found = [devices(triggers[stage.name]) for stage in case.stages]
    timed = any(has_clock(stage, triggers[stage.name]) for stage in case.stages)
    if timed or case.washing.closed_hours:
        yield Check(words=say("sheet.clocks"))
    for stage in case.stages:
        steps = tuple(
            label("commissioning.step", step=step_name(step), time=amount_of(step.seconds, "minutes", system))
            for step in stage.steps
        )
        yield Check(words=say("commissioning.hand", stage=Name(stage.name)), steps=steps)
        yield Check(words=say("commissioning.meanwhile", how=Kind(meanwhile(stage)), stage=Name(stage.name)))
        yield from _held(stage, system)
    if case.washing.together == "wait" and sum(stage.vessels.count for stage in case.stages) > 1:
        yield Check(words=say("commissioning.wait"))
    if any(each.switch is not None or each.signals for each in found):
        yield Check(words=say("commissioning.electrician"))
    for stage, each in zip(case.stages, found, strict=True):
        if each.meters:
            least = amount_of(flows[stage.name] * LET_THROUGH, "small volume", system, digits=2)
            share = METER_ERROR if case.prices is None else case.prices.meter.error or METER_ERROR
            within = amount_of(share, "share", system)
            yield Check(words=say("commissioning.meter", stage=Name(stage.name), volume=least, error=within),
                       write=(label("commissioning.let_through"), label("commissioning.shown")))  # fmt: skip
        for meter in each.meters:
            kept: Metered = "plain" if isinstance(meter, Volume) else "reserve"
            yield Check(words=say("commissioning.small", meter=Kind(kept), stage=Name(stage.name), small=least,
                                  volume=set_amount(meter.volume, "volume", system)),
                        write=(label("commissioning.put_back"),))  # fmt: skip
        if each.switch is not None:
            above = set_amount(each.switch.above, "pressure", system)
            error = _error(ERRORS["pressure"], "pressure", system)
            yield Check(words=say("commissioning.pump", stage=Name(stage.name), above=above, error=error),
                        write=(label("commissioning.closed_at"),))  # fmt: skip
            yield from _bridged(stage, "pressure", each.switch.hold, system)
        for signal in each.signals:
            yield from _signalled(stage, signal, system)
    for hours in case.washing.closed_hours:
        yield Check(words=say("commissioning.locked", start=day_time(hours.start), end=day_time(hours.end)))
    yield Check(words=say("commissioning.power"), write=(label("commissioning.valves"),))


def _from_tank(stage: Stage) -> float:
    """Filtered water that one wash takes from its header [m3]."""
    from_header = stage.wash_path == "header"
    return sum(step.flow * step.seconds for step in stage.steps
               if from_header and step.do == "backwash" and step.water == "filtered")  # fmt: skip


def meanwhile(stage: Stage) -> Meanwhile:
    """What happens to service while a vessel of a stage washes."""
    if stage.vessels.count > 1:
        return "sisters" if stage.vessels.arrangement == "parallel" else "next"
    return "raw" if stage.while_washing == "passes raw" else "closed"


def _held(stage: Stage, system: System) -> Iterator[Check]:
    if stage.hold_unit is None:
        return
    start, end = stage.hold_span
    when: When = "later" if start else "at_once"
    yield Check(words=say(
        "commissioning.unit", when=Kind(when), stage=Name(stage.name), start=amount_of(start, "minutes", system),
        end=amount_of(end, "minutes", system),
    ))  # fmt: skip


def _bridged(stage: Stage, device: Device, hold: float, system: System) -> Iterator[Check]:
    if hold > 0.0:
        yield Check(words=say("commissioning.bridge", device=Kind(device), stage=Name(stage.name),
                             hold=amount_of(hold, "minutes", system)))  # fmt: skip


def _signalled(stage: Stage, signal: Signal, system: System) -> Iterator[Check]:
    """A signal whose wash waits for an hour of the day shows nothing at once."""
    if signal.at is None:
        yield from _bridged(stage, signal.of, signal.hold, system)


def _at_the_drain(site: Site, system: System) -> Iterator[Check]:
    drain = site.case.drain
    if drain is not None and drain.air_gap_height:
        yield Check(words=say("commissioning.gap", gap=amount_of(drain.air_gap_height, "gap", system)))
    else:
        yield Check(words=say("commissioning.gap_seen"))
    most = max(site.case.stages, key=lambda stage: largest_flow(site, stage))
    flow = amount_of(largest_flow(site, most), "flow", system)
    yield Check(words=say("commissioning.drain", stage=Name(most.name), flow=flow))


def _page(
    case: Case, path: Path, stage: Stage, flow: float, found: list[Measurement], system: System
) -> StagePage:
    command = ["filterrun", "fit", "readings.csv", path.name]
    command += ["--stage", stage.name] if len(case.stages) > 1 else []
    tested = _tested(case, stage, flow * stage.vessels.sharing, system)
    return StagePage(
        name=Name(stage.name),
        readings=(*(_reading(case, each, system) for each in found), *tested),
        columns=("date", "time", *(head(what, system) for what in COLUMNS)),
        command=Code(shlex.join(command)),
        several=stage.vessels.count > 1,
        too_short=any(each.measured == "clear" and math.isinf(each.expected[0].value) for each in found),
    )


def _reading(case: Case, of: Measurement, system: System) -> Reading:
    quantity = QUANTITY_OF[of.measured]
    error = _error(of.error, quantity, system)
    outside: Outside = "flow" if of.measured == "drain" and of.step != "backwash" else of.measured
    return Reading(
        what=_what(case, of, system),
        shown=tuple(Shown(_water(each, system), _expected(of, each, system), _allowed(of, each, system))
                    for each in of.expected),
        notes=tuple(_notes(of, error, system)),
        outside=say("commissioning.outside", what=Kind(outside)),
    )  # fmt: skip


def _error(of: tuple[float, float], quantity: Quantity, system: System) -> Amount:
    share, plus = of
    parts: list[tuple[float, Quantity]] = [(share, "share"), (plus, quantity)]
    return Amount(" + ".join(amount_of(each, what, system, digits=2) for each, what in parts if each))


def _notes(of: Measurement, error: Amount, system: System) -> Iterator[Label]:
    if of.measured == "clear":
        return
    yield label("commissioning.ranges", error=error) if of.drawn else label("commissioning.case", error=error)
    if of.measured == "lift":
        most = max(each.high for each in of.expected)
        yield label("commissioning.free", height=amount_of(free_height(of.stage), "gap", system),
                    most=amount_of(most, "gap", system))  # fmt: skip


def _tested(case: Case, stage: Stage, flow: float, system: System) -> Iterator[Reading]:
    """What a test kit or the tank of a dose shows: only the case says what it may be."""
    any_water, kinds = label("commissioning.any"), get_args(Limited)
    for kind in kinds:
        limit = getattr(stage.limits, kind)
        if limit is not None:
            quantity: Quantity = "hardness" if kind == "hardness" else "dissolved"
            most = label("commissioning.no_more_than", amount=amount_of(limit, quantity, system))
            yield Reading(what=label("commissioning.quality", what=term("limited", kind)),
                          shown=(Shown(any_water, amount(ABSENT), most),), notes=(),
                          outside=say("commissioning.outside", what=Kind("quality")))  # fmt: skip
    doses = list[tuple[Dosed, float | None]]()
    if case.feed.coagulant is not None and stage == case.stages[0]:
        doses.append(("coagulant", case.feed.coagulant.dose))
    if stage.dosing is not None and stage.dosing.product != "air":
        doses.append((stage.dosing.product, stage.dosing.dose))
    for product, dose in doses:
        if dose:
            dosed = dose * flow * DOSED
            low, high = (measured(dosed * each, "small mass", system) for each in (1 - SET_BY_HAND, 1 + SET_BY_HAND))
            yield Reading(
                what=label("commissioning.dose", product=Kind(product), time=amount_of(DOSED, "minutes", system),
                           flow=amount_of(flow, "flow", system)),
                shown=(Shown(any_water, amount_of(dosed, "small mass", system), span(low[0], high[0], high[1])),),
                notes=(label("commissioning.case", error=_error((SET_BY_HAND, 0.0), "small mass", system)),),
                outside=say("commissioning.outside", what=Kind("dose")),
            )  # fmt: skip


def _what(case: Case, of: Measurement, system: System) -> Label:
    flow = amount_of(of.flow or 0.0, "flow", system)
    match of.measured:
        case "clean":
            return label("commissioning.clean", flow=flow)
        case "rise":
            return label("commissioning.rise")
        case "lift":
            return label("commissioning.lift", flow=flow)
        case "brine":
            return label("commissioning.brine")
        case "clear":
            ratio, limit = case.feed.turbidity_ratio, of.stage.limit or 0.0
            if ratio is None:
                return label("commissioning.by_laboratory", limit=amount_of(limit, "solids", system))
            return label("commissioning.clear", limit=amount_of(limit / ratio, "turbidity", system))
        case "drain":
            assert of.step is not None
            how: How = "bucket" if of.expected[0].high < BUCKET else "meter"
            return label("commissioning.drain", how=Kind(how), step=term("step", of.step))
        case _:
            assert_never(of.measured)


def _water(each: Expected, system: System) -> Amount | Label:
    return label("commissioning.any") if each.temperature is None else degrees(each.temperature, system)


def _expected(of: Measurement, each: Expected, system: System) -> Amount | Label:
    quantity = QUANTITY_OF[of.measured]
    if abs(each.value) < of.error[1]:
        return label("commissioning.no_more_than", amount=amount_of(of.error[1], quantity, system, digits=2))
    if math.isfinite(each.value):
        return amount_of(each.value, quantity, system)
    return label("commissioning.beyond", time=amount_of(_rinse(of.stage), quantity, system))


def _rinse(stage: Stage) -> float:
    """Length of the last rinse of a wash [s]."""
    return [step.seconds for step in stage.steps if step.do == "rinse"][-1]


def _allowed(of: Measurement, each: Expected, system: System) -> Amount | Label:
    """Its band; water is clear in time or not."""
    if of.measured == "clear":
        return label("commissioning.in_rinse", time=amount_of(_rinse(of.stage), "minutes", system))
    return _band(each, QUANTITY_OF[of.measured], system)


def _band(each: Expected, quantity: Quantity, system: System) -> Amount | Label:
    """From low to high, one of them where the other is no bound, or too small to be read beside it."""
    least = UNREAD * each.high if each.high < math.inf else 0.0
    low = measured(each.low, quantity, system) if least < each.low < math.inf else None
    high = measured(each.high, quantity, system) if each.high < math.inf else None
    if low is not None and high is not None:
        return span(low[0], high[0], high[1])
    if low is not None:
        return label("commissioning.no_less_than", amount=amount(*low))
    return amount(ABSENT) if high is None else label("commissioning.no_more_than", amount=amount(*high))
