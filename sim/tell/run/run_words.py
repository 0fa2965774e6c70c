"""The first screen of one run: what it took, in sentences, and what started its washes."""

from collections import Counter
from collections.abc import Iterator

from sim.case.quantities import System
from sim.study.doubts import doubts
from sim.study.single import SingleRun
from sim.tell.comparison.doubt_words import chemistry_words, first_words, telling_words
from sim.tell.comparison.leading import after_judged
from sim.tell.comparison.remarks import earlier_stage
from sim.tell.kpis import KPIS
from sim.tell.listing import Column, Listing
from sim.tell.present import ABSENT, row
from sim.tell.sentences import cause_words, days_words, joined

MORE = "More: --all shows every event and filter run, and where the water went; --week N the events of a week."


def answer(single: SingleRun, system: System) -> Iterator[str]:
    """What the washes took, and what they let through."""
    case, result = single.case, single.result

    def of(key: str) -> str:
        found = row(KPIS[key], [result.site], system)
        return f"{found.texts[0]} {found.unit}".rstrip()

    found = doubts(case, [result])
    yield from first_words(found)
    washes, times = of("washes"), "time" if of("washes") == "1" else "times"
    took = [f"{of('drain_m3')} of water to drain", f"{of('offline_h')} of downtime"]
    if result.site["breakthrough_risk"] is not None:
        took.append(f"{of('breakthrough_risk')} of filter runs broken through")
    yield f"“{result.policy}” washes {washes} {times} in {days_words(result.days)}: {joined(took)}."
    where = after_judged(case)
    if result.site["breach_h"]:
        unavoidable = of("breach_unavoidable_h")
        yield f"The water{where} is over the limit for {of('breach_h')}; {unavoidable} of that cannot be avoided."
    elif result.site["breach_h"] is not None:
        yield f"The water{where} is never over the limit."
    yield f"Demand not met: {of('unmet_m3')}. Highest pressure drop: {of('peak_dp_kpa')}."
    yield from (each for each in (earlier_stage(case, [result], system), *telling_words(found, system)) if each)
    yield from chemistry_words(found)


def causes(single: SingleRun) -> Listing:
    """By stage how many washes there were, and what started how many of them."""
    lines = []
    for stage in single.case.stages:
        counts = Counter(
            cause_words(run) for run in single.result.runs if run.stage == stage.name and run.cause is not None
        )
        told = ", ".join(f"{cause} {count:,}" for cause, count in counts.most_common())
        lines.append((stage.name, f"{counts.total():,}", told or ABSENT))
    heads = (Column("stage", "words"), Column("washes", "numbers"), Column("what started them", "long words"))
    return Listing(columns=heads, rows=tuple(lines))
