"""The sentences around the figures: what was simulated, what is assumed, and the caution."""

from collections.abc import Iterator, Sequence
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Final, Literal

from plots.words import (
    Items,
    Label,
    Moment,
    Name,
    Sentence,
    Term,
    count,
    dated,
    each_of,
    hour,
    in_days,
    in_quotes,
    items,
    label,
    say,
    term,
)
from sim.case.records import Assumption, Case
from sim.case.stage.records import Stage
from sim.case.train.records import Downstream
from sim.case.units import DAY, MINUTE
from sim.study.moments import moment

if TYPE_CHECKING:  # the plant brings the engine along, which a check does without
    from sim.plant.records import FilterRun

SITE = "site"
CUT_SHORT: Final[Literal["end of simulation"]] = "end of simulation"


def caution() -> Sentence:
    """Who decides: at the end of all that is shown."""
    return say("report.caution")


def at_the_plant() -> Sentence:
    """`plant_cautions` in short, wherever something has a person look, open, dose or share."""
    return say("caution.at_the_plant")


def of_chemicals(stages: Sequence[Stage]) -> tuple[Sentence, ...]:
    """Beside `at_the_plant`, what holds for the chemicals that stages have dosed or are regenerated with."""
    regenerants = [step for stage in stages for step in stage.steps if step.do == "regenerant"]
    dosed = {stage.dosing.product for stage in stages if stage.dosing is not None}
    used = dosed | {stage.oxidant for stage in stages if stage.oxidant not in (None, "none")}
    cautions = {
        say("caution.doses"): bool(regenerants or used),
        say("caution.chlorine"): "chlorine" in used,
        say("caution.permanganate"): "permanganate" in used or any(step.permanganate for step in regenerants),
        say("caution.brine"): any(step.permanganate is None for step in regenerants),
    }
    return tuple(words for words, holds in cautions.items() if holds)


def plant_cautions() -> tuple[Sentence, ...]:
    """Before anybody opens a vessel, joins two waters or doses."""
    return each_of("cautions")


def not_for_a_plant() -> Sentence:
    """That a plant is invented."""
    return say("wall.foot")


def ledger_closes() -> Sentence:
    """What the books of a run are held to."""
    return say("caution.ledger_closes")


def simulated(case: Case, days: float) -> Label:
    """The title line of a result."""
    return label("case.simulated", title=Name(case.title), length=in_days(days))


def assumed_count(assumptions: tuple[Assumption, ...]) -> Sentence:
    """How many constants the case left out."""
    return say("assumed.some", count=len(assumptions)) if assumptions else say("assumed.none")


def fault_words(case: Case) -> tuple[Sentence, ...]:
    """That something fails in a case, and what, if anything does."""
    if not case.faults:
        return ()
    failing = items([term("fault", what) for what in dict.fromkeys(each.what.value for each in case.faults)])
    return (say("failing.in_case", count=len(case.faults), faults=failing),)


def described(case: Case) -> tuple[Label, ...]:
    """What a case file describes, a line each for the run, every stage and what starts a wash."""
    length, start = in_days(case.run.length / DAY), dated(case.run.start)
    return (
        label("case.run", title=Name(case.title), length=length, start=start),
        *(_described_stage(stage) for stage in case.stages),
        label("case.use", use=term("use", case.use)) if case.use else label("case.use_unknown"),
        *_described_downstream(case.downstream),
        label("case.ways", ways=quoted([policy.name for policy in case.policies])),
    )


def _described_stage(stage: Stage) -> Label:
    name, vessels = Name(stage.name), stage.vessels
    layers = items([term("medium", layer.medium) for layer in stage.layers])
    steps = items([term("step", step.do) for step in stage.steps])
    if vessels.count == 1:
        return label("case.stage", stage=name, layers=layers, steps=steps)
    if vessels.arrangement == "parallel":
        return label("case.stage_parallel", stage=name, vessels=count(vessels.count), layers=layers, steps=steps)
    if vessels.arrangement == "alternating":
        return label("case.stage_alternating", stage=name, vessels=count(vessels.count), layers=layers, steps=steps)
    return label("case.stage_standby", stage=name, vessels=count(vessels.count), layers=layers, steps=steps)


def _described_downstream(downstream: Downstream | None) -> Iterator[Label]:
    """What the train feeds, if the case says so."""
    if downstream is None:
        return
    parts = [
        *([term("membrane", downstream.membrane)] if downstream.membrane else []),
        *([term("downstream", "unit")] if downstream.unit else []),
        *([term("downstream", "cartridge")] if downstream.cartridge else []),
    ]
    if parts:
        yield label("case.downstream", parts=items(parts))


def cause_words(run: "FilterRun") -> Term:
    """What started the wash that ended a filter run."""
    return term("cause", CUT_SHORT if run.cause is None else run.cause.value)


def day_time(seconds: float) -> Moment:
    """A time of day [s after midnight].

    >>> day_time(9000.0)
    '02:30'
    """
    minutes = round(seconds / MINUTE)
    return hour(time(minutes // 60 % 24, minutes % 60))


def quoted(names: Sequence[str]) -> Items:
    """Names of the case, as a sentence lists them.

    >>> quoted(["a", "b", "c"])
    '“a”, “b” and “c”'
    """
    return items([in_quotes(each) for each in names])


def day_clock(start: datetime, seconds: float, days: float) -> Moment:
    """Local day and time of an event, with the year only where the run reaches into another one.

    >>> day_clock(datetime(2027, 1, 4), 97.0 * 3600.0, 60.0)
    '8 Jan 01:00'
    """
    same_year = (start + timedelta(days=days)).year == start.year
    return dated(moment(start, seconds), "moment" if same_year else "moment_year")
