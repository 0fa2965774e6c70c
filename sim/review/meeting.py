"""What the triggers of several vessels make together: hours that meet, rules of the site, what shared lines take."""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise
from typing import Literal

from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Stage, Step
from sim.case.trigger.face import face_of
from sim.case.trigger.records import Policy, Trigger, by_calendar, devices, hours
from sim.case.units import DAY
from sim.review.findings import Advice, Facts, Findings, Level, at_least, at_most, judged, noted
from sim.review.site import Site, largest_flow, strongest, wash_length, wash_volume
from sim.review.supply import REACHED, drain_limits
from sim.review.without_run import calendar_interval, most_a_day
from sim.wash.flow import is_supplied, wash_flows

MOST_DAYS = 3660  # that the clocks are followed for
WEEK = 7


@record
class Due:
    """Washes of the vessels of a stage that are due at a time of day, and how long they take together [s].

    One after the other where one vessel washes at a time. `on`: the weekdays, from 0 for Monday; none: any day.
    """

    stage: Stage
    at: float
    length: float
    on: tuple[int, ...] = ()

    def meets(self, other: "Due") -> bool:
        """Whether both can be due on one day."""
        return not self.on or not other.on or not set(self.on).isdisjoint(other.on)

    def covers(self, second: float) -> bool:
        """Whether they are still under way at a time of day."""
        return (second - self.at) % DAY < self.length


def meeting_findings(site: Site) -> Findings:
    """Every policy, under the rules of the site."""
    for policy in site.case.policies:
        dues = _dues(site.case, policy)
        for one, other in combinations(dues, 2):
            if one.stage is not other.stage and one.meets(other):
                yield from _pair(site.case, policy, one, other)
        yield from _by_the_clocks(site.case, policy, dues)
        yield from _sisters(site.case, policy)
        yield from _shut(site.case, policy, dues)
        yield from _drain_together(site, policy, dues)
        yield from _supply_together(site, policy, dues)
        yield from _too_many(site.case, policy)
        yield from _day_of_washes(site, policy)


def _shares(case: Case) -> bool:
    return case.washing.together == "share"


def _overlaps(case: Case) -> bool:
    """Whether stages wash as their own clocks say, whatever the others do."""
    return case.washing.together == "overlap"


def _at_once(case: Case, stage: Stage) -> int:
    """How many vessels of a stage may wash at once."""
    return stage.vessels.sharing if _shares(case) else 1


def _most(case: Case, line: Literal["supply", "drain"]) -> int:
    """How many vessels at once may use a line."""
    return len(case.stages) if _overlaps(case) else int(getattr(case.washing.lines, line)) if _shares(case) else 1


def _dues(case: Case, policy: Policy) -> list[Due]:
    return [
        Due(stage=stage, at=at, length=wash_length(stage) * stage.vessels.sharing / _at_once(case, stage),
            on=_weekdays(trigger, at))
        for stage, (_, trigger) in zip(case.stages, policy.triggers, strict=True)
        for at in _hours(stage, trigger)
    ]  # fmt: skip


def _weekdays(trigger: Trigger, at: float) -> tuple[int, ...]:
    """The weekdays to which an hour of a trigger is bound."""
    calendar, *_ = devices(trigger)
    return calendar.on if calendar is not None and at in calendar.hours and len(hours(trigger)) == 1 else ()


