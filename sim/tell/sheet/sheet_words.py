"""The settings sheet of a run: what is shown of it, in words."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from plots.sheet import Mark, Sheet, SheetFilter, SheetRow, Strip
from plots.words import (
    Amount,
    Code,
    Kind,
    Label,
    Name,
    Sentence,
    apart,
    count,
    in_days,
    items,
    label,
    paragraph,
    say,
    span,
    term,
)
from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import Trigger, singles
from sim.case.units import DAY, HOUR, MINUTE
from sim.plant.allowed import next_allowed
from sim.plant.records import Cause
from sim.plant.triggers import causes_of
from sim.study.hours_washed import HALF_HOUR, HALF_HOURS, Arc, half_hours
from sim.study.sheet_runs import Reading, SheetRuns, TriedRange, reading_flows, started
from sim.study.single import triggers_of
from sim.study.version import PROGRAM, VERSION
from sim.tell.present import ABSENT, amount_of, duration, measured
from sim.tell.sentences import at_the_plant, day_time, of_chemicals
from sim.tell.sheet.rows import Row, rows
from sim.tell.sheet.sheet_json import sheet_hash
from sim.tell.trigger.settings_sheet import DIGITS_ROUNDED, minutes_of, trigger_words

Short = Literal["days", "washes"]
COLUMNS: Mapping[Reading, Quantity] = {
    "clean": "pressure", "before": "pressure", "between": "hours", "drained": "small volume", "metered": "volume",
}  # fmt: skip
WEEK = 7 * DAY  # a run of less is too short for a sheet
LONG = 12 * HOUR  # in which washes start: at any hour
DIGITS_OF: Mapping[Reading, int] = {"clean": 2, "before": 2}  # of a gauge


def sheet_of(runs: SheetRuns, system: System, old: tuple[Case, str] | None) -> Sheet:
    """The sheet; `old`: the settings before, a case and its policy."""
    case, triggers = runs.case, triggers_of(runs.case, runs.policy)
    before = {} if old is None else _settings(*old)
    filters = tuple(_filter(runs, each, triggers[each.name], before.get(each.name), system) for each in case.stages)
    heads = (label("sheet.column_flow"), label("sheet.column_clean"), label("sheet.column_before"),
             label("sheet.column_between"), label("sheet.column_drained"))  # fmt: skip
    strips = tuple(_strips(runs, triggers))
    return Sheet(
        title=case.title, way=label("sheet.way", way=Name(runs.policy)),
        was_of="" if old is None else label("sheet.was_of", way=Name(old[1])),
        short=_short(runs), strips=strips, marks=tuple(_key(strips)),
        rules=apart(_site_rules(case)), filters=filters,
        operator=tuple(_operator(runs, filters)), reading_heads=("", *heads), readings=tuple(_readings(runs, system)),
        metered=next((label("sheet.metered", band=_band(runs, "metered", None, system))
                      for each in runs.bands if each.reading == "metered"), ""),
        cautions=tuple(_cautions(case)),
        hashes=label("sheet.hashes", case=Name(case.title), hash=Code(case.source_hash),
                     program=Code(f"{PROGRAM} {VERSION}")),
        number=label("sheet.hash", sheet=Code(sheet_hash(runs))),
    )  # fmt: skip


def _short(runs: SheetRuns) -> str:
    """That the run was too short to say what is usual; empty where it was not."""
    length = in_days(runs.case.run.length / DAY)
    why: Short = "days" if runs.case.run.length < WEEK else "washes"
    if why == "washes" and any(each.reading == "between" for each in runs.bands):
        return ""
    return say("sheet.short", why=Kind(why), length=length)


def _settings(case: Case, policy: str) -> dict[str, tuple[Stage, Trigger]]:
    triggers = triggers_of(case, policy)
    return {stage.name: (stage, triggers[stage.name]) for stage in case.stages}


def _filter(
    runs: SheetRuns, stage: Stage, trigger: Trigger, old: tuple[Stage, Trigger] | None, system: System
) -> SheetFilter:
    figures, reached = runs.result.stages[stage.name], runs.result.wash_flows[stage.name]
    salt, times = figures["salt_kg"], figures["regenerations"]
    new = list(rows(stage, trigger, system, reached, salt / times if salt and times else None))
    before = {} if old is None else {row.key: row for row in rows(*old, system)}
    return SheetFilter(
        name=stage.name, about=tuple(_about(stage)), warnings=tuple(_warnings(runs, stage)),
        parts=tuple(
            tuple(_row(runs, stage, trigger, row, new, before, old, system) for row in new if row.of_wash is of_wash)
            for of_wash in (True, False)
        ),
    )  # fmt: skip


def _about(stage: Stage) -> Iterator[Label]:
    if stage.vessels.count > 1:
        yield label("sheet.vessels", count=stage.vessels.count)
    if stage.only_solids and all(step.do != "regenerant" for step in stage.steps):
        yield label("sheet.solids_only", media=items([term("medium", each) for each in stage.only_solids]))


def _warnings(runs: SheetRuns, stage: Stage) -> Iterator[Label | Sentence]:
    washes = runs.shown[stage.name].clear
    if (late := washes.count(math.inf)) > len(washes) / 2:
        yield say("sheet.not_clear", part=count(late), whole=count(len(washes)))
    for start, end in untreated(stage):
        yield label("sheet.untreated", start=minutes_of(start), end=minutes_of(end))


def untreated(stage: Stage) -> Iterator[tuple[float, float]]:
    """From when to when in its wash [s] water goes past a filter while the unit behind is not held."""
    if stage.while_washing == "passes raw" and stage.vessels.count == 1:
        (start, end), length = stage.hold_span, sum(step.seconds for step in stage.steps)
        yield from (each for each in ((0.0, start), (end, length)) if each[0] < each[1])


def _row(
    runs: SheetRuns, stage: Stage, trigger: Trigger, row: Row, new: Sequence[Row], before: Mapping[str, Row],
    old: tuple[Stage, Trigger] | None, system: System,
) -> SheetRow:  # fmt: skip
    of_row = (stage.name, row.place, row.part)
    tried = next((each for each in runs.tried if (each.stage, each.place, each.part) == of_row), None)
    follows = row.key == "held" and old is not None and old[0].hold_unit == stage.hold_unit
    was = _was(row, new, before, old, system)
    differs = was not in ("", label("sheet.same"))
    notes = [row.note, *([label("sheet.follows")] if differs and follows else []),
             *_started(runs, stage, trigger, row), *([] if tried is None else [_tried(tried, system)])]  # fmt: skip
    return SheetRow(
        name=row.name, value=row.value, note=apart(each for each in notes if each), was=was,
        differs=differs and not follows, starred=tried is not None and tried.low < tried.high,
    )  # fmt: skip


def _was(
    row: Row, new: Sequence[Row], before: Mapping[str, Row], old: tuple[Stage, Trigger] | None, system: System
) -> str:
    """What a row was; beside what starts a wash all of another way to do so."""
    if old is None:
        return ""
    if row.key == "starts 0" and _way(new) != _way(list(before.values())):
        return trigger_words(*old, system)
    if row.key == "other":
        gone = [each.name for key, each in before.items()
                if each.of_wash and key not in {each.key for each in new}]  # fmt: skip
        return label("sheet.gone", steps=items(gone)) if gone else label("sheet.same")
    if row.key not in before:
        return ABSENT
    return label("sheet.same") if before[row.key].value == row.value else before[row.key].value


def _way(of: Sequence[Row]) -> list[str]:
    return [row.part for row in of if row.key.startswith("starts")]


def _started(runs: SheetRuns, stage: Stage, trigger: Trigger, row: Row) -> Iterator[Label]:
    """How many washes of the run this has started."""
    if row.key.startswith("starts"):
        causes = causes_of(singles(trigger)[row.place])
    elif row.key == "longest":
        causes = (Cause.LONGEST_RUN,)
    else:
        return
    own, whole = (started(runs.result, stage.name, each) for each in (causes, tuple(Cause)))
    if whole and started(runs.result, stage.name, (Cause.LONGEST_RUN,)) == whole and not own:
        yield label("sheet.never", all=count(whole))
    else:
        yield label("sheet.started", started=count(own), all=count(whole))


def _tried(tried: TriedRange, system: System) -> Label:
    if tried.low == tried.high:
        return label("sheet.kept")
    return label("sheet.tried", range=_tried_span(tried, system))


def _tried_span(tried: TriedRange, system: System) -> Amount:
    if tried.part == "every":
        return span_of(tried.low, tried.high, "days", system, DIGITS_ROUNDED)
    return span_of(tried.low, tried.high, "volume" if tried.part == "volume" else "pressure", system, DIGITS_ROUNDED)


def span_of(low: float, high: float, quantity: Quantity, system: System, digits: int = 3) -> Amount:
    """From one value to another in one unit."""
    (first, _), (last, unit) = (measured(each, quantity, system, digits) for each in (low, high))
    return span(first, last, unit)


def _operator(runs: SheetRuns, filters: Sequence[SheetFilter]) -> Iterator[Sentence]:
    starred = any(row.starred for each in filters for row in each.rows)
    yield say("sheet.star") if starred else say("sheet.no_star")
    if runs.case.may_be_drunk:
        yield say("sheet.drunk")


def _strips(runs: SheetRuns, triggers: Mapping[str, Trigger]) -> Iterator[Strip]:
    case, most = runs.case, max(runs.water) or 1.0  # where none is used, the bars are empty
    yield Strip(name=label("sheet.water_used"), note="", bars=tuple(each / most for each in runs.water))
    held: dict[int, Mark] = {}
    spans = list[Label]()
    for stage in case.stages:
        yield day_of(stage, runs.arcs[stage.name])
        held = marks_of(stage, runs.arcs[stage.name], held=True) | held
        spans += _held(stage, runs.arcs[stage.name])
    if any(stage.hold_unit is not None for stage in case.stages):
        yield Strip(name=label("sheet.held"), note=apart(spans), marks=_in_order(held))
    closed = closed_half_hours(case)
    if closed:
        yield Strip(name=label("sheet.closed"), note=_hours(case), marks=_in_order(dict.fromkeys(closed, "crossed")))


def day_of(stage: Stage, arcs: Sequence[Arc]) -> Strip:
    """When in the day a stage washes."""
    return Strip(name=stage.name, note=_arcs_note(stage, arcs), marks=_in_order(marks_of(stage, arcs)))


def _key(strips: Sequence[Strip]) -> Iterator[Sentence]:
    """What the marks are that some strip has."""
    used = {mark for strip in strips for mark in strip.marks}
    if "full" in used:
        yield say("sheet.key_full")
    if "hatched" in used:
        yield say("sheet.key_hatched")
    if "crossed" in used:
        yield say("sheet.key_crossed")


def _held(stage: Stage, arcs: Sequence[Arc]) -> Iterator[Label]:
    """When the unit is held for the washes of a stage."""
    start, end = stage.hold_span
    if start == end:
        return
    for arc in arcs:
        if arc.hour is not None:
            yield label("sheet.held_from", stage=Name(stage.name), start=day_time((arc.first + start) % DAY),
                        end=day_time((arc.last + end) % DAY))  # fmt: skip
    if arcs and all(arc.hour is None for arc in arcs):
        yield label("sheet.held_around", stage=Name(stage.name))


def marks_of(stage: Stage, arcs: Sequence[Arc], *, held: bool = False) -> dict[int, Mark]:
    """The marks of the half hours of a day: full where the clock starts washes, as long as they last; hatched where
    most others start. `held`: of the unit instead, from the first to the last that it is held then."""
    length = sum(step.seconds for step in stage.steps)
    start, end = stage.hold_span
    found: dict[int, Mark] = {}
    for arc in arcs:
        last = arc.last + (0.0 if arc.hour is None else length)
        first, last = (arc.first + start, arc.last + end) if held else (arc.first, last)
        if not held or start < end:
            found = dict.fromkeys(half_hours(first, last), "hatched" if arc.hour is None else "full") | {
                place: mark for place, mark in found.items() if mark == "full"
            }
    return found


def closed_half_hours(case: Case) -> frozenset[int]:
    """The half hours in any minute of which the site lets no wash start."""
    return frozenset(
        place for place in range(HALF_HOURS)
        if not all(case.washing.hour_is_open(place * HALF_HOUR + minute * MINUTE) for minute in range(30))
    )  # fmt: skip


def _in_order(marks: Mapping[int, Mark]) -> tuple[Mark, ...]:
    return tuple(marks.get(place, "") for place in range(HALF_HOURS))


def _arcs_note(stage: Stage, arcs: Sequence[Arc]) -> str:
    if not arcs:
        return label("sheet.none")
    washes = sum(arc.count for arc in arcs)
    return apart(_arc_words(stage, arc, washes) for arc in arcs)


def _arc_words(stage: Stage, arc: Arc, washes: int) -> Label:
    length = sum(step.seconds for step in stage.steps) if arc.hour is not None else 0.0
    start, end = day_time(arc.first % DAY), day_time((arc.last + length) % DAY)
    if arc.hour is not None:
        return label("sheet.from_until", start=start, end=end)
    part, whole = count(arc.count), count(washes)
    if arc.last - arc.first > LONG:
        return label("sheet.any_hour", part=part, whole=whole)
    if start == end:
        return label("sheet.once", start=start, part=part, whole=whole)
    return label("sheet.mostly", start=start, end=end, part=part, whole=whole)


def _hours(case: Case) -> str:
    """The hours in which no wash may start."""
    return apart(label("sheet.from_until", start=day_time(each.start), end=day_time(each.end))
                     for each in case.washing.closed_hours)  # fmt: skip


def _site_rules(case: Case) -> Iterator[Label]:
    rules = case.washing
    if rules.together == "wait":
        yield label("sheet.one_at_a_time")
    if closed := rules.closed_hours:
        hours = replace(rules, least_interval=0.0, most_a_day=None)
        opens = dict.fromkeys(next_allowed(hours, each.start, (), 0.0) % DAY for each in closed)
        yield label("sheet.locked", hours=items([day_time(each) for each in opens]))
    if rules.least_interval:
        yield label("sheet.least_interval", interval=duration(rules.least_interval))
    if rules.most_a_day is not None:
        yield label("sheet.most_a_day", count=rules.most_a_day)


def _readings(runs: SheetRuns, system: System) -> Iterator[tuple[str, ...]]:
    flows = reading_flows(runs.case, runs.water)
    for stage in runs.case.stages:
        cells = (_band(runs, what, stage.name, system) for what in COLUMNS if what != "metered")
        each = label("sheet.each_vessel", stage=Name(stage.name)) if stage.vessels.count > 1 else stage.name
        yield (each, amount_of(flows[stage.name], "flow", system), *cells)


def _band(runs: SheetRuns, reading: Reading, stage: str | None, system: System) -> Amount:
    for each in runs.bands:
        if (each.reading, each.stage) == (reading, stage):
            return span_of(each.least, each.most, COLUMNS[reading], system, DIGITS_OF.get(reading, 3))
    return Amount(ABSENT)


def _cautions(case: Case) -> Iterator[Sentence]:
    held = [say("sheet.unit")] if any(stage.hold_unit is not None for stage in case.stages) else []
    yield paragraph(at_the_plant(), *of_chemicals(case.stages), *held)
