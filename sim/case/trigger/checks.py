"""What [washing] and the triggers of the policies say together; see `checks`."""

from collections.abc import Mapping, Sequence
from datetime import timedelta

from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.series.clocks import standard_of
from sim.case.series.series import turbidity_can_be_read
from sim.case.spelling import nearest_or, plain_duration, quoted, shown
from sim.case.stage.schema import StageTable
from sim.case.table import Table
from sim.case.train.records import Washing
from sim.case.train.schema import AbortTable, ByHandTable
from sim.case.train.train import level_of, seconds_of, wash_length
from sim.case.trigger.schema import (
    AnyOfTable,
    CalendarTable,
    SignalTable,
    TriggerTable,
    VolumeLearnedTable,
    VolumeReserveTable,
)
from sim.case.units import CONCENTRATION, DAY, HARDNESS, HOUR, MINUTE, TURBIDITY

DAYS_OF_THE_WEEK = 7
KINDS_OF = {
    "turbidity": (CONCENTRATION, TURBIDITY), "hardness": (CONCENTRATION, HARDNESS), "chlorine": (CONCENTRATION,),
}  # fmt: skip
"""What a value of each monitor may be given in; mg/L is read as a concentration."""


def today_names_a_policy(case: CaseFile) -> Findings:
    """The policy in use now is one of the case."""
    if case.today is not None and case.today not in case.policy:
        yield Finding(
            ("today",),
            f"the policy {shown(case.today)}",
            f"the policies of this case: {quoted(case.policy)}",
            nearest_or(case.today, case.policy, "the name of a policy, or leaving it out"),
        )


def policy_covers_the_train(case: CaseFile, policy: str, triggers: Mapping[str, Table]) -> Findings:
    """A policy says for every stage what starts its wash, and speaks of no other."""
    names = [stage.name for stage in case.stage]
    for stage in triggers:
        if stage not in names:
            yield _unknown_stage(stage, names, ("policy", policy, stage))
    for stage in names:
        if stage not in triggers:
            yield Finding(
                ("policy", policy),
                f"nothing for the stage {shown(stage)}",
                "what starts a wash, for every stage",
                f"[policy.{shown(policy)}.{shown(stage)}] and the keys of a trigger below it",
            )


def some_hour_is_left(case: CaseFile) -> Findings:
    """Not every hour that is allowed is locked too."""
    if not any(_may_start(case, minute * MINUTE) for minute in range(round(DAY / MINUTE))):
        yield Finding(
            ("washing", "locked_hours"),
            "hours that leave no time at which a wash may start",
            "some time of day that is allowed and not locked",
            "shorter locked_hours, or longer allowed_hours",
        )


def _may_start(case: CaseFile, at: float) -> bool:
    """Whether the hours of [washing] let a wash start at a time of day [s]."""
    rules = case.washing
    if rules is None:
        return True
    allowed, locked = tuple(rules.allowed_hours or ()), tuple(rules.locked_hours or ())
    return Washing(allowed_hours=allowed, locked_hours=locked).hour_is_open(at)


def hour_is_allowed(case: CaseFile, table: Table, place: Path, key: str = "at") -> Findings:
    """A time of day at which a trigger or the longest run is to start washes is one at which washes may start."""
    given = getattr(table, key, None)
    for at in given if isinstance(given, tuple) else () if given is None else (given,):
        if not _may_start(case, at):
            yield Finding(
                (*place, key),
                f"{_clock(at)}, when [washing] lets no wash start",
                "an hour within allowed_hours and outside locked_hours",
                "another hour here, or other hours under [washing]",
            )


def _clock(at: float) -> str:
    return f"{at // HOUR:02.0f}:{at % HOUR // MINUTE:02.0f}"


def calendar_is_whole(case: CaseFile, trigger: Table, place: Path) -> Findings:
    """A calendar has an interval, or weekdays with hours; what it skips is told, and leaves some day."""
    if not isinstance(trigger, CalendarTable):
        return
    if (trigger.every is None) == (trigger.on is None):
        given = "neither every nor on" if trigger.on is None else "every and on"
        yield Finding(place, given, "one of them", 'every = "3 d"; or on = ["Mon", "Thu"]')
    elif trigger.on is not None and trigger.at is None:
        yield Finding((*place, "at"), "nothing, with on", "the hours of these days", "at = 03:00:00")
    if not trigger.skip_closed:
        return
    closed = (case.washing.closed_days if case.washing is not None else None) or []
    left = set(trigger.on or range(DAYS_OF_THE_WEEK)) - set(closed)
    if trigger.at is None:
        yield Finding((*place, "skip_closed"), "true, without at", "skip_closed with hours", "leaving it out, or at")
    elif not closed or not left:
        given = "no closed_days" if not closed else "no other day than closed ones"
        yield Finding((*place, "skip_closed"), f"true, with {given} under [washing]",
                      "closed days to skip, and a day on which a wash may come", "leaving it out")  # fmt: skip


