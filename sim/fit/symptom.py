"""What somebody would notice of each fault or change, by the model alone: a case, nothing of a log."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from hydraulics.errors import FilterrunError
from sim.case.fault.records import What as Failed
from sim.case.record import record
from sim.case.records import Case
from sim.case.units import DAY, HOUR
from sim.fit.causes import Symptom
from sim.fit.signature import Signature, Table
from sim.fit.tried import Tried, tried_of
from sim.log.records import Log, Series, What
from sim.plant.line import Line
from sim.plant.records import Event
from sim.plant.simulate import Plant
from sim.study.faults_possible import has_clock
from sim.study.single import triggers_of
from sim.weather import build_forcing

DAYS, AFTER, LATE = 21.0, 3.0 * HOUR, 2.0 / 3.0
"""Run so long; a wash is just over for so long; the last part of a run begins there."""
NOTICED = 0.1
"""A change by so much (its logarithm) is noticed by some, by twice as much by most; from memory."""
AN_HOUR, HARD, NO_WASH = 1.0, 17.1, 0.7
"""In place of that: of the hour of a wash [h], of hardness (one grain per gallon) [g/m3]; and how much rarer washes
are (logarithm) when one begins to say that none comes."""
UNSURE = 0.1
"""What is noticed with less probability is no symptom."""


@record
class Signs:
    """What shows of a run, in the mean; nan where there is none.

    Pressure drop [Pa] of the bed just washed at the stage's usual rate, as the gauge shows it; washes a day; their
    hour [h], where they have one; solids sent on [g/m3] just after a wash and late in a run, hardness [g/m3] late in
    a run; water to drain [m3] in a day and in a wash.
    """

    clean: float
    washes: float
    hour: float
    after: float
    late: float
    hardness: float
    drain: float
    per_wash: float


def noticed(case: Case, stage: str, symptom: Symptom, policy: str) -> Iterator[tuple[Tried, float]]:
    """All that shows so, with how likely this is what is said: the more it shows else, the less."""
    alone = _alone(case, stage, policy)
    usual = _signs(alone, policy)
    for tried in tried_of(alone, policy, alone.stages[0]):
        size = tried.sizes[len(tried.sizes) // 2] if tried.sizes else 0.0
        try:
            now = _signs(tried.put(alone, size), policy)
        except FilterrunError:
            continue
        sure = {each: _noticed(_far(each, usual, now)) for each in Symptom}
        if sure[symptom] > UNSURE:
            yield tried, sure[symptom] ** 2 / sum(sure.values())


def _noticed(far: float) -> float:
    """The probability that somebody notices what is so many errors off in the direction of a symptom."""
    return 0.0 if math.isnan(far) or far <= 0.0 else 1.0 - math.exp(-0.5 * far**2)


def _far(symptom: Symptom, usual: Signs, now: Signs) -> float:
    """How far a symptom is there, in errors; below 0 for the contrary, nan where nothing can be said."""
    more = {
        Symptom.HIGH_CLEAN: (usual.clean, now.clean), Symptom.LOW_CLEAN: (now.clean, usual.clean),
        Symptom.MORE_OFTEN: (usual.washes, now.washes), Symptom.LESS_OFTEN: (now.washes, usual.washes),
        Symptom.NO_WASH: (now.washes, usual.washes), Symptom.DIRTY_AFTER: (usual.after, now.after),
        Symptom.DIRTY_LATE: (usual.late, now.late), Symptom.MORE_DRAIN: (usual.drain, now.drain),
        Symptom.LESS_DRAIN: (now.per_wash, usual.per_wash),
    }  # fmt: skip
    if symptom is Symptom.WRONG_HOUR:
        return abs((now.hour - usual.hour + 12.0) % 24.0 - 12.0) / AN_HOUR
    if symptom is Symptom.HARD:
        return (now.hardness - usual.hardness) / HARD
    before, after = more[symptom]
    moved = math.log(max(after, 1e-9) / max(before, 1e-9))
    return (max(moved - NO_WASH, 0.0) if symptom is Symptom.NO_WASH else moved) / NOTICED


def _alone(case: Case, stage: str, policy: str) -> Case:
    """The stage alone under the first weeks of what the case asks of it."""
    run = replace(case.run, length=min(case.run.length, DAYS * DAY))
    forcing = build_forcing(run, case.feed, case.demand, seed=1)
    starts = (0.0, *np.minimum(forcing.end, run.length)[:-1].tolist())
    flow = Series(what=What.FLOW, times=starts, values=tuple(forcing.flow.tolist()), resolution=0.0)
    log = Log(file="", start=run.start, length=run.length, series=(flow,), washes=())
    return Signature(log, replace(case, run=run, faults=()), stage, policy).alone


def _signs(case: Case, policy: str) -> Signs:
    """Run the case and look at it every hour."""
    plant, (stage,) = Plant(case, policy), case.stages
    usual, length = stage.reference_rate * stage.vessel.area, case.run.length
    rows: list[tuple[float, float, float, float]] = []
    shown = math.prod(each.share or 0.0 for each in case.faults if each.what is Failed.TAP_PLUGGED)

    def look(_: int, line: Line) -> None:
        if line.phase(0) != "service":
            return
        solids, sent, clean = line.solids_sent_on(0), line.sent_on(0), shown * line.reading_at(0, usual)[0]
        rows.append((line.time, clean, math.nan if solids is None else solids, math.nan if sent is None else sent[0]))

    plant.visit(np.arange(HOUR, length - HOUR, HOUR).tolist(), look)
    plant.run_until(length)
    result = plant.result()
    seen = np.array(rows).reshape(-1, 4)
    starts = np.array([each.time_s for each in result.log if each.event is Event.WASH_STARTS])
    backs = np.array([each.time_s for each in result.log if each.event is Event.BACK])
    bounds = np.concatenate([[0.0], starts, [length]])
    place = np.searchsorted(starts, seen[:, 0], side="right")
    part = (seen[:, 0] - bounds[place]) / (bounds[place + 1] - bounds[place])
    back = np.concatenate([[-math.inf], backs])
    since = seen[:, 0] - back[np.searchsorted(backs, seen[:, 0], side="right")]
    for_clean = place > 0 if len(starts) else place >= 0
    midnight = case.run.start.hour * HOUR + case.run.start.minute * 60.0
    angles = (starts + midnight) / DAY * 2.0 * math.pi
    timed = len(starts) > 0 and has_clock(stage, triggers_of(case, policy)[stage.name])
    hour = math.atan2(np.sin(angles).mean(), np.cos(angles).mean()) * 12.0 / math.pi if timed else math.nan
    late = part >= LATE
    washed = math.fsum(each.volume_m3 or 0.0 for each in result.log if each.event is Event.STEP_ENDS)
    return Signs(
        clean=_mean(seen[for_clean, 1]), washes=(len(starts) + 0.5) * DAY / length, hour=hour,
        after=_mean(seen[since <= AFTER, 2]), late=_mean(seen[late, 2]), hardness=_mean(seen[late, 3]),
        drain=float(result.site["drain_m3"] or 0.0) * DAY / length,
        per_wash=washed / len(backs) if len(backs) else math.nan,
    )  # fmt: skip


def _mean(values: Table) -> float:
    known = [each for each in values.tolist() if not math.isnan(each)]
    return math.fsum(known) / len(known) if known else math.nan
