"""The sentences around the figures: what was simulated, what is assumed, and the caution."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from plots.words import words
from sim.case.records import Assumption, Case
from sim.case.stage.records import Stage
from sim.case.train.records import Downstream, Vessels
from sim.case.units import DAY, HOUR, MINUTE
from sim.study.moments import moment

if TYPE_CHECKING:  # the plant brings the engine along, which a check does without
    from sim.plant.records import FilterRun

CAUTION = words().text("report.caution")
PLANT_CAUTIONS = words().texts("report.plant_cautions")
AT_THE_PLANT = (
    "At the plant: a vessel is opened only without pressure and locked out, and entered only with a permit; no "
    "supply is shared without backflow protection; a drain is reached through an air gap, with its owner's consent; "
    "chemicals are handled by their data sheets."
)
"""PLANT_CAUTIONS in short, wherever something tells a person to look, open, dose or share."""
NOT_FOR_A_PLANT = "A model with an invented plant; do not try it at a working plant."
LEDGER_CLOSES = (
    "Solids in, and dosed if any, = sent to service + to drain + held; a run whose ledger does not close is an error."
)
MARK_LEGEND = "* best in its row; equal figures share it"
SITE = "site"
CUT_SHORT = "end of simulation"


def days_words(days: float) -> str:
    """Length of a run in words.

    >>> days_words(60.0), days_words(1.0), days_words(0.5)
    ('60 days', '1 day', '0.5 days')
    """
    return f"{days:g} day" + ("" if days == 1.0 else "s")


def simulated(case: Case, days: float) -> str:
    """The title line of a result."""
    return f"{case.title} ({days_words(days)} simulated)"


def assumed_count(assumptions: tuple[Assumption, ...]) -> str:
    """How many constants the case left out."""
    count = len(assumptions)
    if count == 0:
        return "No constant assumed: the case gives every one."
    return f"{count} constant{' is' if count == 1 else 's are'} assumed, not given by the case."


def described(case: Case) -> tuple[str, ...]:
    """What a case file describes, a line each for the run, every stage and what starts a wash."""
    start = clock(case.run.start)
    names = ", ".join(f"“{policy.name}”" for policy in case.policies)
    return (
        f"{case.title}: {days_words(case.run.length / DAY)} from {start}",
        *(_described_stage(stage) for stage in case.stages),
        f"the water is for: {case.use or 'not stated, treated as drinking water'}",
        *_described_downstream(case.downstream),
        f"what starts a wash: {names}",
    )


def _described_stage(stage: Stage) -> str:
    layers = ", ".join(layer.medium for layer in stage.layers)
    steps = ", ".join(step.do for step in stage.steps)
    return f"stage {stage.name}: {_described_vessels(stage.vessels)}{layers}; wash: {steps}"


def _described_vessels(vessels: Vessels) -> str:
    """How many vessels, where there is more than one."""
    if vessels.count == 1:
        return ""
    how = "in parallel" if vessels.arrangement == "parallel" else "one on duty, the others standing by"
    return f"{vessels.count} vessels, {how}; "


def _described_downstream(downstream: Downstream | None) -> tuple[str, ...]:
    """What the train feeds, if the case says so."""
    if downstream is None:
        return ()
    parts = (
        downstream.membrane and f"{downstream.membrane} membrane",
        downstream.unit and "a unit that fills a tank between two levels",
        downstream.cartridge and "behind a cartridge",
    )
    told = ", ".join(each for each in parts if each)
    return (f"downstream: {told}",) if told else ()


def cause_words(run: "FilterRun") -> str:
    """What started the wash that ended a filter run."""
    return CUT_SHORT if run.cause is None else run.cause.value


def day_time(seconds: float) -> str:
    """A time of day [s after midnight].

    >>> day_time(9000.0)
    '02:30'
    """
    return f"{int(seconds // HOUR):02d}:{round(seconds % HOUR / MINUTE):02d}"


def joined(names: Sequence[str]) -> str:
    """All names in a sentence.

    >>> joined(["a"]), joined(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def clock(time: datetime) -> str:
    """Local date and time to the minute.

    >>> clock(datetime(2027, 1, 8, 3, 0, 30))
    '2027-01-08 03:00'
    """
    return f"{time:%Y-%m-%d %H:%M}"


def day_clock(start: datetime, seconds: float, days: float) -> str:
    """Local day and time of an event, with the year only where the run reaches into another one.

    >>> day_clock(datetime(2027, 1, 4), 97.0 * 3600.0, 60.0)
    '8 Jan 01:00'
    """
    time = moment(start, seconds)
    month = MONTHS[time.month - 1]
    same_year = (start + timedelta(days=days)).year == start.year
    return f"{time.day} {month} " + ("" if same_year else f"{time.year} ") + f"{time:%H:%M}"


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
