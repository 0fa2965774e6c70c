"""What many runs say in sentences; a difference is told only where its interval supports it."""

from collections.abc import Sequence

import numpy as np

from sim.case.quantities import System
from sim.case.units import HOUR
from sim.study.many.doubts_of_many import doubts_of
from sim.study.many.leading import leaders
from sim.study.many.repeat import Repeated
from sim.tell.comparison.answer import LIMIT, SIDE_BY_SIDE, WITHOUT_LIMIT, listed, spoken
from sim.tell.comparison.doubt_words import first_words, other_words, same_words
from sim.tell.comparison.many_rows import display, row, share
from sim.tell.kpis import KPIS, RISK, Kpi
from sim.tell.present import ABSENT, UNITS
from sim.tell.sentences import days_words

UNMET = "unmet_m3"
WORDS_AFTER = {LIMIT: "over the limit", "offline_h": "of downtime"}
MARK_LEGEND = "* the runs show no other to be better; ± is half of the 95 % interval of the mean"


def headline(repeated: Repeated) -> tuple[Kpi, ...]:
    """The figures that stand first, demand not met where there is any."""
    policies = repeated.figures.policies
    limited = any(repeated.mean(policy, LIMIT) is not None for policy in policies)
    keys = SIDE_BY_SIDE if limited else WITHOUT_LIMIT
    unmet = [repeated.mean(policy, UNMET) for policy in policies]
    return tuple(KPIS[key] for key in (*keys, *([UNMET] if any(each and each.mean for each in unmet) else [])))


def runs_words(repeated: Repeated) -> str:
    """How many runs there are, as years where they are.

    One run is one year where it lasts 365 or 366 days.
    """
    count, what = repeated.figures.replicates, "year" if 365.0 <= repeated.days <= 366.0 else "run"
    return f"{count} {what}{'' if count == 1 else 's'}"


def simulated(repeated: Repeated) -> str:
    """What was run."""
    length = days_words(repeated.days)
    count = repeated.figures.replicates
    runs = f"{count} run{'' if count == 1 else 's'} of {length} for each way to start a wash"
    drawn = ", assumed constants drawn anew for each" if repeated.uncertain else ""
    return f"{runs}, in each the same water and demand for all of them{drawn}"


def title(repeated: Repeated) -> str:
    """The same, above the first screen."""
    count, drawn = repeated.figures.replicates, ", constants drawn anew for each" if repeated.uncertain else ""
    runs = f"{count} run{'' if count == 1 else 's'} of {days_words(repeated.days)}"
    return f"{repeated.case.title} ({runs}, the same water for every way{drawn})"


def foremost(repeated: Repeated) -> tuple[str, ...]:
    """What has to stand before any answer."""
    return first_words(doubts_of(repeated))


def answer(repeated: Repeated, system: System) -> tuple[str, ...]:
    """Who comes to the same as whom, a sentence for each of the figures that stand first, and one for the risk."""
    sentences = [*same_words(doubts_of(repeated)), *(_sentence(repeated, kpi, system) for kpi in headline(repeated))]
    if len(repeated.figures.policies) > 1 and all(repeated.risk(name) for name in repeated.figures.policies):
        sentences.append(_sentence(repeated, RISK, system))
    return tuple(each for each in sentences if each)


def _sentence(repeated: Repeated, kpi: Kpi, system: System) -> str:
    """Who has the least of a figure of which less is better, as far as the runs show it."""
    names = [name for name in repeated.figures.policies if repeated.mean(name, kpi.key) is not None]
    if len(names) < 2:
        return ""
    words = "risk of a year with more than allowed" if kpi is RISK else spoken(kpi, repeated.case)
    runs, first = runs_words(repeated), leaders(repeated, kpi.key, kpi.better)
    if len(first) == len(names):
        told = (
            "the same in every run" if _all_the_same(repeated, names, kpi) else f"no difference that {runs} can show"
        )
        return f"{words[0].upper()}{words[1:]}: {told}."
    if len(first) > 1:
        return f"Least {words}: {listed(first)}; {runs} show no difference between them, but more with others."
    return f"Least {words}: {first[0]}{_ahead(repeated, first[0], names, kpi, system)}."


