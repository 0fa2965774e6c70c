"""What a fault is called, how large it is, and by which reading somebody notices it."""

import math

from plots.words import Amount, Kind, Label, Name, Sentence, Term, amount, dated, label, number, say, term
from sim.case.fault.records import NUMBER_OF, Fault, What
from sim.case.quantities import System
from sim.case.records import Case
from sim.study.faults import Row
from sim.study.faults_possible import kind_of
from sim.study.moments import moment
from sim.tell.present import amount_of, duration


def fault_term(fault: Fault) -> Term:
    """What a fault is called in a sentence."""
    return term("failure", kind_of(fault))


def fault_lines(case: Case) -> tuple[Sentence, ...]:
    """A line for each fault that a case gives."""
    return tuple(_line(case, each) for each in case.faults)


def _line(case: Case, fault: Fault) -> Sentence:
    what, start = fault_term(fault), dated(moment(case.run.start, fault.start))
    where: Name | Term = term("fault_place", "site") if fault.stage is None else Name(fault.stage)
    if fault.end == math.inf:
        return say("fault.stays", start=start, fault=what, where=where)
    return say("fault.lasts", start=start, end=dated(moment(case.run.start, fault.end)), fault=what, where=where)


def fault_label(fault: Fault, system: System) -> Label:
    """What a fault is called in a table, with its size."""
    return label("fault.kind", kind=Kind(kind_of(fault)), size=size_of(fault, system))


def size_of(fault: Fault, system: System) -> Amount:
    """How far something fails: a share, a pressure or a length of time; nothing where it fails altogether."""
    if fault.what is What.POWER_CUT:
        return duration(fault.end - fault.start) if fault.end < math.inf else Amount("")
    if NUMBER_OF.get(fault.what) is None:
        return Amount("")
    if fault.by is not None:
        by = abs(fault.by)
        return duration(by) if fault.what is What.CLOCK_WRONG else amount_of(by, "pressure", system, 2)
    share = fault.share or 0.0
    return _percent(abs(share - 1.0) if fault.what is What.METER_WRONG else share)


def _percent(share: float) -> Amount:
    return amount(number(100.0 * share), "%")


def noticed_label(row: Row) -> Label:
    """After how many daily readings and by which; else what test would find it."""
    assert row.fault is not None
    seen = row.noticed
    if seen is None:
        return label("fault.not_seen", test=term("fault_test", kind_of(row.fault)))
    return label("fault.seen", days=seen.mornings, reading=reading_term(seen.reading))


def reading_term(reading: str) -> Term:
    """What a reading is called."""
    return term("reading", reading)
