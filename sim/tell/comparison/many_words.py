"""What a reader is to know of many runs: how many there are, what was run, what they cannot show."""

from sim.study.many.repeat import Repeated
from sim.tell.sentences import days_words

MARK_LEGEND = "* the runs show no other to be better; ± is half of the 95 % interval of the mean"


def runs_words(repeated: Repeated) -> str:
    """How many runs there are, as years where they are.

    One run is one year where it lasts 365 or 366 days.
    """
    count, what = repeated.figures.replicates, "year" if 365.0 <= repeated.days <= 366.0 else "run"
    return f"{count} {what}{'' if count == 1 else 's'}"


def simulated(repeated: Repeated) -> str:
    """What was run."""
    count, drawn = repeated.figures.replicates, ", constants drawn anew for each" if repeated.uncertain else ""
    runs = f"{count} run{'' if count == 1 else 's'} of {days_words(repeated.days)}"
    return f"{runs}, the same water for every way{drawn}"


def of_the_runs(repeated: Repeated) -> tuple[str, ...]:
    """What a reader is to know of these runs."""
    count = repeated.figures.replicates
    found = [f"Not as narrow as asked for after {count} runs: {each}." for each in repeated.missed]
    if count > 1 and not (repeated.case.is_random or repeated.uncertain):
        found.append("Nothing in this case is random: every run of a way is the same.")
    elif count > 1 and repeated.risk(repeated.figures.policies[0]) is None:
        found.append(f"Years over the limit are not counted: {_why_no_risk(repeated)}.")
    return tuple(found)


def _why_no_risk(repeated: Repeated) -> str:
    if repeated.figures.avoidable(repeated.figures.policies[0]).size == 0:
        return "that takes runs of a year or more, and a limit"
    return "allowed_breach under [run] says what a year may have, such as 24 h"
