"""Logs as a plant would have written them: a case run with constants of its own, read with noise, warts on request.

    make_log(path, Path("cases/laundry.toml"), seed=3, truth={"stage.sand.layer.0.head_loss_gain": "9 Pa/m per g/m3"})

writes a CSV file with a header that `read_log` knows. Without noise every number is written in full.
"""

import csv
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Literal

import numpy as np

from sim.case.fault.records import Fault
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.units import FLOW, HARDNESS, PRESSURE, TEMPERATURE, VOLUME, Unit
from sim.log.records import What
from sim.plant.records import Event
from sim.plant.simulate import Plant
from sim.weather import build_forcing

HOUR, DAY = 3600.0, 86_400.0
ONE = Unit(1.0)
HAND = (What.FLOW, What.TOTAL, What.PRESSURE_DROP, What.TEMPERATURE, What.WASH, What.DRAIN)

UNITS: Mapping[str, Mapping[What, tuple[str, Unit]]] = {
    "si": {
        What.FLOW: ("m3/h", FLOW.units["m3/h"]),
        What.TOTAL: ("m3", VOLUME.units["m3"]),
        What.PRESSURE_DROP: ("kPa", PRESSURE.units["kPa"]),
        What.TEMPERATURE: ("degC", ONE),
        What.DRAIN: ("m3", VOLUME.units["m3"]),
        What.HARDNESS_IN: ("mg/L", ONE),
        What.HARDNESS_OUT: ("mg/L", ONE),
    },
    "us": {
        What.FLOW: ("gpm", FLOW.units["gpm"]),
        What.TOTAL: ("gal", VOLUME.units["gal"]),
        What.PRESSURE_DROP: ("psi", PRESSURE.units["psi"]),
        What.TEMPERATURE: ("degF", TEMPERATURE.units["degF"]),
        What.DRAIN: ("gal", VOLUME.units["gal"]),
        What.HARDNESS_IN: ("gpg", HARDNESS.units["gpg"]),
        What.HARDNESS_OUT: ("gpg", HARDNESS.units["gpg"]),
    },
}
OF_OTHERS = {
    What.TURBIDITY_IN: ("NTU", ONE),
    What.TURBIDITY_OUT: ("NTU", ONE),
    What.CHLORINE_IN: ("mg/L", ONE),
    What.CHLORINE_OUT: ("mg/L", ONE),
}

NOISE: Mapping[What, tuple[float, float, int]] = {
    What.FLOW: (0.01, 0.0, 2),
    What.TOTAL: (0.0, 0.0, 1),
    What.PRESSURE_DROP: (0.005, 100.0, 1),
    What.TURBIDITY_IN: (0.05, 0.02, 2),
    What.TURBIDITY_OUT: (0.05, 0.01, 3),
    What.HARDNESS_IN: (0.02, 0.5, 1),
    What.HARDNESS_OUT: (0.02, 0.2, 1),
    What.CHLORINE_IN: (0.03, 0.02, 2),
    What.CHLORINE_OUT: (0.03, 0.02, 2),
    What.TEMPERATURE: (0.0, 0.2, 1),
    What.DRAIN: (0.01, 0.0, 1),
}
"""Standard error as a share of the value, and besides it [SI]; decimals written in the unit of the column."""

Wart = Literal["gap", "empty cells", "negative", "stuck", "reset"]


@dataclass(frozen=True)
class Wash:
    """A wash as it was [s], with what went to drain [m3]."""

    start: float
    end: float
    drained: float


