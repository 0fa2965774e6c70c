"""A plant's own log read: columns found, numbers judged under the remedies of a series, totals counted on, washes."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Literal, TypeAlias

import numpy as np

from sim.case.series.file_series import points_of, wrong_columns
from sim.case.series.file_times import FileClock
from sim.case.series.measured import measured
from sim.case.series.records import Remedy
from sim.case.series.schema import FileTable
from sim.case.series.sheet import (
    Cells,
    Complaints,
    Dates,
    Row,
    Sheet,
    read_numbers,
    read_sheet,
    read_stamps,
    tell_too_few,
)
from sim.case.series.treatment import Point, Request, Treatment
from sim.case.series.zones import NO_ZONE, Zone
from sim.case.spelling import escaped, nearest_or, shown
from sim.case.units import DAY
from sim.log.marks import Mark, mark_of, washes_marked
from sim.log.pattern import washes_seen
from sim.log.pieces import Values
from sim.log.records import LIMITS, Log, Series, Washed, What
from sim.log.source import sheet_of

LONGEST = 3653 * DAY
ROLLS_OVER_FROM, LEAST_FULL = 0.9, 1e4
"""A meter that showed this share of a power of ten, from this one on, has begun anew there."""

FEW, MOST_DIGITS = 5, 300
"""So few values tell no steps of a gauge; so many decimals are as good as any more."""
ROUND = (1, 2, 5, 25)
"""Steps by which gauges move on, times powers of ten."""

MOST_KEEP_TO = 0.9
"""So many rows are no further from the one before than a log's step: people read twice a day, and not on Sundays."""

STUCK_STEPS = 6
"""A value counts as stuck beyond a day and so many steps where nobody says."""

STILL = (What.PRESSURE_DROP, What.TURBIDITY_IN)
"""What must not stand still: it shows that a gauge is stuck. What is asked for, and clear water, may."""

Places: TypeAlias = np.ndarray[Any, np.dtype[np.int64]]

