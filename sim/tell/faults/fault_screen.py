"""The first screen of a study of faults: which way forgives most and by what rule, what limits the loss."""

from collections.abc import Callable, Iterator
from datetime import timedelta

from plots.words import (
    Amount,
    Label,
    Moment,
    Name,
    Number,
    Sentence,
    amount,
    count,
    dated,
    in_days,
    items,
    label,
    number,
    paragraph,
    say,
)
from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import Case
from sim.case.trigger.records import devices
from sim.study.faults import OVER, FaultStudy, Harm
from sim.study.faults_possible import CUT
from sim.study.faults_read import BROKEN, RUNS
from sim.tell.faults.fault_tables import first_listing, whole_listing, worst_of_kinds
from sim.tell.faults.fault_words import fault_term
from sim.tell.listing import Listing
from sim.tell.present import amount_of, duration
from sim.tell.sentences import quoted

TENS = 10.0  # h, from which on hours are whole


@record
class FaultScreen:
    """What stands on a screen, in this order; of so many `kinds` of fault as many as there is room for."""

    title: Label
    answer: tuple[Sentence, ...]
    table: Callable[[int], Listing]
    kinds: int
    foot: Sentence


def fault_screen(study: FaultStudy, system: System, *, whole: bool = False) -> FaultScreen:
    """The first screen, or with the `whole` table."""
    kinds = worst_of_kinds(study)
    return FaultScreen(
        title=label("fault.title", title=Name(study.case.title), start=from_words(study), length=length_words(study)),
        answer=tuple(answer(study, system)),
        table=lambda most: whole_listing(study, system) if whole else first_listing(study, most, system),
        kinds=len(kinds),
        foot=_foot(study, whole=whole),
    )


def from_words(study: FaultStudy) -> Moment:
    """When faults begin."""
    return dated(study.case.run.start + timedelta(seconds=study.start), "moment_year")


def length_words(study: FaultStudy) -> Amount:
    """How long faults stay unnoticed."""
    return in_days(study.days)


def answer(study: FaultStudy, system: System) -> Iterator[Sentence]:
    """Which way harms least and which most, what any way can have, by what rule, and who breaks through already."""
    order = study.order()
    best, worst = order[0], order[-1]
    if best == worst:
        told = [_one_way(study, best)]
    elif study.rank(best) == study.rank(worst):
        told = [say("fault.alike")]
    else:
        told = [_forgiving(study, best), _least_forgiving(study, worst, best, system)]
    limited = any(study.usual(best).figures[key] is not None for key in OVER)
    if not limited:
        told.insert(0, say("fault.harmless_none"))
    elif study.harmless:
        told.insert(0, say("fault.harmless"))
    yield paragraph(*told)
    told_of = [way for way in study.policies if study.breaks_already(way)]
    if not study.breaks_already(best):  # the worst has been told of
        told_of = [way for way in told_of if way != worst]
    already = [label("fault.way_runs", way=Name(way), part=_count(study, way, BROKEN), whole=_count(study, way, RUNS))
               for way in told_of]  # fmt: skip
    breaks = [say("fault.already", ways=items(already))] if already else []
    harmful = [row for row in study.rows if row.fault is not None and row.harm.over_h]
    unseen = [say("fault.unseen", count=sum(row.noticed is None for row in harmful), whole=count(len(harmful)))]
    yield paragraph(*breaks, *_drains(study, system), *(unseen if harmful else []),
                    say("fault.rule", length=length_words(study)))  # fmt: skip


def _count(study: FaultStudy, way: str, key: str) -> Number:
    return count(int(study.usual(way).figures[key] or 0))


def _one_way(study: FaultStudy, way: str) -> Sentence:
    row = study.worst(way)
    if row is None or row.fault is None or not row.harm_until.over_h:
        return say("fault.one_way_nothing", way=Name(way))
    return say("fault.one_way", way=Name(way), fault=fault_term(row.fault), hours=_hours(row.harm_until))


def _forgiving(study: FaultStudy, best: str) -> Sentence:
    row = study.worst(best, own=True)
    if row is None or row.fault is None or not row.harm.over_h:
        return say("fault.forgiving_never", best=Name(best))
    if not row.harm_until.over_h:
        return say("fault.forgiving_nothing", best=Name(best))
    return say("fault.forgiving", best=Name(best), fault=fault_term(row.fault), hours=_hours(row.harm_until))


def _least_forgiving(study: FaultStudy, worst: str, best: str, system: System) -> Sentence:
    if study.breaks_already(worst) and not study.breaks_already(best):
        return say("fault.least_forgiving_already", worst=Name(worst), part=_count(study, worst, BROKEN),
                   whole=_count(study, worst, RUNS))  # fmt: skip
    row = study.worst(worst, own=True) or study.worst(worst)
    assert row is not None
    assert row.fault is not None
    way, fault = Name(worst), fault_term(row.fault)
    if row.harm_until.over_h:
        return say("fault.least_forgiving", worst=way, fault=fault, hours=_hours(row.harm_until))
    if row.harm.over_h:
        return say("fault.least_forgiving_later", worst=way, fault=fault, hours=_hours(row.harm),
                   length=length_words(study))  # fmt: skip
    amount = amount_of(row.harm.drain_m3, "volume", system)
    return say("fault.least_forgiving_drain", worst=way, fault=fault, amount=amount)


def _drains(study: FaultStudy, system: System) -> Iterator[Sentence]:
    """The fault that sends most to drain."""
    row = max((row for row in study.rows if row.fault is not None), key=lambda row: row.harm.drain_m3)
    if row.fault is not None and row.harm.drain_m3:
        yield say("fault.drains", amount=amount_of(row.harm.drain_m3, "volume", system),
                  fault=fault_term(row.fault), way=Name(row.policy))  # fmt: skip


def _hours(harm: Harm) -> Amount:
    return amount(number(harm.over_h, 0 if harm.over_h >= TENS else 1), "h")


def _foot(study: FaultStudy, *, whole: bool) -> Sentence:
    """What limits the loss, and what this rests on: what no first screen may leave out, or the `whole` of it."""
    case = study.case
    triggers = [devices(trigger) for policy in case.policies if policy.name in study.policies
                for _, trigger in policy.triggers]  # fmt: skip
    told = []
    if any(each.meters or each.switch for each in triggers):
        longest = [f"{stage.name} {duration(stage.longest_run)}" for stage in case.stages if stage.longest_run]
        without = [stage.name for stage in case.stages if not stage.longest_run]
        if longest:
            told.append(say("fault.longest", runs=items(longest)))
        if without:
            told.append(say("fault.no_longest", stages=quoted(without)))
    if any(each.switch for each in triggers):
        told.append(_interval(case))
    own = [say("fault.own_left_out")] if case.faults else []
    if alone := [Name(stage.name) for stage in case.stages if stage.only_solids]:
        own.append(say("doubt.solids_only", count=len(alone), stages=items(alone)))
    if whole and case.feed.coagulant is not None:
        own.append(say("fault.coagulant"))
    return paragraph(*told, say("fault.daily"),
                     *([say("fault.sizes", cut=duration(CUT))] if whole else []), *own)  # fmt: skip


def _interval(case: Case) -> Sentence:
    """What limits a switch that is stuck closed."""
    site = [duration(case.washing.least_interval)] if case.washing.least_interval else []
    own = [f"{stage.name} {duration(stage.least_interval)}" for stage in case.stages if stage.least_interval]
    return say("fault.interval", intervals=items([*site, *own])) if site or own else say("fault.no_interval")
