"""What a person reads each morning at a plant, and the first reading that leaves its usual band."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Literal, get_args

from sim.case.fault.records import What
from sim.case.record import record
from sim.case.records import Case
from sim.case.series.records import Measured, Profile
from sim.case.trigger.records import devices
from sim.case.units import DAY, HOUR, MINUTE
from sim.plant.line import Line
from sim.plant.records import Event, Figure, RunResult
from sim.plant.simulate import Plant
from sim.study.faults_possible import has_clock
from sim.study.many.outcome import Outcome
from sim.study.single import triggers_of
from sim.study.vessel_past import role

READ_AT, HOURS_WAITED = 7.0 * HOUR, 22  # hours that a test waits for water
Reading = Literal[
    "metered", "clock", "to drain", "water per wash", "hours", "salt", "clean", "pressure", "dosed", "turbidity",
    "hardness", "iron", "manganese", "chlorine",
]  # fmt: skip
"""In the order in which one of several that leave their bands on the same morning is named."""
TESTS: tuple[Literal["hardness", "iron", "manganese"], ...] = ("hardness", "iron", "manganese")

Error = tuple[float, float]
STEADY, VARIED = (0.15, 0.0), (0.02, 0.0)
"""Of a day's metered water: days differ by so much where the case lets none differ; else read half an hour late."""
ERRORS: Mapping[Reading, Error] = {
    "clock": (0.0, 10.0 * MINUTE),
    "to drain": (0.05, 0.05),
    "water per wash": (0.05, 0.05),
    "hours": (0.0, 1.0),
    "salt": (0.1, 1000.0),
    "clean": (0.05, 1000.0),
    "pressure": (0.05, 1000.0),
    "dosed": (0.1, 0.1),
    "turbidity": (0.1, 0.1),
    "hardness": (0.0, 17.1),
    "iron": (0.0, 0.1),
    "manganese": (0.0, 0.05),
    "chlorine": (0.0, 0.1),
}
"""A share of the reading and an amount [s, m3, h, g, Pa, g/m3], from memory: a gauge of 5 % and 1 kPa, kits of drops
(one grain per gallon) and of colours, a look at the salt."""
UPWARDS: frozenset[Reading] = frozenset(
    ("to drain", "hours", "pressure", "turbidity", "hardness", "iron", "manganese", "chlorine")
)
"""Low is no sign of anything: just washed, or clean."""
EVERY: Mapping[Reading, int] = {"iron": 7, "manganese": 7}
"""Days between two tests; all others are daily."""

OF_SITE, PART = "site", "|"
KEPT = (
    "washes", "drain_m3", "downtime_h", "unmet_m3", "over_limit_h", "hardness_over_h", "iron_over_h",
    "manganese_over_h", "oxidant_over_h", "solids_to_service_kg", "downstream_solids_kg", "oxidant_exposure_g_h_m3",
    "bypass_kg", "salt_kg",
)  # fmt: skip
"""What is kept of a run up to each morning, beside its filter runs."""
RUNS, BROKEN = "filter_runs", "filter_runs_broken"
WASH_AT, WASHED = "wash_at_s", "washed"  # the first wash after the beginning: its start, and the place of its vessel

Morning = Mapping[str, Figure]
"""Readings, by `_key`, and what is kept of the run up to then."""


@record
class Noticed:
    """The first reading that leaves its usual band: after so many mornings, which, of whom, and what it shows.

    `least` and `most` are the band, what a reading holds: m3, s, h, Pa, g/m3, g.
    """

    mornings: int
    reading: Reading
    who: str
    value: float
    least: float
    most: float