_HEADER = re.compile(r"(.*?)\s*(?:\[([^\[\]]+)\]|\(([^()]+)\))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class How:
    """How a log is to be read: names, the order of its dates, its clock, and what to do with what is unlikely.

    `by_option`: errors name options of the command line as remedies, in place of keys.
    """

    stage: str | None = None
    time: str | None = None
    dates: Dates = "year first"
    zone: Zone | None = None
    clock: Literal["standard", "local"] = "standard"
    gaps: Literal["refuse", "hold", "interpolate"] = "refuse"
    negative: Literal["refuse", "zero", "gap"] = "refuse"
    stuck: Literal["refuse", "gap", "keep"] = "refuse"
    resets: Literal["refuse", "count on"] = "refuse"
    by_option: bool = False


def read_log(path: Path, columns: Mapping[What, tuple[str, str]] | None = None, **said: Any) -> Log:
    """The log in a CSV file, in the first sheet of a workbook (.xlsx), or in the readings of a case (.toml).

    `columns` has names and units by what they tell; without it a header says both, as in "pressure drop [kPa]".
    `said`: fields of `How`. Raises CaseError with what is wrong, by line of the file, and with the remedy to name
    where there is one.
    """
    how = How(**said)
    complaints = Complaints(escaped(str(path)), "", by_option=how.by_option)
    return _Reader(sheet_of(path, complaints, how.stage), columns, how, complaints).log()


def read_log_text(text: str, file: str, columns: Mapping[What, tuple[str, str]] | None = None, **said: Any) -> Log:
    """As `read_log`, of the text of a CSV file at hand, which messages call `file`."""
    complaints = Complaints(escaped(file), "")
    sheet = read_sheet(text, complaints)
    complaints.stop()
    return _Reader(sheet, columns, How(**said), complaints).log()


class _Reader:
    """One log on its way from its cells to a record."""

    def __init__(
        self, sheet: Sheet, asked: Mapping[What, tuple[str, str]] | None, how: How, complaints: Complaints
    ) -> None:
        self.sheet, self.asked, self.how, self.complaints = sheet, asked, how, complaints
        self.lines, self.remedies = [line for line, _ in sheet.rows], list[Remedy]()

    def log(self) -> Log:
        times = self._time_columns()
        columns = self._named() if self.asked is None else self._as_asked(self.asked, times[-1])
        self.complaints.stop()
        stamps = read_stamps(self.sheet, times, self.complaints, self.how.dates)
        cells = {what: read_numbers(self.sheet, place, self._of(what)) for what, (place, _) in columns.items()
                 if what is not What.WASH}  # fmt: skip
        tell_too_few(len(stamps), self.complaints)
        self.complaints.stop()
        self._place(stamps)
        marks = self._marks(columns[What.WASH][0], stamps) if What.WASH in columns else []
        series = {what: self._series(what, numbers, *columns[what], fills=What.TOTAL not in columns)
                  for what, numbers in cells.items()}  # fmt: skip
        if not self.complaints.problems and series.get(What.FLOW) is None and series.get(What.TOTAL) is None:
            self._tell_header("no flow and no total", "one of them or both", "the readings of the water meter")
        self.complaints.stop()
        flow, drop, drained = (series.get(each) for each in (What.FLOW, What.PRESSURE_DROP, What.DRAIN))
        washes = washes_marked(marks, self.at) or washes_seen(flow, drop, self.step)
        return Log(
            file=self.complaints.file, start=self.start, length=self.at[-1],
            series=tuple(each for each in series.values() if each is not None),
            washes=_with_drained(washes, drained), remedies=tuple(self.remedies),
        )  # fmt: skip

    def _place(self, stamps: Sequence[datetime]) -> None:
        """The times of the rows from the first one, and the step that they keep to [s]."""
        zone = self.how.zone or NO_ZONE
        clock = FileClock(zone, None if self.how.clock == "local" else zone.offset or timedelta(0))
        rows = [Row(line, stamp, None) for line, stamp in zip(self.lines, stamps, strict=True)]
        points, _ = points_of(rows, clock, stamps[0] - clock.shows(stamps[0])[0], self.complaints)
        self.start, self.at = stamps[0], [point.time for point in points]
        self.step = float(np.quantile(np.diff(self.at), MOST_KEEP_TO, method="higher"))
        if self.at[-1] > LONGEST:
            self.complaints.add(
                [self.lines[-1]], f"a log of {self.at[-1] / DAY:,.0f} days", f"up to {LONGEST / DAY:,.0f}",
                "the year of the last row, or a part of the log",
            )  # fmt: skip
        self.complaints.stop()

    def _time_columns(self) -> tuple[int, ...]:
        """The places of the time: of the column named, of a date and a time of day, else the first."""
        header, named, names = self.sheet.header, self.how.time, [name.lower() for name in self.sheet.header]
        if named is not None and named in header:
            return (header.index(named),)
        if named is not None:
            near = nearest_or(named, header, "one of the names in its first line")
            self._tell_header(shown(named), "a column of the log", near)
        return (names.index("date"), names.index("time")) if {"date", "time"} <= set(names) else (0,)

    def _tell_header(self, given: str, allowed: str, try_: str) -> None:
        self.complaints.add([1], given, allowed, try_)

    def _as_asked(self, asked: Mapping[What, tuple[str, str]], time: int) -> dict[What, tuple[int, str]]:
        """Columns by the names that somebody gave."""
        header, found = self.sheet.header, {}
        for what, (name, unit) in asked.items():
            wrong = list(wrong_columns(header, FileTable.model_construct(column=name, time=header[time]), ()))
            for each in wrong:
                self._tell_header(f"{each.given} for {what}", each.allowed, each.try_)
            if not wrong and self._unit_is_right(what, unit):
                found[what] = (header.index(name), unit)
        return found

    def _named(self) -> dict[What, tuple[int, str]]:
        """Columns whose own header says what they are; others without a unit are left alone."""
        found: dict[What, tuple[int, str]] = {}
        for place, name in enumerate(self.sheet.header):
            parts = _HEADER.fullmatch(name)
            word, unit = (parts[1], parts[2] or parts[3] or "") if parts else (name, "")
            what = _WHATS.get(" ".join(word.lower().replace("_", " ").split()))
            if what is None and unit and any(unit in each.kind.units for each in LIMITS.values()):
                near = nearest_or(word, _WHATS, "the same without a unit, for a column that is not read")
                self._tell_header(f"the column {shown(name)}", f"one of {', '.join(_WHATS)}", near)
            elif what in found:
                self._tell_header(f"two columns of {what}", "one", "another name for one of them")
            elif what is not None and self._unit_is_right(what, unit):
                found[what] = (place, unit)
        if not found and not self.complaints.problems:
            self._tell_header(
                f"the columns {', '.join(shown(name) for name in self.sheet.header[:12])}",
                f"a time and one or more of {', '.join(_WHATS)}, each with its unit",
                "a header such as pressure drop [kPa], or naming the columns",
            )
        return found

    def _unit_is_right(self, what: What, unit: str) -> bool:
        if what is What.WASH:
            return True
        kind, given = LIMITS[what].kind, f"{what} in {shown(unit)}" if unit else f"{what} without a unit"
        if unit not in kind.units:
            near = nearest_or(unit, kind.units, f"as in {what} [{next(iter(kind.units))}]")
            self._tell_header(given, kind.allowed, near)
        return unit in kind.units

    def _of(self, what: What) -> Complaints:
        """Complaints about one column, on the same list."""
        own = Complaints(self.complaints.file, str(what), by_option=self.complaints.by_option)
        own.problems = self.complaints.problems
        return own

    def _marks(self, place: int, stamps: Sequence[datetime]) -> list[Mark]:
        marks: list[Mark] = []
        wrong: Cells = []
        for number, (line, cells) in enumerate(self.sheet.rows):
            text = cells[place].strip()
            try:
                marks += mark_of(text, number, self.at[number], stamps[number], self.how.dates) if text else ()
            except ValueError:
                wrong.append((line, text))
        self._of(What.WASH).add_cells(
            wrong, "x for a wash that begins after the reading, or the time of day at which it began",
            "an empty cell where there was no wash",
        )  # fmt: skip
        return marks

    def _series(
        self, what: What, numbers: list[float | None], place: int, unit: str, *, fills: bool
    ) -> Series | None:
        """One quantity judged; None where its column is empty. A flow `fills` the gaps where no total tells it."""
        known = [row for row, number in enumerate(numbers) if number is not None]
        if not known:
            return None
        raw = np.array([np.nan if number is None else number for number in numbers])
        table = FileTable.model_construct(
            unit=unit, gaps=self.how.gaps, longest_gap=math.inf, negative=self.how.negative,
            stuck=self.how.stuck if what in STILL else "keep",
            stuck_after=max(DAY, STUCK_STEPS * self.step),
        )  # fmt: skip
        request = Request(
            place=(str(what),), table=table, limits=LIMITS[what], start=self.start,
            length=self.at[known[-1]] + self.step, zero_stands=True,
        )  # fmt: skip
        scale, complaints = request.limits.kind.units[unit], self._of(what)
        times, values = np.array(self.at), (raw - scale.zero) * scale.factor
        fills = fills and what is What.FLOW
        out_of_range = np.nanmin(values) < 0.0 or np.nanmax(values) > request.limits.most
        still = what in STILL and _stands(raw, times) > request.stuck_after(self.step) - self.step
        if fills or out_of_range or still:  # which takes long
            if fills and known[0]:
                complaints.add(
                    [self.lines[0]], "no flow in the first row", "a flow from the first row on, or a total",
                    "leaving out the rows before the first flow",
                )  # fmt: skip
            points = list(map(Point, self.lines, self.at, numbers))
            treated = Treatment(points, self.step, request, complaints)
            if complaints.problems:
                return None
            values = np.array([np.nan if value is None else value for value in treated.values])
            if fills:
                held = measured(treated)
                times, values = np.array((0.0, *held.end[:-1])), np.array(held.value)
            self.remedies += treated.remedies
        there = ~np.isnan(values)
        if not there.any():
            return None
        times, values = times[there], values[there]
        if what is What.TOTAL:
            values = self._counted_on(values, np.array(self.lines)[there], unit)
        decimals = max(map(_decimals, {cells[place] for _, cells in self.sheet.rows}))
        return Series(
            what=what, times=tuple(times.tolist()), values=tuple(values.tolist()),
            resolution=scale.factor * _step(raw, decimals),
        )  # fmt: skip

    def _counted_on(self, values: Values, lines: Places, unit: str) -> Values:
        """A total [m3] that goes on where its meter began anew, from zero or a power of ten rolled over."""
        (fell,) = np.nonzero(np.diff(values) < 0.0)
        if not fell.size:
            return values
        factor = LIMITS[What.TOTAL].kind.units[unit].factor
        shown_before = values[fell] / factor
        if self.how.resets == "refuse":
            given = f"{values[fell[0] + 1] / factor:g} {unit}, after {shown_before[0]:g} {unit}"
            remedy = f"{self.complaints.remedy('resets', 'count on')} where the meter began anew"
            remedy += "; otherwise the reading mended, or an empty cell"
            self._of(What.TOTAL).add(lines[fell + 1].tolist(), given, "a total that never falls", remedy)
            return values
        full = np.maximum(10.0 ** np.ceil(np.log10(shown_before)), LEAST_FULL)
        begins = np.zeros_like(values)
        begins[fell + 1] = factor * np.where(shown_before >= ROLLS_OVER_FROM * full, full, shown_before)
        self.remedies.append(
            Remedy(key=str(What.TOTAL), what="began anew, counted on", count=len(fell), of=len(values), longest=0.0)
        )
        return values + np.cumsum(begins)


_WHATS: Mapping[str, What] = {str(what): what for what in What}


def _decimals(text: str) -> int:
    """How many decimals a number is written with.

    >>> _decimals("0.30"), _decimals("12"), _decimals("1.5e-3")
    (2, 0, 4)
    """
    digits, _, power = text.strip().lower().partition("e")
    point = digits.find(".")
    return (len(digits) - 1 - point if point >= 0 else 0) - (int(power) if power.lstrip("+-").isdecimal() else 0)


def _stands(raw: Values, at: Values) -> float:
    """The longest time [s] over which no number changes."""
    changes = np.flatnonzero(np.diff(raw, prepend=np.nan) != 0.0)
    ends = np.append(changes[1:] - 1, len(raw) - 1)
    return float((at[ends] - at[changes]).max())


def _step(raw: Values, decimals: int) -> float:
    """By what a gauge moves on: the greatest round step that all numbers are apart, at least the last digit written.

    Other steps than round ones are no gauge's: a total of 6.22 m3 in every hour tells of the flow.

    >>> _step(np.array([3.0, 3.5, 4.0, 5.5, 9.0]), 1), _step(np.array([3.0, 4.0]), 1)
    (0.5, 0.1)
    >>> _step(np.array([0.0, 3.11, 9.33, 15.55, 21.77]), 2)
    0.01
    """
    digit = 10.0 ** -min(max(decimals, -MOST_DIGITS), MOST_DIGITS)
    values = np.unique(raw[np.isfinite(raw)])
    steps = np.rint(np.diff(values) / digit)
    if len(values) < FEW or steps.max() > 2**53:
        return float(digit)
    apart = max(1, int(np.gcd.reduce(steps.astype(np.int64))))
    round_steps = (each * 10**power for each in ROUND for power in range(len(str(apart))))
    return float(digit * max(each for each in round_steps if apart % each == 0))


def _with_drained(washes: Sequence[Washed], drained: Series | None) -> tuple[Washed, ...]:
    """Every wash with what the rows from its start to the next wash say that it drained."""
    if drained is None or not washes:
        return tuple(washes)
    places = np.searchsorted([wash.start for wash in washes], drained.times, side="right") - 1
    sums: dict[int, float] = {}
    for number, volume in zip(places.tolist(), drained.values, strict=True):
        sums[number] = sums.get(number, 0.0) + volume
    return tuple(replace(wash, drained=sums.get(number)) for number, wash in enumerate(washes))
