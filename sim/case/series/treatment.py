"""The numbers of one file judged: what is unlikely is refused, or changed by a remedy of the case and put on record.

What lies outside the run is neither refused nor counted.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from sim.case.line_numbers import Path
from sim.case.record import record
from sim.case.series.records import Remedied, Remedy
from sim.case.series.schema import FileTable
from sim.case.series.sheet import Complaints
from sim.case.spelling import plain_duration
from sim.case.units import DAY, HOUR
from sim.case.values import Quantity

LONGEST_GAP = 6 * HOUR
"""Longest gap that a remedy fills where the case does not say [s]."""

STUCK_AFTER, STUCK_STEPS = DAY, 12
"""A value counts as stuck beyond this time [s] and this many steps where the case does not say."""


@record
class Request:
    """The place of the series in the case and its table, the range of its values, start and length [s] of the run.

    `zero_stands`: whether zero may stand still, as where nothing flows.
    """

    place: Path
    table: FileTable
    limits: Quantity
    start: datetime
    length: float
    zero_stands: bool = False

    @property
    def key(self) -> str:
        """The dotted key."""
        return ".".join(map(str, self.place))

    def si(self, number: float) -> float:
        """A number of the file in the unit of the records."""
        unit = self.limits.kind.units[self.table.unit]
        return ((1.0 if self.table.scale is None else self.table.scale) * number - unit.zero) * unit.factor

    def told(self, number: float) -> str:
        """A number of the file as a message shows it."""
        scaled = "" if self.table.scale is None else f" times {self.table.scale:g}"
        return f"{number:g} {self.table.unit}{scaled}"

    def clock(self, time: float) -> str:
        """A time [s from the start of the run] on the run's clock, as a case file gives it."""
        return (self.start + timedelta(seconds=time)).isoformat()

    def stuck_after(self, step: float) -> float:
        """How long a value of a file with this step may stay the same [s]."""
        given = self.table.stuck_after
        return max(STUCK_AFTER, STUCK_STEPS * step) if given is None else given

    @property
    def longest_gap(self) -> float:
        """Longest gap that the remedy may fill [s]."""
        return LONGEST_GAP if self.table.longest_gap is None else self.table.longest_gap


HALF_MORE = 1.5
"""Spacings up to this many steps leave no row out: loggers drift, and a day of a clock may have 25 hours."""


@dataclass(frozen=True, slots=True)
class Point:
    """The number in one row, None if its cell is empty, at its time [s from the start of the run]."""

    line: int
    time: float
    number: float | None


class Treatment:
    """The points of one file with the values [SI] that a run may take from them, None where there is none."""

    def __init__(self, points: Sequence[Point], step: float, request: Request, complaints: Complaints) -> None:
        self.points, self.step, self.request, self.complaints = points, step, request, complaints
        self.values = [None if point.number is None else request.si(point.number) for point in points]
        self.remedies: list[Remedy] = []
        self._settle_negative()
        self._settle_stuck()
        self._refuse_too_large()

    @property
    def until(self) -> float:
        """Up to where values are needed [s]; a run of no length still needs the one it starts with."""
        return self.request.length or self.step

    def uses(self, time: float) -> bool:
        """Whether the run needs a value that holds for a step from this time on [s]."""
        return -self.step < time < self.until

    def tell(self, what: Remedied, count: int, longest: float) -> None:
        """Put on record how many values of the run a remedy has changed, `longest` [s] of them in a row."""
        if count:
            of = max(1, round(self.until / self.step))
            self.remedies.append(Remedy(key=self.request.key, what=what, count=count, of=of, longest=longest))

    def _settle_negative(self) -> None:
        rule = self.request.table.negative
        wrong = self._places(lambda value: value < 0.0)
        used = self._used(wrong)
        if rule == "refuse" and used:
            self._complain(
                used,
                self._told(used[0]),
                f"values from {self.request.limits.low} on",
                " or ".join(self.complaints.remedy("negative", each) for each in ("zero", "gap")),
            )
        elif rule != "refuse":
            taken: Remedied = "below zero, taken as zero" if rule == "zero" else "below zero, taken as missing"
            self.tell(taken, len(used), self._longest(used))
        self._put(wrong, rule, 0.0 if rule == "zero" else None)

    def _settle_stuck(self) -> None:
        rule = self.request.table.stuck
        runs = [] if rule == "keep" else [run for run in self._alike() if self._spans(run) > self._patience]
        used, remedy = [run for run in runs if self._used(run)], self.complaints.remedy
        if rule == "refuse" and used:
            self._complain(
                [run[0] for run in used],
                f"{self._told(used[0][0])} for {plain_duration(self._spans(used[0]))} without a change",
                f"a value that changes within {plain_duration(self._patience)}",
                f"{remedy('stuck', 'gap')}; {remedy('stuck', 'keep')} where it may well stand still"
                + ("" if self.complaints.by_option else "; or a longer stuck_after"),
            )
        elif rule == "gap":
            count = sum(len(self._used(run)) for run in used)
            self.tell("stuck, taken as missing", count, max(map(self._spans, used), default=0.0))
        for run in runs:
            self._put(run, rule, None)

    def _refuse_too_large(self) -> None:
        limits = self.request.limits
        wrong = self._places(lambda value: value > limits.most)
        used = self._used(wrong)
        if used:
            self._complain(
                used,
                self._told(used[0]),
                f"values up to {limits.high}",
                "an empty cell where a number stands for no reading; is the unit the one that was meant?",
            )
        self._put(wrong, "refuse", None)

    @property
    def _patience(self) -> float:
        return self.request.stuck_after(self.step)

    def _places(self, test: Callable[[float], bool]) -> list[int]:
        return [place for place, value in enumerate(self.values) if value is not None and test(value)]

    def _used(self, places: Sequence[int]) -> list[int]:
        return [place for place in places if self.uses(self.points[place].time)]

    def _put(self, places: Sequence[int], rule: str, value: float | None) -> None:
        """Put a remedy's value in place; what the run uses and the case refuses stays, so that it is told once."""
        refused = set(self._used(places)) if rule == "refuse" else set()
        for place in places:
            if place not in refused:
                self.values[place] = value

    def _told(self, place: int) -> str:
        number = self.points[place].number
        assert number is not None, "only numbers are judged"
        return self.request.told(number)

    def _complain(self, places: Sequence[int], given: str, allowed: str, try_: str) -> None:
        self.complaints.add([self.points[place].line for place in places], given, allowed, try_)

    def _alike(self) -> Iterator[list[int]]:
        """Runs of places whose numbers are equal, with no value missing in between."""
        run: list[int] = []
        for place, point in enumerate(self.points):
            before = self.points[run[-1]] if run else None
            missing = self.values[place] is None or (self.request.zero_stands and point.number == 0.0)
            if before and (missing or point.number != before.number or self._leaves_out(before, point)):
                yield run
                run = []
            if not missing:
                run.append(place)
        if run:
            yield run

    def _leaves_out(self, before: Point, after: Point) -> bool:
        return after.time - before.time > HALF_MORE * self.step

    def _spans(self, run: Sequence[int]) -> float:
        """For how long the value of a run stands [s]."""
        return self.points[run[-1]].time + self.step - self.points[run[0]].time

    def _longest(self, places: Sequence[int]) -> float:
        """Longest time that a row of neighbouring places covers [s]."""
        longest = row = 1
        for before, place in pairwise(places):
            row = row + 1 if place == before + 1 else 1
            longest = max(longest, row)
        return longest * self.step