def make_log(
    path: Path,
    case: Path | Case,
    *,
    stage: str | None = None,
    policy: str | None = None,
    seed: int = 1,
    days: float = 31.0,
    every: float = HOUR,
    times: Sequence[float] | None = None,
    columns: Iterable[What] = HAND,
    noise: Mapping[What, tuple[float, float, int]] | None = NOISE,
    truth: Mapping[str, Any] | None = None,
    faults: tuple[Fault, ...] | None = None,
    warts: Iterable[Wart] = (),
    units: Literal["si", "us"] = "si",
    dates: Literal["year first", "day first", "month first"] = "year first",
    semicolons: bool = False,
) -> Path:
    """Write the log of one stage, its first vessel, and return its path.

    `truth`: settings of the case file by dotted key; `faults` in place of the case's. A row at each of `times` [s]
    or every so often [s]; the first policy of the case and its last stage unless named. `noise` None: none at all.
    """
    known = case if isinstance(case, Case) else load_case(case, truth)
    known = replace(known, run=replace(known.run, length=days * DAY))
    known = known if faults is None else replace(known, faults=faults)
    k = len(known.stages) - 1 if stage is None else [each.name for each in known.stages].index(stage)
    rows_at = [*np.arange(0.0, days * DAY + 1.0, every)] if times is None else list(times)
    wanted = tuple(columns)
    seen, washes = look(known, k, policy or known.policies[0].name, rows_at, seed=seed)
    random = np.random.default_rng(seed)
    shown = {**UNITS[units], **OF_OTHERS}
    texts: dict[What, list[str]] = {}
    for what in wanted:
        if what is What.WASH:
            texts[what] = _marks(washes, rows_at, known.run.start)
            continue
        values = np.array(seen[what] if what is not What.DRAIN else _drained(washes, rows_at))
        texts[what] = _written(_spoilt(values, what, warts, random), what, noise, shown[what][1], random)
    kept = _kept(rows_at, warts)
    if What.WASH in texts:
        _tell_lost(texts[What.WASH], washes, rows_at, kept, known.run.start, dates)
    if "empty cells" in warts:
        for what in wanted:
            if what not in (What.WASH, What.DRAIN):
                for place in random.choice(len(rows_at), size=max(1, len(rows_at) // 20), replace=False):
                    texts[what][place] = ""
    if "stuck" in warts:
        _stick(texts[What.PRESSURE_DROP], seen[What.PRESSURE_DROP], rows_at)
    header = ["time", *(f"{what} [{shown[what][0]}]" if what in shown else str(what) for what in wanted)]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=";" if semicolons else ",", lineterminator="\n")
        writer.writerow(header)
        for place in kept:
            stamp = stamped(known.run.start + timedelta(seconds=float(rows_at[place])), dates)
            writer.writerow([stamp, *(texts[what][place] for what in wanted)])
    return path


def look(
    case: Case, k: int, policy: str, times: Sequence[float], *, seed: int
) -> tuple[dict[What, list[float]], list[Wash]]:
    """What the devices of the first vessel of stage k show at some times, and its washes; nan where nothing can."""
    plant, forcing = Plant(case, policy, seed=seed), build_forcing(case.run, case.feed, case.demand, seed=seed)
    i = next(iter(plant.look().vessels_of(k)))
    ratio, dissolved = case.feed.turbidity_ratio or math.nan, dict(case.feed.solutes)
    seen: dict[What, list[float]] = {what: [] for what in What}
    for time in times:
        plant.run_until(float(time))
        line, shown = plant.look(), plant.shown(i)
        flow, _, inlet, outlet = line.reading(i)
        now = int(np.searchsorted(forcing.end, time, side="right").clip(max=len(forcing.end) - 1))
        flows = flow > 0.0
        seen[What.FLOW].append(flow)
        seen[What.TOTAL].append(shown.total)
        seen[What.PRESSURE_DROP].append(shown.dp_pa if flows else 0.0)
        seen[What.TURBIDITY_IN].append(inlet / ratio if flows else math.nan)
        seen[What.TURBIDITY_OUT].append(outlet / ratio if flows else math.nan)
        seen[What.TEMPERATURE].append(float(forcing.temperature[now]))
        hardness, *_, chlorine = line.sent_on(k) or (math.nan,) * 4
        before = (line.sent_on(k - 1) if k else None) or (
            float(forcing.solutes["hardness"][now]) if "hardness" in dissolved else math.nan,
            float(forcing.solutes["free_chlorine"][now]) if "free_chlorine" in dissolved else math.nan,
        )
        seen[What.HARDNESS_OUT].append(hardness)
        seen[What.CHLORINE_OUT].append(chlorine)
        seen[What.HARDNESS_IN].append(before[0])
        seen[What.CHLORINE_IN].append(before[-1])
    return seen, _washes(plant, plant.look().names[i])


def _washes(plant: Plant, name: str) -> list[Wash]:
    """The washes of a vessel that were over when the run stopped."""
    found: list[Wash] = []
    start, drained = math.nan, 0.0
    for entry in plant.result().log:
        if entry.who != name:
            continue
        if entry.event is Event.WASH_STARTS:
            start, drained = entry.time_s, 0.0
        elif entry.event is Event.STEP_ENDS:
            drained += entry.volume_m3 or 0.0
        elif entry.event in (Event.BACK, Event.STANDS_BY) and not math.isnan(start):
            found.append(Wash(start, entry.time_s, drained))
            start = math.nan
    return found


def _marks(washes: Sequence[Wash], times: Sequence[float], origin: datetime) -> list[str]:
    """In rows an hour or more apart the time of day at which a wash began, in the first row after; else a 1 while it
    lasts."""
    marks = [""] * len(times)
    close = len(times) > 1 and times[1] - times[0] < HOUR
    for wash in washes:
        first = int(np.searchsorted(times, wash.start))
        if close:
            for place in range(first, int(np.searchsorted(times, wash.end))):
                marks[place] = "1"
        elif first < len(times):
            marks[first] = (origin + timedelta(seconds=wash.start)).strftime("%H:%M:%S").removesuffix(":00")
    return marks


def _drained(washes: Sequence[Wash], times: Sequence[float]) -> list[float]:
    """What a wash drained, in the first row after its end."""
    values = [math.nan] * len(times)
    for wash in washes:
        place = int(np.searchsorted(times, wash.end))
        if place < len(times):
            values[place] = wash.drained
    return values


def _spoilt(values: np.ndarray, what: What, warts: Iterable[Wart], random: np.random.Generator) -> np.ndarray:
    warts = set(warts)
    if what is What.PRESSURE_DROP and "negative" in warts:
        values[random.choice(len(values), size=max(1, len(values) // 100), replace=False)] = -2000.0
    if what is What.TOTAL and "reset" in warts:
        place = len(values) // 2
        values[place:] -= values[place - 1]
    return values


def _stick(texts: list[str], values: Sequence[float], times: Sequence[float]) -> None:
    """Write one pressure drop above the median again and again, for three days and for ten rows."""
    begins = next(
        place for place, value in enumerate(values) if times[place] >= 0.6 * times[-1] and value > np.median(values)
    )
    for place in range(begins, len(times)):
        if place < begins + 10 or times[place] < times[begins] + 3 * DAY:
            texts[place] = texts[begins]


def _written(
    values: np.ndarray,
    what: What,
    noise: Mapping[What, tuple[float, float, int]] | None,
    unit: Unit,
    random: np.random.Generator,
) -> list[str]:
    if noise is None:
        return ["" if math.isnan(value) else repr(float(unit.from_si(float(value)))) for value in values]
    share, besides, decimals = noise[what]
    spread = np.where(values > 0.0, np.hypot(share * values, besides), 0.0)
    read = np.where(values > 0.0, np.maximum(values + spread * random.standard_normal(len(values)), 0.0), values)
    return ["" if math.isnan(value) else f"{unit.from_si(float(value)):.{decimals}f}" for value in read]


def _kept(times: Sequence[float], warts: Iterable[Wart]) -> list[int]:
    """The rows that are there: a gap of two days leaves some out."""
    begins = times[-1] * 0.3
    out = (begins, begins + 2 * DAY) if "gap" in set(warts) else (0.0, 0.0)
    return [place for place, time in enumerate(times) if not out[0] <= time < out[1]]


def _tell_lost(
    marks: list[str], washes: Sequence[Wash], times: Sequence[float], kept: Sequence[int], origin: datetime,
    dates: str,
) -> None:  # fmt: skip
    """Write washes whose row is left out into the next one, with their date."""
    there = set(kept)
    for wash in reversed(washes):
        first = int(np.searchsorted(times, wash.start))
        later = next((place for place in kept if place > first), None)
        if first not in there and later is not None and times[1] - times[0] >= HOUR:
            stamp = stamped(origin + timedelta(seconds=wash.start), dates)
            marks[later] = f"{stamp} + {marks[later]}".removesuffix(" + ")


def stamped(when: datetime, dates: str) -> str:
    """Date and time in one of the orders that a log may have."""
    second = ":%S" if when.second else ""
    order = {"year first": "%Y-%m-%d", "day first": "%d/%m/%Y", "month first": "%m/%d/%Y"}[dates]
    return when.strftime(f"{order} %H:%M{second}")