def _all_the_same(repeated: Repeated, names: Sequence[str], kpi: Kpi) -> bool:
    if kpi is RISK:
        overs = [over for name in names if (over := repeated.over(name)) is not None]
        return all(np.array_equal(overs[0], each) for each in overs)
    pairs = [repeated.pair(names[0], name, kpi.key) for name in names[1:]]
    return all(pair is not None and pair.difference.mean == 0.0 and pair.variance == 0.0 for pair in pairs)


def _ahead(repeated: Repeated, first: str, names: Sequence[str], kpi: Kpi, system: System) -> str:
    """By how much the best one is ahead of the next, with the interval of that difference."""
    if kpi is RISK:
        return ""
    means = {name: found.mean for name in names if (found := repeated.mean(name, kpi.key)) is not None}
    second = min((name for name in names if name != first), key=lambda name: means[name])
    pair = repeated.pair(second, first, kpi.key)
    if pair is None or not pair.difference.known:
        return ""
    mean, low, high = display(pair.difference, kpi, system)
    unit = UNITS[system][kpi.quantity].symbol
    interval = "in every run" if pair.variance == 0.0 else f"95 %: {low} to {high}"
    return f", {mean} {unit} less than the next, {second} ({interval})"


def verdicts(repeated: Repeated, system: System) -> tuple[str, ...]:
    """A sentence for each policy: means with intervals, and its years with more than allowed."""
    facts = [(row(repeated, KPIS["washes"], system), "washes")]
    facts += [(row(repeated, kpi, system), f"{kpi_unit(kpi, system)}{_of(kpi)}") for kpi in headline(repeated)]
    sentences = []
    for place, name in enumerate(repeated.figures.policies):
        told = [f"{fact.texts[place]} {words}" for fact, words in facts if fact.texts[place] != ABSENT]
        sentences.append(f"{name}: " + "; ".join([*told, *_risk_words(repeated, name)]))
    return tuple(sentences)


def kpi_unit(kpi: Kpi, system: System) -> str:
    """The unit with a space behind it."""
    symbol = UNITS[system][kpi.quantity].symbol
    return f"{symbol} " if symbol else ""


def _of(kpi: Kpi) -> str:
    return WORDS_AFTER.get(kpi.key, f"of {kpi.words}")


def _risk_words(repeated: Repeated, name: str) -> list[str]:
    over, risk, allowed = repeated.over(name), repeated.risk(name), repeated.case.run.allowed_breach
    if over is None or risk is None or allowed is None:
        return []
    return [
        f"{int(over.sum())} of {over.size} years with more than {allowed / HOUR:g} h over the limit that could have "
        f"been avoided: a risk of {share(risk)} %"
    ]


def remarks(repeated: Repeated, system: System) -> tuple[str, ...]:
    """What a reader is to know of these runs, and of what they show."""
    return (*of_the_runs(repeated), *other_words(doubts_of(repeated), system))


def of_the_runs(repeated: Repeated) -> tuple[str, ...]:
    """What a reader is to know of these runs."""
    count = repeated.figures.replicates
    found = [f"not as narrow as asked for after {count} runs: {each}" for each in repeated.missed]
    if count > 1 and not (repeated.case.is_random or repeated.uncertain):
        found.append("nothing in this case is random: every run of a way is the same")
    elif count > 1 and repeated.risk(repeated.figures.policies[0]) is None:
        found.append(_why_no_risk(repeated))
    return tuple(f"{each[0].upper()}{each[1:]}." for each in found if each)


def _why_no_risk(repeated: Repeated) -> str:
    if repeated.figures.avoidable(repeated.figures.policies[0]).size == 0:
        return "years over the limit are not counted: that takes runs of a year or more, and a limit"
    return "years over the limit are not counted: allowed_breach under [run] says what a year may have, such as 24 h"
