"""What is likely behind a log or a symptom, in words: causes, those that cannot be parted together, the next look."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from plots.words import (
    Amount,
    Kind,
    Label,
    Moment,
    Name,
    Sentence,
    Term,
    amount,
    dated,
    items,
    label,
    localised,
    number,
    paragraph,
    say,
    term,
)
from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import Case
from sim.fit.causes import Cause, Change, Diagnosis, Symptom
from sim.log.records import Log
from sim.tell.comparison.first_screen import FirstScreen
from sim.tell.listing import Column, Listing
from sim.tell.present import ABSENT, amount_of, duration
from sim.tell.sentences import at_the_plant

SHOWN, LEAST = 6, 0.01
"""So many causes in the table, of this probability at least."""
EVEN = 0.5


@record
class Asked:
    """What a diagnosis is of: a log, or a symptom alone."""

    case: Case
    log: Log | None = None
    symptom: Symptom | None = None


def diagnosis_screen(found: Diagnosis, asked: Asked, system: System) -> FirstScreen:
    """The answer, the causes in a table, and the next look."""
    return FirstScreen(
        title=_title(found, asked),
        answer=tuple(_answer(found, asked)),
        table=cause_listing(found, asked, system),
        legend=paragraph(say("diagnosis.probability"), say("diagnosis.as_the_case")),
        change=(),
        foot=(at_the_plant(),),
    )


def _title(found: Diagnosis, asked: Asked) -> Label:
    title, stage = Name(asked.case.title), Name(found.stage)
    if asked.log is None:
        return label("diagnosis.title", title=title, stage=stage)
    return label("diagnosis.title_of_log", title=title, stage=stage, file=Name(Path(asked.log.file).name))


def _answer(found: Diagnosis, asked: Asked) -> Iterator[Sentence]:
    first = next(iter(found.causes), None)
    healthy = percent(found.healthy)
    if asked.symptom is not None and first is None:
        yield say("diagnosis.unexplained", symptom=term("symptom", asked.symptom.value))
        return
    if first is None or (asked.symptom is None and not found.alarm):
        if first is None or found.healthy >= EVEN:
            yield say("diagnosis.healthy", stage=Name(found.stage), healthy=healthy)
        else:
            yield say("diagnosis.chance", cause=cause_term(first.what))
        return
    group = (first.what, *first.inseparable_from)
    share = percent(sum(each.probability for each in found.causes if each.what in group))
    names = items([cause_term(each) for each in group], "or")
    if asked.symptom is not None:
        symptom = term("symptom", asked.symptom.value)
        yield say("diagnosis.symptom", symptom=symptom, causes=names, share=share)
    else:
        yield say("diagnosis.likeliest", causes=names, share=share, healthy=healthy)
    if len(group) > 1:
        yield say("diagnosis.not_parted")
    if asked.log is not None and first.since:
        yield say("diagnosis.since", since=_day(asked.log, first.since))
    if found.next is not None:
        yield say("diagnosis.next", look=term("look", found.next.value))


def percent(share: float) -> Amount:
    """A probability, in whole percent; nothing is certain."""
    if not 0.01 <= share <= 0.99:
        return amount(localised("<1" if share < 0.5 else ">99"), "%")
    return amount(number(100.0 * share), "%")


def cause_term(what: object) -> Term:
    """What a fault or a change is called in a sentence."""
    return term("change", what.value) if isinstance(what, Change) else term("failure", str(what))


def cause_listing(found: Diagnosis, asked: Asked, system: System) -> Listing:
    """The likeliest causes: probability, since when, how much, and what they cannot be told from."""
    causes = [each for each in found.causes if each.probability >= LEAST][:SHOWN]
    heads = [Column(label("diagnosis.cause"), "words"), Column(label("diagnosis.share"), "numbers")]
    columns = [[cause_label(each, system) for each in causes], [percent(each.probability) for each in causes]]
    if asked.log is not None:
        heads.append(Column(label("diagnosis.since"), "words"))
        columns.append([_since(each, asked.log) for each in causes])
    heads.append(Column(label("diagnosis.alike"), "long words"))
    columns.append([items([cause_term(other) for other in each.inseparable_from]) or ABSENT for each in causes])
    return Listing(columns=tuple(heads), rows=tuple(zip(*columns, strict=True)))


def _since(cause: Cause, log: Log) -> str:
    if cause.since is None:
        return ABSENT
    if cause.since == 0.0:
        return label("diagnosis.from_start")
    return _day(log, cause.since)


def _day(log: Log, time: float) -> Moment:
    return dated((log.start + timedelta(seconds=time)).date(), "day_year")


def cause_label(cause: Cause, system: System) -> Label:
    """What a cause is called in a table, with its size."""
    size = cause.size
    if size is None:
        return Label(cause_term(cause.what))
    if not isinstance(cause.what, Change):
        return label("fault.kind", kind=Kind(cause.what), size=_size(cause.what, size, system))
    colder = cause.what is Change.COLDER
    by = amount_of(size, "temperature swing", system, 2) if colder else amount(localised(f"{size:.2g}"))
    return label("diagnosis.change", change=Kind(cause.what.value), size=by)


def _size(what: str, size: float, system: System) -> Amount:
    """How far something fails, as the study of faults shows it."""
    if what.startswith("clock"):
        return duration(round(abs(size), -1))
    if what.startswith("switch"):
        return amount_of(abs(size), "pressure", system, 2)
    return amount(number(100.0 * (abs(size - 1.0) if what.startswith("meter") else size)), "%")
