"""When in the day the filters of a case wash."""

from collections import Counter
from datetime import timedelta

from sim.case.record import record
from sim.case.records import Case
from sim.case.units import DAY, MINUTE
from sim.plant.simulate import Plant
from sim.study.moments import moment
from sim.study.vessel_past import role
from sim.study.vessels import vessels_of

LONGEST = 60.0 * DAY  # s that are looked at
PART = 15  # minutes
PARTS = 24 * 60 // PART


@record
class HoursWashed:
    """The washes of one stage in the first `days` of a run: how many, and which share of them goes on in each quarter
    of an hour of the day."""

    stage: str
    days: float
    washes: int
    shares: tuple[float, ...]


def hours_washed(case: Case, policy: str) -> tuple[HoursWashed, ...]:
    """Of every stage, in the order of the train."""
    end = min(LONGEST, case.run.length)
    plant = Plant(case, policy)
    plant.run_until(end)
    begun, found = dict[str, float](), list[tuple[str, float, float]]()
    for entry in plant.result().log:
        match role(entry.event):
            case "begins":
                begun.setdefault(entry.who, entry.time_s)
            case "over" if entry.who in begun:
                found.append((entry.who, begun.pop(entry.who), entry.time_s))
            case _:
                pass
    return tuple(
        _of_stage(case, stage.name, end, [(start, over) for who, start, over in found
                                          if who in {each.name for each in vessels_of(stage)}])
        for stage in case.stages
    )  # fmt: skip


def _of_stage(case: Case, stage: str, end: float, washes: list[tuple[float, float]]) -> HoursWashed:
    counts = Counter(part for start, over in washes for part in _parts(case, start, over))
    return HoursWashed(
        stage=stage, days=end / DAY, washes=len(washes),
        shares=tuple(counts[part] / (len(washes) or 1) for part in range(PARTS)),
    )  # fmt: skip


def _parts(case: Case, start: float, over: float) -> set[int]:
    """The quarters of an hour that a wash touches."""
    first = moment(case.run.start, start)
    first -= timedelta(minutes=first.minute % PART, seconds=first.second)
    count = -int(-(moment(case.run.start, over) - first).total_seconds() // (PART * MINUTE))
    begin = (first.hour * 60 + first.minute) // PART
    return {(begin + place) % PARTS for place in range(min(count, PARTS))}