def observe(case: Case, policy: str, seed: int, row: int, *, start: float, before: int, days: int) -> Outcome:
    """Run a case and read it every morning, from so many before `start` [s] to so many after it."""
    plant, mornings = Plant(case, policy, seed=seed), {}
    drained, totals = 0.0, [0.0] * len(plant.look().names)
    for number in range(-before - 1, days + 1):
        plant.run_until(start + number * DAY)
        line, result = plant.look(), plant.result()
        shown = dict(_looked_at(case, policy, plant, line, result))
        shown[_key("to drain", OF_SITE)] = _number(result.site["drain_m3"]) - drained
        metered = {i: plant.shown(i).total for i in _metered(case, policy, line)}
        shown |= {_key("metered", line.names[i]): total - totals[i] for i, total in metered.items()}
        drained += _number(shown[_key("to drain", OF_SITE)])
        for i, total in metered.items():
            totals[i] = total
        mornings[str(number)] = shown | _kept(case, result) | dict(_tests(case, _flowing(case, plant, line)))
    del mornings[str(-before - 1)]  # nothing has been read the day before
    washes = ((each.time_s, line.names.index(each.who)) for each in result.log
              if each.event is Event.WASH_STARTS and each.time_s >= start)  # fmt: skip
    at, washed = next(washes, (None, None))
    return Outcome(policy=policy, replicate=row, site={WASH_AT: at, WASHED: washed}, stages=mornings, avoidable_h=())


def _looked_at(case: Case, policy: str, plant: Plant, line: Line, result: RunResult) -> Iterator[tuple[str, Figure]]:
    """Everything that is read off at one moment, of vessels in service alone what needs water."""
    triggers = triggers_of(case, policy)
    for i, name in enumerate(line.names):
        k, place = line.places[i]
        stage, shown = case.stages[k], plant.shown(i)
        yield _key("hours", name), shown.since_wash_s / HOUR
        yield _key("water per wash", name), _last_wash(result, name)
        if place == 0 and has_clock(stage, triggers[stage.name]):
            yield _key("clock", stage.name), shown.clock_reading - line.time
        if line.phase(i) in ("service", "stopped"):
            share = _seen(case, stage.name, line.time)
            clean, now = line.reading_at(i, stage.reference_rate * stage.vessel.area)
            yield _key("clean", name), share * clean
            yield _key("pressure", name), share * now
    for k, stage in enumerate(case.stages):
        if stage.store is not None and stage.store.salt is not None:
            yield _key("salt", stage.name), plant.salt_left(k)


def _flowing(case: Case, plant: Plant, line: Line) -> Line:
    """The line at this moment or, where nothing flows, at the first whole hour after it at which something does."""
    for _ in range(HOURS_WAITED):
        if line.solids_sent_on(len(case.stages) - 1) is not None or line.time + HOUR > case.run.length:
            break
        plant.run_until(line.time + HOUR)
        line = plant.look()
    return line


def _seen(case: Case, stage: str, time: float) -> float:
    """The share of its pressure drop that reaches the gauge of a stage, which sits at the tap of the switch."""
    plugged = (each for each in case.faults if each.what is What.TAP_PLUGGED and each.stage == stage)
    return next((each.share for each in plugged if each.share is not None and each.start < time <= each.end), 1.0)


def _tests(case: Case, line: Line) -> Iterator[tuple[str, Figure]]:
    """Turbidity of the judged stage's water, as solids; what the case has dissolved in the last stage's; the oxidant
    left behind each stage that doses one."""
    yield _key("turbidity", case.judged.name), line.solids_sent_on(case.stages.index(case.judged))
    names, last = {name for name, _ in case.feed.solutes}, case.stages[-1].name
    oxidants = {"free_chlorine", "combined_chlorine"} & names or any(
        stage.dosing is not None and stage.dosing.product != "air" for stage in case.stages
    )
    sent = line.sent_on(len(case.stages) - 1)
    if sent is not None:
        for solute, value in zip(TESTS, sent, strict=False):
            if solute in names:
                yield _key(solute, last), value
        if oxidants:
            yield _key("chlorine", last), sent[-1]
    for k, stage in enumerate(case.stages):
        left = line.sent_on(k)
        if left is not None and stage.dosing is not None and stage.dosing.product != "air":
            yield _key("dosed", stage.name), left[-1]