def hours_leave_room(case: CaseFile, trigger: Table, place: Path) -> Findings:
    """Between two hours of a calendar there is time for the wash."""
    at = sorted(getattr(trigger, "at", None) or ()) if isinstance(trigger, CalendarTable) else []
    lasts = next((wash_length(stage) for stage in case.stage if stage.name == place[2]), 0.0)
    for before, after in zip(at, [*at[1:], *(each + DAY for each in at[:1])], strict=True):
        if after - before < lasts:
            yield Finding((*place, "at"), f"{_clock(before)} and {_clock(after % DAY)}",
                          f"hours at least {plain_duration(lasts)} apart, which the wash lasts",
                          "leaving one out")  # fmt: skip


def signal_is_whole(case: CaseFile, trigger: Table, place: Path) -> Findings:
    """A monitor has a value that it can reach, a contact hours or a file, and stays closed for its hold."""
    if not isinstance(trigger, SignalTable):
        return
    wanted, other = ("contact", "above") if trigger.of == "contact" else ("above", "contact")
    if getattr(trigger, other) is not None:
        yield Finding((*place, other), f"{other} with of = {shown(trigger.of)}", f"{wanted} alone", "leaving it out")
        return
    if getattr(trigger, wanted) is None:
        way = 'above = "0.5 NTU"' if wanted == "above" else 'contact = { hours = ["22:00-22:30"] }'
        yield Finding((*place, wanted), "nothing", f"{wanted}, with of = {shown(trigger.of)}", way)
    above, hours = trigger.above, getattr(trigger.contact, "hours", [])
    if above is not None and above.kind not in KINDS_OF.get(trigger.of, (above.kind,)):
        allowed = f"a value of {trigger.of}"
        yield Finding((*place, "above"), f"a {above.kind.name}", allowed, "another unit, or another of")
    elif above is not None and above.kind is TURBIDITY and not turbidity_can_be_read(case.feed):
        yield Finding((*place, "above"), "a turbidity, with no feed.solids_per_turbidity",
                      "a value in mg/L, or in NTU with the ratio of solids to turbidity",
                      'solids_per_turbidity = "1.2 mg/L per NTU" under [feed]')  # fmt: skip
    if hours and all((span.end - span.start) % DAY < trigger.hold and span.end - span.start != DAY for span in hours):
        yield Finding((*place, "hold"), plain_duration(trigger.hold), "no longer than the contact is closed",
                      "a shorter hold, or longer hours")  # fmt: skip


