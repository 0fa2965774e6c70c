"""The log of a run as a person reads it; its CSV keeps the shorter words of the records."""

from plots.words import Label, Term, amount, label, localised, number, term
from sim.case.quantities import System
from sim.plant.records import Cause, Event, LogEntry
from sim.study.moments import moment
from sim.study.single import SingleRun
from sim.tell.listing import Column, Listing, listing_of
from sim.tell.present import UNITS, column


def event_words(entry: LogEntry) -> tuple[Label | Term, Term]:
    """What happened, and why.

    >>> from sim.plant.records import Why
    >>> event_words(LogEntry(0.0, "filter", Event.STEP_ENDS, Why.TIME, step="rinse"))
    ('rinse ends', 'its minutes are over')
    """
    return _what(entry), term("cause" if isinstance(entry.why, Cause) else "why", entry.why.value)


def _what(entry: LogEntry) -> Label | Term:
    match entry:
        case LogEntry(event=Event.WAITS_FOR_LINE, line=str(line)):
            return label("event.waits_for_line", line=term("line", line))
        case LogEntry(event=Event.WAITED, minutes=float(minutes)):
            return label("event.waited", minutes=amount(localised(f"{minutes:.4g}"), "min"))
        case LogEntry(event=Event.MISSED, times=int(times)):
            return label("event.missed", count=times)
        case LogEntry(event=Event.SHORT_OF_WATER, step=str(step)):
            return label("event.short_of_water", step=term("step", step))
        case LogEntry(event=Event.REGENERATED, free_before=float(before), free_after=float(after)):
            free = [amount(number(100.0 * share), "%") for share in (before, after)]
            return label("event.regenerated", before=free[0], after=free[1])
        case LogEntry(event=Event.STEP_ENDS, step=str(step)):
            return label("event.step_ends", step=term("step", step))
        case LogEntry(event=Event.BROKEN_OFF, step=str(step)):
            return label("event.broken_off", step=term("step", step))
        case LogEntry(event=Event.FAULT_BEGINS, fault=str(fault)):
            return label("event.fault_begins", fault=term("fault", fault))
        case LogEntry(event=Event.FAULT_ENDS, fault=str(fault)):
            return label("event.fault_ends", fault=term("fault", fault))
        case _:
            return term("event", entry.event.value)


def log_listing(single: SingleRun, system: System) -> Listing:
    """Every event: when, where, what, why, and the water and solids that the phase just ended moved."""
    start, log = single.case.run.start, single.result.log
    volume, mass = UNITS[system]["volume"].symbol, UNITS[system]["mass"].symbol
    told = [event_words(entry) for entry in log]
    times = [f"{moment(start, entry.time_s):%Y-%m-%d %H:%M:%S}" for entry in log]
    return listing_of(
        [
            (Column(label("log.time"), "words"), times),
            (Column(label("column.stage"), "words"), [entry.who for entry in log]),
            (Column(label("log.what"), "long words"), [what for what, _ in told]),
            (Column(label("log.why"), "long words"), [why for _, why in told]),
            (
                Column(label("log.water", unit=volume), "numbers"),
                column([entry.volume_m3 for entry in log], "volume", system, fine=True),
            ),
            (
                Column(label("log.solids", unit=mass), "numbers"),
                column([entry.solids_kg for entry in log], "mass", system, fine=True),
            ),
        ]
    )