def _by_the_clocks(case: Case, policy: Policy, dues: Sequence[Due]) -> Findings:
    """When two stages that know nothing of each other first wash at once, or how near they come to it."""
    if not _overlaps(case):
        return
    for one, other in combinations(case.stages, 2):
        names: Facts = {"one": one.name, "other": other.name, "way": policy.name}
        gaps = _gaps(case, one, other, dues)
        met = next((start for gap, start in gaps if gap < 0.0), None)
        if met is not None:
            yield judged("clocks_meet", None, met // DAY * DAY, "days", at_least(case.run.length, "run"), **names)
        elif gaps:
            yield judged("least_spacing", None, min(gaps)[0], "minutes", at_least(0.0, "clocks"), **names)


def _gaps(case: Case, one: Stage, other: Stage, dues: Sequence[Due]) -> list[tuple[float, float]]:
    """Between washes of two stages that follow each other, from the end of one to the start of the next, and that
    start [s]; below 0 where they meet."""
    mine = [[_spans(case, due) for due in dues if due.stage is stage] for stage in (one, other)]
    if not all(mine):
        return []
    starts = sorted((*span, place) for place, each in enumerate(mine) for spans in each for span in spans)
    return [(start - end, start) for (_, end, first), (start, _, then) in pairwise(starts) if first != then]


def meetings(case: Case, policy: Policy) -> Iterator[tuple[Stage, Stage, float, float]]:
    """Two stages that wait for none and are due to wash at once by their clocks, the longest time that they would
    share [s], and how far apart the starts would have to be [s]: what the first of the two lasts."""
    dues = _dues(case, policy)
    for one, other in combinations(case.stages, 2):
        starts = sorted(
            (*span, stage.name) for stage in (one, other) for due in dues if due.stage is stage
            for span in _spans(case, due)
        )  # fmt: skip
        pairs = [each for each in pairwise(starts) if each[0][2] != each[1][2] and each[1][0] < each[0][1]]
        if pairs and not _fit(case, one, other):
            shared = max(min(end, last) - start for (_, end, _), (start, last, _) in pairs)
            yield one, other, shared, max(end - start for (start, end, _), _ in pairs)


def _never_meet(case: Case, policy: Policy, dues: Sequence[Due]) -> bool:
    """Whether stages that wash by their clocks alone keep apart through the run."""
    pairs = combinations(case.stages, 2)
    return by_calendar(policy) and all(gap >= 0.0 for pair in pairs for gap, _ in _gaps(case, *pair, dues))


def _spans(case: Case, due: Due) -> list[tuple[float, float]]:
    """From when to when the washes of an hour last on every day of the run on which they may be due [s]."""
    face, start = face_of(due.stage.clock, case.run), case.run.start
    midnight = -(start - start.replace(hour=0, minute=0, second=0, microsecond=0)).total_seconds()
    days = range(min(math.ceil(case.run.length / DAY), MOST_DAYS) + 1)
    due_on = [day for day in days if not due.on or (start.weekday() + day) % WEEK in due.on]
    begins = [face.when(midnight + day * DAY + due.at, -DAY) for day in due_on]
    return [(begin, begin + due.length) for begin in begins if 0.0 <= begin < case.run.length]


def _hours(stage: Stage, trigger: Trigger) -> tuple[float, ...]:
    """The hours at which a trigger or the longest run washes a stage [s after midnight]."""
    own = () if stage.longest_run_at is None else (stage.longest_run_at,)
    return tuple(dict.fromkeys((*hours(trigger), *own)))


def _pair(case: Case, policy: Policy, one: Due, other: Due) -> Findings:
    """Two stages whose washes fall into the same hour, or nearer to each other than the site lets them start."""
    names: Facts = {"one": one.stage.name, "other": other.stage.name, "way": policy.name}
    overlap, apart = _overlap(one, other), _apart(one.at, other.at)
    if overlap > 0.0 and not _overlaps(case) and not _fit(case, one.stage, other.stage):
        waits: Advice = "idle" if _shares(case) else "late"
        yield judged("washes_share_time", None, overlap, "minutes", at_most(0.0), above=waits, **names)
    elif apart < case.washing.least_interval:
        asked = at_least(case.washing.least_interval, "interval")
        yield judged("starts_too_near", None, apart, "minutes", asked, **names)


def _overlap(one: Due, other: Due) -> float:
    """Seconds that two stretches of a day share, midnight included."""
    shared = 0.0
    for shift in (-DAY, 0.0, DAY):
        end = min(one.at + one.length, other.at + shift + other.length)
        shared += max(0.0, end - max(one.at, other.at + shift))
    return shared


def _apart(one: float, other: float) -> float:
    """Seconds between two times of day, the short way round."""
    return min((one - other) % DAY, (other - one) % DAY)


def _fit(case: Case, one: Stage, other: Stage) -> bool:
    """Whether shared lines take the washes of all vessels of two stages at once."""
    lines, both = case.washing.lines, one.vessels.sharing + other.vessels.sharing
    return _shares(case) and both <= min(lines.drain, lines.supply, lines.raw)


def wash_together(case: Case, stage: Stage, policy: Policy) -> bool:
    """Whether all vessels of a stage are out of service at once: due at one hour, and allowed to share."""
    trigger = dict(policy.triggers)[stage.name]
    return stage.vessels.sharing > 1 and _shares(case) and bool(_hours(stage, trigger))


def _sisters(case: Case, policy: Policy) -> Findings:
    for stage in case.stages:
        if wash_together(case, stage, policy):
            count = float(stage.vessels.count)
            fewer = at_most(count - 1.0, "vessels")
            yield judged("vessels_at_one_hour", stage, count, "number", fewer, way=policy.name)


def _shut(case: Case, policy: Policy, dues: Sequence[Due]) -> Findings:
    """Washes whose hour, or whose turn behind others of that night, comes when the site lets none start."""
    free, waits = -math.inf, case.washing.together == "wait"
    for due in sorted(dues, key=lambda each: each.at):
        start = max(due.at, free) if waits else due.at
        count = due.stage.vessels.sharing // _at_once(case, due.stage)
        starts = [start + number * wash_length(due.stage) for number in range(count)]
        free = starts[-1] + wash_length(due.stage)
        if not all(case.washing.hour_is_open(each % DAY) for each in starts):
            yield noted("hour_is_closed", "look", due.stage, source="site_hours", way=policy.name)


def _drain_together(site: Site, policy: Policy, dues: Sequence[Due]) -> Findings:
    """Flows of all that may wash at once against what takes them; by the clock it is sure, else it can happen."""
    drain, most = site.case.drain, _most(site.case, "drain")
    if drain is None or most < 2 or (_overlaps(site.case) and _never_meet(site.case, policy, dues)):
        return
    flows = {stage.name: largest_flow(site, stage) for stage in site.case.stages}
    by_clock = max((_largest_sum(site.case, _present(dues, due.at), flows, most) for due in dues), default=0.0)
    ever = _largest_sum(site.case, site.case.stages, flows, most)
    for taker, limit in drain_limits(drain):
        if ever > max(flows.values()):
            sure = by_clock > limit
            flow, level, takes = by_clock if sure else ever, _sure(sure), at_most(limit, "drain")
            yield judged("flow_at_once", None, flow, "flow", takes, outside=level, taker=taker, way=policy.name)


def _sure(sure: bool) -> Level:
    """What is sure by the clock says stop; what can happen asks for a look."""
    return "stop" if sure else "look"


def _present(dues: Sequence[Due], second: float) -> list[Stage]:
    """Stages that wash at a time of day, each once."""
    return list({due.stage.name: due.stage for due in dues if due.covers(second)}.values())


def _largest_sum(case: Case, stages: Sequence[Stage], flows: dict[str, float], most: int) -> float:
    each = [flows[stage.name] for stage in stages for _ in range(_at_once(case, stage))]
    return math.fsum(sorted(each, reverse=True)[:most])


def _supply_together(site: Site, policy: Policy, dues: Sequence[Due]) -> Findings:
    """Backwashes due at one hour against what one supply gives them together."""
    case, most = site.case, _most(site.case, "supply")
    if case.supply is None or most < 2:
        return
    at_once = max((_backwashes(case, _present(dues, due.at), most) for due in dues), key=len, default=())
    if len(at_once) < 2:
        return
    flow = math.fsum(wash_flows(case, at_once, site.coldest))
    asked = at_least(REACHED * math.fsum(step.flow for _, step in at_once), "asked")
    yield judged("backwashes_at_once", None, flow, "flow", asked, way=policy.name)


def _backwashes(case: Case, stages: Sequence[Stage], most: int) -> tuple[tuple[Stage, Step], ...]:
    """The strongest backwashes of vessels that the supply drives at once."""
    each = [(stage, strongest(stage)) for stage in stages for _ in range(_at_once(case, stage))]
    supplied = [(stage, step) for stage, step in each if is_supplied(stage, step)]
    return tuple(sorted(supplied, key=lambda pair: -pair[1].flow)[:most])


def _too_many(case: Case, policy: Policy) -> Findings:
    """Calendars that ask for more washes than the site allows."""
    if case.washing.most_a_day is None:
        return
    asked = math.fsum(
        stage.vessels.sharing * DAY / calendar_interval(calendar)
        for stage, (_, trigger) in zip(case.stages, policy.triggers, strict=True)
        for calendar, *_ in [devices(trigger)]
        if calendar is not None
    )
    most = at_most(float(case.washing.most_a_day), "most_a_day")
    yield judged("washes_a_day", None, asked, "number", most, way=policy.name)


def _day_of_washes(site: Site, policy: Policy) -> Findings:
    """All that a day of washes can bring to a sump with a limit by the day."""
    sump = None if site.case.drain is None else site.case.drain.sump
    if sump is None or sump.daily_limit is None:
        return
    volumes = [
        wash_volume(site, stage)
        for stage, (_, trigger) in zip(site.case.stages, policy.triggers, strict=True)
        for _ in range(most_a_day(site, stage, trigger))
    ]
    volume = math.fsum(sorted(volumes, reverse=True)[: site.case.washing.most_a_day])
    most, level = at_most(sump.daily_limit, "drain"), _sure(by_calendar(policy))
    yield judged("sump_in_a_day", None, volume, "volume", most, outside=level, way=policy.name)