def _last_wash(result: RunResult, name: str) -> float | None:
    """Water of the last whole wash of a vessel [m3]."""
    water, whole = 0.0, None
    for entry in result.log:
        if entry.who == name:
            match role(entry.event):
                case "begins":
                    water = 0.0
                case "step":
                    water += entry.volume_m3 or 0.0
                case "over":
                    whole = water if water > 0.0 else whole
    return whole


def _metered(case: Case, policy: str, line: Line) -> list[int]:
    """The vessels that have a meter."""
    triggers = triggers_of(case, policy)
    return [i for i, (k, _) in enumerate(line.places) if devices(triggers[case.stages[k].name]).meters]


def _kept(case: Case, result: RunResult) -> dict[str, Figure]:
    """Sums over the run so far; filter runs of the stage whose water a verdict goes by."""
    runs = [run for run in result.runs if run.stage == case.judged.name]
    broken = sum(run.broke_through for run in runs)
    judged = sum(run.cause is not None or run.broke_through for run in runs)
    return {key: result.site[key] for key in KEPT} | {RUNS: judged, BROKEN: broken}


def noticed(case: Case, usual: Mapping[int, Morning], mornings: Mapping[int, Morning], start: float,
            begins: float) -> Noticed | None:  # fmt: skip
    """The first reading outside what the same reading shows in the mornings of `usual`, in which nothing fails.

    `mornings` are counted from `start`, the fault `begins` at or after it [s].
    """
    after = sorted(number for number in mornings if start + number * DAY > begins)
    for count, number in enumerate(after, 1):
        for reading in get_args(Reading):
            if count % EVERY.get(reading, 1):
                continue
            for key in (each for each in mornings[number] if each.startswith(f"{reading}{PART}")):
                value, band = mornings[number][key], usual_band(case, usual, key, number, start)
                if value is not None and band is not None and not band[0] <= value <= band[1]:
                    return Noticed(mornings=count, reading=reading, who=key.partition(PART)[2], value=float(value),
                                   least=band[0], most=band[1])  # fmt: skip
    return None


def usual_band(
    case: Case, usual: Mapping[int, Morning], key: str, number: int, start: float
) -> tuple[float, float] | None:
    """Least and most of a reading over mornings, widened by its error; of metered water those of the same weekday.

    None where it was never read.
    """
    reading, weekly = _reading_of(key), _weekly(case)
    day = _weekday(case, start, number) if reading == "metered" and weekly else None
    values = [float(value) for other, each in usual.items() if (value := each.get(key)) is not None
              and day in (None, _weekday(case, start, other))]  # fmt: skip
    if not values:
        return None
    share, plus = error_of(case, reading)
    least, most = min(values), max(values)
    if reading in UPWARDS:
        return 0.0, most + share * most + plus
    return least - share * abs(least) - plus, most + share * abs(most) + plus


def error_of(case: Case, reading: Reading) -> Error:
    """The error of a reading: a share of it, and an amount."""
    if reading != "metered":
        return ERRORS[reading]
    varies = isinstance(case.demand.flow, Measured) or case.demand.is_random
    return VARIED if varies else STEADY


def _weekly(case: Case) -> bool:
    """Whether demand follows weekdays."""
    flow = case.demand.flow
    return isinstance(flow, Profile) and len(set(flow.weekday)) > 1


def _weekday(case: Case, start: float, number: int) -> int:
    return (case.run.start + timedelta(seconds=start + (number - 1) * DAY)).weekday()


def _key(reading: Reading, who: str) -> str:
    return f"{reading}{PART}{who}"


def _reading_of(key: str) -> Reading:
    return next(each for each in get_args(Reading) if key.startswith(f"{each}{PART}"))


def _number(figure: Figure) -> float:
    assert figure is not None
    return float(figure)
