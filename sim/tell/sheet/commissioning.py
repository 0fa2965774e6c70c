"""What to test and to measure at a plant whose washes have just been set, in words; ten lines for its readings."""

import math
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Final, Literal, assert_never

from plots.commissioning import Check, Commissioning, Reading, Shown, StagePage, commissioning_html
from plots.paper import Paper
from plots.words import Amount, Code, Kind, Label, Name, amount, label, say, span, term
from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import Signal, devices
from sim.case.units import HOUR
from sim.log.records import What as Column
from sim.review.site import Site, largest_flow, site_of
from sim.study.commissioning import DRAWS, Expected, Measurement, What, measurements
from sim.study.faults_possible import has_clock
from sim.study.sheet_runs import Progress, SheetRuns
from sim.study.single import triggers_of
from sim.tell.log.log_sheet import head
from sim.tell.present import ABSENT, amount_of, degrees, measured
from sim.tell.sentences import at_the_plant, of_chemicals
from sim.tell.sheet.rows import step_name
from sim.tell.sheet.sheet_json import sheet_hash

LINES: Final = 10
COLUMNS: Final = (Column.TOTAL, Column.PRESSURE_DROP, Column.FLOW, Column.TEMPERATURE, Column.WASH)
BUCKET: Final = 3.0 / HOUR
"""m3/s: more fills a bucket too fast to time it."""
METER_ERROR: Final = 0.05
"""Within which a meter has to show a known volume where the case does not say: common practice, from memory."""

QUANTITY_OF: Final[dict[What, Quantity]] = {
    "clean": "pressure", "rise": "pressure", "drain": "flow", "lift": "gap", "clear": "minutes", "brine": "volume",
}  # fmt: skip

Meanwhile = Literal["closed", "raw", "sisters", "next"]
Device = Literal["pressure", "turbidity", "hardness", "chlorine", "contact"]
Power = Literal["kept", "lost"]
How = Literal["bucket", "meter"]
When = Literal["at_once", "later"]
Outside = Literal["clean", "rise", "drain", "flow", "lift", "clear", "brine"]
"""What a reading is of; the flow of a step other than the backwash has its own advice."""


def commissioning(
    runs: SheetRuns, path: Path, system: System, paper: Paper, progress: Progress = lambda *_: None
) -> str:
    """The page as HTML, beside the settings sheet of some runs; `path` has their case."""
    case, policy, found = runs.case, runs.policy, measurements(runs, path, progress)
    held = [say("sheet.unit")] if any(stage.hold_unit is not None for stage in case.stages) else []
    return commissioning_html(
        Commissioning(
            title=Name(case.title),
            way=Name(policy),
            tests=tuple(functions_of(case, policy, system)),
            cautions=(*held, at_the_plant(), *of_chemicals(case.stages)),
            number=label("sheet.hash", sheet=Code(sheet_hash(runs))),
            stages=tuple(_page(case, path, stage, [each for each in found if each.stage == stage], system)
                         for stage in case.stages),
            lines=LINES,
            draws=DRAWS,
        ),
        paper,
    )  # fmt: skip


def functions_of(case: Case, policy: str, system: System) -> Iterator[Check]:
    site, triggers = site_of(case), triggers_of(case, policy)
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
    for stage in case.stages:
        found = devices(triggers[stage.name])
        if found.meters:
            error = METER_ERROR if case.prices is None else case.prices.meter.error or METER_ERROR
            within = amount_of(error, "share", system)
            yield Check(words=say("commissioning.meter", stage=Name(stage.name), error=within),
                       write=(label("commissioning.let_through"), label("commissioning.shown")))  # fmt: skip
        if found.switch is not None:
            yield from _bridged(stage, "pressure", found.switch.hold, system)
        for signal in found.signals:
            yield from _signalled(stage, signal, system)
        if has_clock(stage, triggers[stage.name]):
            power: Power = "kept" if stage.clock.keeps_time else "lost"
            yield Check(words=say("commissioning.clock", power=Kind(power), stage=Name(stage.name)))
    yield from _at_the_drain(site, system)


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
    flow = max(largest_flow(site, stage) for stage in site.case.stages)
    yield Check(words=say("commissioning.drain", flow=amount_of(flow, "flow", system)))


def _page(case: Case, path: Path, stage: Stage, found: list[Measurement], system: System) -> StagePage:
    command = ["filterrun", "fit", "readings.csv", path.name]
    command += ["--stage", stage.name] if len(case.stages) > 1 else []
    return StagePage(
        name=Name(stage.name),
        readings=tuple(_reading(case, each, system) for each in found),
        columns=("date", "time", *(head(what, system) for what in COLUMNS)),
        command=Code(shlex.join(command)),
        several=stage.vessels.count > 1,
    )


def _reading(case: Case, of: Measurement, system: System) -> Reading:
    quantity = QUANTITY_OF[of.measured]
    share, plus = of.error
    parts: list[tuple[float, Quantity]] = [(share, "share"), (plus, quantity)]
    error = Amount(" + ".join(amount_of(each, what, system, digits=2) for each, what in parts if each))
    outside: Outside = "flow" if of.measured == "drain" and of.step != "backwash" else of.measured
    return Reading(
        what=_what(case, of, system),
        shown=tuple(Shown(_water(each, system), _expected(of, each, system), _band(each, quantity, system))
                    for each in of.expected),
        source=label("commissioning.ranges", error=error) if of.drawn else label("commissioning.case", error=error),
        outside=say("commissioning.outside", what=Kind(outside)),
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
            unit: Quantity = "solids" if ratio is None else "turbidity"
            return label("commissioning.clear", limit=amount_of(limit / (ratio or 1.0), unit, system))
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
    rinse = [step.seconds for step in of.stage.steps if step.do == "rinse"][-1]
    return label("commissioning.beyond", time=amount_of(rinse, quantity, system))


def _band(each: Expected, quantity: Quantity, system: System) -> Amount | Label:
    """From low to high, one of them where the other is no bound."""
    low = measured(each.low, quantity, system) if 0.0 < each.low < math.inf else None
    high = measured(each.high, quantity, system) if each.high < math.inf else None
    if low is not None and high is not None:
        return span(low[0], high[0], high[1])
    if low is not None:
        return label("commissioning.no_less_than", amount=amount(*low))
    return amount(ABSENT) if high is None else label("commissioning.no_more_than", amount=amount(*high))
