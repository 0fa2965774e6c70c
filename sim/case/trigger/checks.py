"""What [washing] and the triggers of the policies say together; see `checks`."""

from collections.abc import Mapping, Sequence
from datetime import timedelta

from sim.case.line_numbers import Path
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.spelling import nearest_or, plain_duration, quoted, shown
from sim.case.table import Table
from sim.case.train.records import Washing
from sim.case.train.schema import AbortTable, ByHandTable
from sim.case.train.train import seconds_of, wash_length
from sim.case.trigger.schema import AnyOfTable, TriggerTable, VolumeLearnedTable, VolumeReserveTable
from sim.case.units import DAY, HOUR, MINUTE

DAYS_OF_THE_WEEK = 7


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
    at = getattr(table, key, None)
    if at is not None and not _may_start(case, at):
        yield Finding(
            (*place, key),
            f"{at // HOUR:02.0f}:{at % HOUR // MINUTE:02.0f}, when [washing] lets no wash start",
            "an hour within allowed_hours and outside locked_hours",
            "another hour here, or other hours under [washing]",
        )


def lines_are_shared(case: CaseFile) -> Findings:
    washing = case.washing
    if washing is not None and washing.lines is not None and washing.together == "wait":
        yield Finding(
            ("washing", "lines"),
            "lines where one vessel washes at a time",
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
