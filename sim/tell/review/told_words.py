"""What a case gives beyond its keys, in words: known runs, and what was mended in its files."""

from collections.abc import Sequence

from plots.words import Code, Kind, Label, Name, Sentence, amount, label, localised, say, span
from sim.case.quantities import System
from sim.case.records import Case, Solved
from sim.case.series.records import Remedy
from sim.tell.present import constant, duration


def solved_words(case: Case, system: System) -> tuple[Sentence, ...]:
    """A sentence for each stage with a known run: the constant, its value, and what is usual."""
    found = {}
    for each in case.solved:
        stage, name = each.key.split(".")[1], each.key.rpartition(".")[2]
        unit, value, low, high = constant(each, system)
        gain, after, flow = each.known
        found[stage, name] = say(
            "constant.solved", stage=Name(stage), constant=Code(name), gain=Name(gain), after=Name(after),
            flow=Name(flow), value=amount(localised(value), unit),
            usual=span(localised(low), localised(high), unit),
        )  # fmt: skip
    return tuple(found.values())


def known_run_words(solved: Solved) -> Label:
    """The known run that gave a constant."""
    gain, after, flow = solved.known
    return label("constant.known", gain=Name(gain), after=Name(after), flow=Name(flow))


def remedy_words(remedies: Sequence[Remedy]) -> tuple[Sentence, ...]:
    """A sentence for each remedy that a series from a file needed."""
    return tuple(
        say(
            "constant.remedy", remedy=Kind(each.what), key=Code(each.key), count=each.count, of=each.of,
            longest=duration(each.longest),
        )
        for each in remedies
    )  # fmt: skip
