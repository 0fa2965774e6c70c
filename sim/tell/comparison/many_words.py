"""What a reader is to know of many runs: how many there are, what was run, what they cannot show."""

from plots.words import Code, Label, Sentence, count, in_days, label, say
from sim.study.many.repeat import Repeated


def simulated(repeated: Repeated) -> Label:
    """What was run."""
    runs, length = repeated.figures.replicates, in_days(repeated.days)
    if repeated.uncertain:
        return label("compare.runs_drawn", count=runs, length=length)
    return label("compare.runs", count=runs, length=length)


def of_the_runs(repeated: Repeated) -> tuple[Sentence, ...]:
    """What a reader is to know of these runs."""
    runs, first = repeated.figures.replicates, repeated.figures.policies[0]
    found = [say("compare.not_as_narrow", runs=count(runs), precision=Code(str(each))) for each in repeated.missed]
    if runs > 1 and not (repeated.case.is_random or repeated.uncertain):
        found.append(say("compare.not_random"))
    elif runs > 1 and repeated.risk(first) is None:
        counted = repeated.figures.avoidable(first).size
        found.append(say("compare.no_allowance") if counted else say("compare.no_years"))
    return tuple(found)
