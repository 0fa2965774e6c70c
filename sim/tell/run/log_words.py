"""The log of a run as a person reads it; its CSV keeps the shorter words of the records."""

from collections.abc import Mapping

from sim.case.quantities import System
from sim.plant.records import Cause, Event, LogEntry, Why
from sim.study.moments import moment
from sim.study.single import SingleRun
from sim.tell.listing import Column, Listing, listing_of
from sim.tell.present import UNITS, column

PLAIN: Mapping[Event | Cause | Why, str] = {
    Event.SET_OFF_EARLY: "wash set off by a spike alone",
    Why.TRIGGER: "a wash is due",
    Why.TIME: "its minutes are over",
}


def event_words(entry: LogEntry) -> tuple[str, str]:
    """What happened, and why.

    >>> event_words(LogEntry(0.0, "filter", Event.STEP_ENDS, Why.TIME, step="rinse"))
    ('rinse ends', 'its minutes are over')
    """
    return PLAIN.get(entry.event, entry.what), PLAIN.get(entry.why, entry.why)


def log_listing(single: SingleRun, system: System) -> Listing:
    """Every event: when, where, what, why, and the water and solids that the phase just ended moved."""
    start, log = single.case.run.start, single.result.log
    volume, mass = UNITS[system]["volume"].symbol, UNITS[system]["mass"].symbol
    return listing_of(
        [
            (Column("time", "words"), [f"{moment(start, entry.time_s):%Y-%m-%d %H:%M:%S}" for entry in log]),
            (Column("stage", "words"), [entry.who for entry in log]),
            (Column("what happened", "long words"), [event_words(entry)[0] for entry in log]),
            (Column("why", "long words"), [event_words(entry)[1] for entry in log]),
            (
                Column(f"water {volume}", "numbers"),
                column([entry.volume_m3 for entry in log], "volume", system, fine=True),
            ),
            (
                Column(f"solids {mass}", "numbers"),
                column([entry.solids_kg for entry in log], "mass", system, fine=True),
            ),
        ]
    )
