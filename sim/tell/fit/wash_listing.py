"""The washes that a log shows by its flow and its pressure drop, for a person to confirm."""

from datetime import timedelta

from plots.words import Name, Sentence, count, dated, label, say
from sim.log.records import Log
from sim.tell.listing import Column, Listing
from sim.tell.present import ABSENT

MOST = 20


def seen_words(log: Log) -> Sentence:
    """That the log has no marks."""
    return say("fit.washes_seen", count=count(len(log.washes)))


def wash_listing(log: Log, most: int = MOST) -> Listing:
    """When each begins and ends; of more than `most` the first and how many more."""
    rows = [
        (str(number), _at(log, wash.start), ABSENT if wash.end is None else _at(log, wash.end))
        for number, wash in enumerate(log.washes[:most], 1)
    ]
    if len(log.washes) > most:
        rows.append(("", Name(label("fit.more_washes", count=count(len(log.washes) - most))), ""))
    heads = (Column(label("fit.wash"), "numbers"), Column(label("fit.start"), "words"),
             Column(label("fit.end"), "words"))  # fmt: skip
    return Listing(columns=heads, rows=tuple(rows))


def _at(log: Log, time: float) -> str:
    return dated(log.start + timedelta(seconds=time), "moment_year")