def clock_can_follow(stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """A clock follows the daylight saving of a place whose standard time is one."""
    if stage.clock is not None and stage.clock.daylight_saving and standard_of(case.run) is None:
        yield Finding((*place, "clock", "daylight_saving"), "true, without a place under [run]",
                      "daylight_saving with a zone by its place, of one standard time over the run",
                      'zone = "Europe/Rome" under [run]; or leaving it out')  # fmt: skip


def sisters_are_stages(stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """Those during whose wash none of this stage starts are others of the train."""
    names = [each.name for each in case.stage if each.name != stage.name]
    for number, name in enumerate(stage.not_while or ()):
        if not names:
            yield Finding((*place, "not_while"), "not_while in a train of one stage", "other stages of the train",
                          "leaving it out")  # fmt: skip
        elif name not in names:
            yield _unknown_stage(name, names, (*place, "not_while", number))


def some_wash_may_start(stage: StageTable, place: Path, case: CaseFile) -> Findings:
    """What must hold for a wash can come to hold; and the least interval lets the longest run be kept."""
    only, tank = stage.only_while, None if case.downstream is None else case.downstream.tank
    if only is not None and only.tank_above is not None and tank is not None:
        most, above = (level_of(each, tank.volume) for each in (tank.stop_above, only.tank_above))
        if above >= most:
            yield Finding((*place, "only_while", "tank_above"), f"{above:g} m3, where the unit stops at {most:g} m3",
                          "a level below that: the tank is never above it", "a lower level")  # fmt: skip
    least, longest = stage.least_interval, stage.longest_run
    if least is not None and longest is not None and least > longest:
        yield Finding((*place, "least_interval"), plain_duration(least),
                      f"no longer than longest_run, {plain_duration(longest)}", "a shorter one")  # fmt: skip


def lines_are_shared(case: CaseFile) -> Findings:
    washing = case.washing
    if washing is not None and washing.lines is not None and washing.together != "share":
        yield Finding(
            ("washing", "lines"),
            f"lines with together = {shown(washing.together)}",
            'lines with together = "share"',
            'leaving it out, or together = "share"',
        )


def something_is_aborted(case: CaseFile) -> Findings:
    washing = case.washing
    if washing is not None and washing.after_abort is not None and washing.abort is None:
        yield Finding(
            ("washing", "after_abort"),
            "after_abort without abort",
            "what follows a wash that is broken off, beside the list of these",
            "leaving it out",
        )


def moments_can_be(case: CaseFile) -> Findings:
    """Washes broken off and washes by hand: of a stage of the train, during the run, each told once."""
    if case.washing is None:
        return
    names = [stage.name for stage in case.stage]
    planned: dict[str, Sequence[AbortTable | ByHandTable]] = {
        "abort": case.washing.abort or (),
        "by_hand": case.washing.by_hand or (),
    }
    for key, each in planned.items():
        for number, wash in enumerate(each):
            place = ("washing", key, number)
            if wash.stage not in names:
                yield _unknown_stage(wash.stage, names, (*place, "stage"))
            yield from _lies_in_the_run(case, wash, place)
            if any((wash.stage, wash.at) == (other.stage, other.at) for other in each[:number]):
                given = f"{wash.at.isoformat()} for the stage {shown(wash.stage)} a second time"
                yield Finding((*place, "at"), given, "each moment of a stage once", "leaving one out")


def _unknown_stage(name: str, names: list[str], place: Path) -> Finding:
    allowed = f"the stages of this case: {quoted(names)}"
    return Finding(place, f"the stage {shown(name)}", allowed, nearest_or(name, names, "the name of a stage"))


def _lies_in_the_run(case: CaseFile, wash: AbortTable | ByHandTable, place: Path) -> Findings:
    if not 0.0 <= seconds_of(wash.at, case) < case.run.length:
        end = case.run.start + timedelta(seconds=case.run.length)
        yield Finding(
            (*place, "at"),
            wash.at.isoformat(),
            f"a moment of the run, from {case.run.start.isoformat()} up to {end.isoformat()}",
            "another moment, or leaving it out",
        )


def abort_comes_before_the_end(case: CaseFile) -> Findings:
    """A wash can only be broken off before it ends."""
    aborts = (case.washing.abort if case.washing is not None else None) or []
    lengths = {stage.name: wash_length(stage) for stage in case.stage}
    for number, each in enumerate(aborts):
        if each.after >= lengths.get(each.stage, float("inf")):
            yield Finding(
                ("washing", "abort", number, "after"),
                plain_duration(each.after),
                f"less than {plain_duration(lengths[each.stage])}, the length of that wash",
                "a shorter time",
            )


def reserve_is_a_part(trigger: Table, place: Path) -> Findings:
    """A reserve is kept back from the volume, so it is less than that."""
    if isinstance(trigger, VolumeReserveTable | VolumeLearnedTable) and trigger.reserve >= trigger.volume:
        yield Finding(
            (*place, "reserve"),
            f"{trigger.reserve:g} m3 of a volume of {trigger.volume:g} m3",
            "a reserve below the volume",
            "a smaller reserve",
        )


def weekdays_come_round(trigger: Table, place: Path) -> Findings:
    if isinstance(trigger, VolumeLearnedTable) and trigger.by == "weekday" and trigger.days < DAYS_OF_THE_WEEK:
        yield Finding(
            (*place, "days"),
            f'{trigger.days} with by = "weekday"',
            "7 or more, so that every day of the week is among them",
            'days = 56, eight of each; or by = "trailing"',
        )


def triggers_differ(trigger: AnyOfTable, place: Path) -> Findings:
    """Of several triggers each is of another kind, and a shorter longest run is told for all of them."""
    kinds: list[str] = []
    for number, each in enumerate(trigger.any_of):
        inner = (*place, "any_of", number)
        if each.start_on in kinds:
            yield Finding(
                (*inner, "start_on"),
                f"{shown(each.start_on)} a second time",
                "triggers that each start on something else",
                "leaving one of the two out",
            )
        kinds.append(each.start_on)
        if each.longest_run is not None:
            yield Finding(
                (*inner, "longest_run"),
                "longest_run for one of several triggers",
                "longest_run beside any_of, for all of them",
                f'longest_run = "{plain_duration(each.longest_run)}" beside any_of',
            )


def longest_run_is_shorter(case: CaseFile, stage: str, trigger: TriggerTable, place: Path) -> Findings:
    """The longest run belongs to the stage; a policy may only have a shorter one."""
    own = trigger.longest_run
    of_stage = next((each.longest_run for each in case.stage if each.name == stage), None)
    if own is None or (of_stage is not None and own < of_stage):
        return
    there = f'"{plain_duration(of_stage)}"' if of_stage is not None else "none"
    yield Finding(
        (*place, "longest_run"),
        f"{plain_duration(own)}, where that of the stage is {there}",
        "a shorter one than longest_run of its [[stage]], which holds for every policy",
        "leaving it out" if of_stage is not None else f'longest_run = "{plain_duration(own)}" in [[stage]]',
    )


OF_CASE = (
    some_hour_is_left,
    lines_are_shared,
    something_is_aborted,
    moments_can_be,
    abort_comes_before_the_end,
    today_names_a_policy,
)
OF_STAGE = (clock_can_follow, sisters_are_stages, some_wash_may_start)
OF_TRIGGER = (calendar_is_whole, hours_leave_room, signal_is_whole)
